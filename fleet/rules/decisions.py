"""What an agreement waits for somebody to decide, each with its day."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from fleet.rules.agreements import Agreement
from fleet.rules.dates import DAY
from fleet.rules.refunds import Charge, ended_early

# Common practice, no source: what comes up within so many days is to decide, and a bill unpaid for so many is to be asked after.
SOON_DAYS, UNPAID_DAYS = 60, 30


@dataclass(frozen=True, slots=True)
class Decision:
    """One thing to decide and its day: a refund, a term that is over, a renewal, an ending, a notice, an unpaid bill, a rise."""

    what: str
    on: dt.date


def to_decide(
    agreement: Agreement, charges: Sequence[Charge], *, today: dt.date, settled: bool, notice_days: int = 0
) -> tuple[Decision, ...]:
    """What is to decide of an agreement today; `settled`: somebody decided what ending it gives back.

    `notice_days` is how long before a renewal by itself notice has to be given (0: no such rule).
    """
    return tuple(
        sorted(_each(agreement, charges, today, settled=settled, notice_days=notice_days), key=lambda one: one.on)
    )


def _each(
    agreement: Agreement, charges: Sequence[Charge], today: dt.date, *, settled: bool, notice_days: int
) -> Iterator[Decision]:
    if agreement.ended_on is None:
        yield from _of_term(agreement, today, notice_days)
        yield from _of_rise(agreement, today)
    elif not settled and _is_open(agreement, charges):
        yield Decision("refund", agreement.ended_on)
    yield from _unpaid(charges, today)


def _is_open(agreement: Agreement, charges: Sequence[Charge]) -> bool:
    refund = ended_early(agreement, charges, made=())
    return bool(refund.by_days.give_back or (refund.by_visits is not None and refund.by_visits.give_back))


def _of_term(agreement: Agreement, today: dt.date, notice_days: int) -> Iterator[Decision]:
    over_on = agreement.renewal_on(today)
    if agreement.renews == "by itself":
        notice_on = over_on - notice_days * DAY
        if notice_days and _soon(notice_on, today):
            yield Decision("notice", notice_on)
    elif over_on > today and _soon(over_on, today):
        yield Decision("renewal" if agreement.renews == "by asking" else "ending", over_on)
    elif over_on <= today and agreement.renews == "by asking":
        yield Decision("over", over_on)


def _of_rise(agreement: Agreement, today: dt.date) -> Iterator[Decision]:
    """The next agreement year, where it costs more: the customer is to hear of it before."""
    year = agreement.year_at(today)
    following = agreement.year_at(year.last + DAY)
    rises = agreement.rise_percent > 0 and following.index > year.index and today >= agreement.start_on
    if rises and agreement.may_hold(following.first) and _soon(following.first, today):
        yield Decision("rise", following.first)


def _unpaid(charges: Iterable[Charge], today: dt.date) -> Iterator[Decision]:
    for charge in charges:
        billed_on = charge.billed_on
        if billed_on is not None and charge.paid < charge.amount and billed_on + UNPAID_DAYS * DAY <= today:
            yield Decision("unpaid", billed_on)


def _soon(day: dt.date, today: dt.date) -> bool:
    return today <= day <= today + SOON_DAYS * DAY
