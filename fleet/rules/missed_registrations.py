"""What a registration that was missed, or late, cost on a failure."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from fleet.rules import payers, registration
from fleet.rules.coverage import answers, payments
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Result, Verdict
from fleet.rules.money import Job, expected
from fleet.rules.starts import start_of

# Who bears what no other payer pays.
_CUSTOMER_OR_US = {"customer", *(payer.code for payer in payers.PAYERS if payer.ours)}


@dataclass(frozen=True, slots=True)
class Missed:
    """What some terms would have paid for a failure, had the unit been registered on the last day for it."""

    terms: str
    payer: str
    deadline: dt.date
    registered_on: dt.date | None
    kinds: tuple[str, ...]
    amount: Decimal


def missed(
    unit: Unit, holdings: Iterable[Holding], job: Job, *, on: dt.date, asked: dt.date, cause: str = ""
) -> tuple[Missed, ...]:
    """Work out what missed and late registrations cost on one failure: ask the rules again as if each had been in time.

    A kind of cost counts where we or the customer bear it as things are, and where a maker or a labor plan would have
    paid for certain had each registration been made on its last day. What another payer bears is lost to nobody.
    """
    held = tuple(holdings)
    late = {holding.terms.code: last for holding in held if (last := _missed_by(unit, holding, asked=asked))}
    if not late:
        return ()
    in_time = tuple(
        replace(holding, registered_on=late[holding.terms.code]) if holding.terms.code in late else holding
        for holding in held
    )
    before = answers(unit, held, job.component, on=on, asked=asked, cause=cause)
    after = answers(unit, in_time, job.component, on=on, asked=asked, cause=cause)
    bore = {payment.kind: payment.pays for payment in payments(before)}
    would = {payment.kind: payment.pays for payment in payments(after)}
    found = []
    taken: set[str] = set()
    for holding in held:
        terms = holding.terms
        kinds = tuple(
            answer.kind
            for answer in after
            if answer.terms == terms.code
            and terms.code in late
            and not payers.BY_CODE[terms.payer].ours
            and answer.result is Result.COVERED
            and bore[answer.kind] in _CUSTOMER_OR_US
            and would[answer.kind] == terms.payer
            and answer.kind not in taken
        )
        if kinds:
            taken.update(kinds)
            credit = expected(terms, after, job, kinds=kinds)
            # What its fee eats up nobody would have claimed.
            if credit.total <= 0:
                continue
            # Of what was not used or done, nothing was lost.
            cost_something = tuple(
                kind for kind in kinds if any(line.amount > 0 for line in credit.lines if line.kind == kind)
            )
            found.append(
                Missed(terms.code, terms.payer, late[terms.code], holding.registered_on, cost_something, credit.total)
            )
    return tuple(found)


def _missed_by(unit: Unit, holding: Holding, *, asked: dt.date) -> dt.date | None:
    """The last day for registering, where it was missed; else None."""
    judged = registration.judge(unit, holding, start=start_of(unit, holding).day, asked=asked)
    return registration.deadline(unit, holding) if judged.verdict is Verdict.NO else None
