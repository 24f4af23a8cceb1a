"""What is kept of the money of a failure: where each dollar stands, what missed registrations cost, what payers leave of our hours."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from fleet import models
from fleet.facts.units import Told
from fleet.rules import money, money_parts
from fleet.rules.missed_registrations import Missed, missed
from fleet.rules.money_parts import OnePayer

PackedMissed = list[list[str | None]]


class MoneyValues(NamedTuple):
    """The columns of a MoneyRow, by their names in the database."""

    failure_id: int
    failed_on: dt.date
    missed: PackedMissed
    terms_missed: int
    missed_cost: Decimal
    maker: str
    cost: Decimal
    minutes: int
    hours_cost: Decimal
    labor_cost: Decimal | None
    labor_short: Decimal | None
    next_on: dt.date | None


class PartValues(NamedTuple):
    """The columns of a MoneyPart, by their names in the database."""

    failure_id: int
    failed_on: dt.date
    maker: str
    figure: str
    payer: str
    payer_name: str
    claim_id: int | None
    amount: Decimal
    above: Decimal


def of_failure(
    told: Told,
    failure: models.Failure,
    job: money.Job,
    expected: Sequence[money.Credit],
    payers: Sequence[OnePayer],
    paying_labor: Sequence[money.Credit],
    *,
    on: dt.date,
    next_on: dt.date | None,
) -> Iterator[MoneyValues | PartValues]:
    """Work out the money of a failure; nothing where nothing is to be kept of it.

    `expected` are what the payers that may be asked should credit, `payers` what of it they were asked for and paid,
    `paying_labor` the expected credits of the claims on payers that bear its labor for certain. `next_on` is the next day
    on which time alone may change it, of a unit whose holdings are not kept.
    """
    # What a registration would have brought hangs on the component, as what payers owe does.
    lost = (
        missed(told.unit, told.holdings, job, on=failure.failed_on, asked=on, cause=failure.cause)
        if failure.component
        else ()
    )
    ours = failure.labor_minutes and paying_labor
    bills = failure.bills.all()
    parts = money_parts.parts(
        money.cost(job),
        payers,
        on=on,
        most=money.most(job, *expected),
        billed=sum((bill.amount for bill in bills), Decimal(0)),
        paid=sum((payment.amount for bill in bills for payment in bill.payments.all()), Decimal(0)),
    )
    moves_on = money_parts.next_change(payers, on=on)
    next_on = min((day for day in (next_on, moves_on) if day is not None), default=None)
    if not lost and not ours and not parts and next_on is None and not failure.labor_minutes:
        return
    costs = money.costs(job)
    yield MoneyValues(
        failure.pk,
        failure.failed_on,
        _pack(lost),
        len(lost),
        sum((one.amount for one in lost), Decimal(0)),
        told.row.maker,
        money.cost(job),
        failure.labor_minutes or 0,
        costs["labor"],
        costs["labor"] if ours else None,
        money.labor_shortfall(job, paying_labor) if ours else None,
        next_on,
    )
    for one in parts:
        yield PartValues(
            failure.pk,
            failure.failed_on,
            told.row.maker,
            one.figure.value,
            one.payer,
            one.payer_name,
            one.claim,
            one.amount,
            one.above,
        )


def _pack(lost: Iterable[Missed]) -> PackedMissed:
    return [
        [
            one.terms,
            one.payer,
            one.deadline.isoformat(),
            None if one.registered_on is None else one.registered_on.isoformat(),
            ";".join(one.kinds),
            str(one.amount),
        ]
        for one in lost
    ]


def missed_of(row: Any) -> tuple[Missed, ...]:
    """Read what missed registrations cost back as the rules gave it, from a MoneyRow or its values by name."""
    return tuple(
        Missed(
            terms,
            payer,
            dt.date.fromisoformat(deadline),
            None if registered_on is None else dt.date.fromisoformat(registered_on),
            tuple(kinds.split(";")),
            Decimal(amount),
        )
        for terms, payer, deadline, registered_on, kinds, amount in row.missed
    )
