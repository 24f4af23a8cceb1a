"""What is kept of the money of a failure: what missed registrations cost on it, and what payers leave of our hours."""

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from fleet import models
from fleet.facts.units import Told
from fleet.rules import money

PackedMissed = list[list[str | None]]


class MoneyValues(NamedTuple):
    """The columns of a MoneyRow, by their names in the database."""

    failure_id: int
    failed_on: dt.date
    missed: PackedMissed
    terms_missed: int
    missed_cost: Decimal
    labor_cost: Decimal | None
    labor_short: Decimal | None
    next_on: dt.date | None


def of_failure(
    told: Told,
    failure: models.Failure,
    job: money.Job,
    paying_labor: Sequence[money.Credit],
    *,
    on: dt.date,
    next_on: dt.date | None,
) -> MoneyValues | None:
    """Work out the money of a failure; None where nothing is to be kept of it.

    `paying_labor` are the expected credits of the claims on payers that bear its labor for certain. `next_on` is the next day
    on which time alone may change it, of a unit whose holdings are not kept.
    """
    missed = money.missed(told.unit, told.holdings, job, on=failure.failed_on, asked=on, cause=failure.cause)
    ours = failure.labor_minutes and paying_labor
    if not missed and not ours and next_on is None:
        return None
    return MoneyValues(
        failure.pk,
        failure.failed_on,
        _pack(missed),
        len(missed),
        sum((one.amount for one in missed), Decimal(0)),
        money.costs(job)["labor"] if ours else None,
        money.labor_shortfall(job, paying_labor) if ours else None,
        next_on,
    )


def _pack(missed: Iterable[money.Missed]) -> PackedMissed:
    return [
        [
            one.terms,
            one.payer,
            one.deadline.isoformat(),
            None if one.registered_on is None else one.registered_on.isoformat(),
            ";".join(one.kinds),
            str(one.amount),
        ]
        for one in missed
    ]


def missed_of(row: Any) -> tuple[money.Missed, ...]:
    """Read what missed registrations cost back as the rules gave it, from a MoneyRow or its values by name."""
    return tuple(
        money.Missed(
            terms,
            payer,
            dt.date.fromisoformat(deadline),
            None if registered_on is None else dt.date.fromisoformat(registered_on),
            tuple(kinds.split(";")),
            Decimal(amount),
        )
        for terms, payer, deadline, registered_on, kinds, amount in row.missed
    )
