"""The bills of an agreement: those that were sent stand as they were sent, all others are planned by what holds today."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from fleet.rules import revenue
from fleet.rules.agreements import Agreement
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import Span
from fleet.rules.refunds import Added, Charge, Refund, ended_early, heads_added
from fleet.rules.revenue import Bill

KINDS = ("term", "added heads")
TERM, ADDED = KINDS
_NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Sent:
    """A bill that was sent: what it is for, its days, and its amount, which nothing changes any more; what was paid of it."""

    key: int
    kind: str
    days: Span
    amount: Decimal
    billed_on: dt.date
    number: str = ""
    paid: Decimal = _NOTHING

    @property
    def charge(self) -> Charge:
        """The bill as an early end and what is to decide look at it."""
        return Charge(self.days, self.amount, self.paid, self.billed_on)


@dataclass(frozen=True, slots=True)
class Entry:
    """One bill of an agreement: planned, or as it was `sent`; `renewals` must come about before a planned one is agreed."""

    kind: str
    days: Span
    amount: Decimal
    renewals: int = 0
    sent: Sent | None = None

    @property
    def paid(self) -> Decimal:
        """What was paid of it."""
        return _NOTHING if self.sent is None else self.sent.paid

    @property
    def open(self) -> Decimal:
        """What is still to be paid of a bill that was sent; of a planned one nothing is."""
        return _NOTHING if self.sent is None else self.amount - self.sent.paid

    @property
    def state(self) -> str:
        """Planned, billed (of which some may be paid), or paid."""
        if self.sent is None:
            return "planned"
        return "billed" if self.open > 0 else "paid"

    @property
    def charge(self) -> Charge:
        """The bill as an early end and what is to decide look at it."""
        return Charge(self.days, self.amount) if self.sent is None else self.sent.charge


def entries(planned: Iterable[Bill], taken: Iterable[Added], sent: Iterable[Sent]) -> tuple[Entry, ...]:
    """The bills of an agreement in order of their days: those sent, and of the planned ones those not sent yet.

    A planned bill is sent where one that was sent is for the same kind of thing and holds its first day, so that no day is
    billed twice where the way of billing changed meanwhile. `taken` are the bills for added heads that somebody agreed to.
    """
    there = tuple(sent)
    every = [
        *(Entry(one.kind, one.days, one.amount, sent=one) for one in there),
        *(
            Entry(TERM, bill.days, bill.amount, bill.renewals)
            for bill in planned
            if not any(one.kind == TERM and bill.on in one.days for one in there)
        ),
        *(
            Entry(ADDED, added.days, added.amount)
            for added in taken
            if not any(one.kind == ADDED and one.days.first == added.days.first for one in there)
        ),
    ]
    return tuple(sorted(every, key=lambda one: (one.days.first, KINDS.index(one.kind))))


@dataclass(frozen=True, slots=True)
class Account:
    """What is on file of an agreement's money: the bills sent, and the days on which added heads were put in, by what was decided."""

    sent: tuple[Sent, ...] = ()
    taken: frozenset[dt.date] = frozenset()
    left: frozenset[dt.date] = frozenset()


def standing(
    agreement: Agreement,
    account: Account,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    *,
    span: Span,
    today: dt.date,
    visits: Iterable[dt.date] = (),
) -> tuple[Entry, ...]:
    """Every bill that was sent, and those planned within a span of days (`visits` as in `revenue.bills`)."""
    planned = revenue.bills(agreement, heads, sheet, span=span, today=today, visits=visits)
    taken = []
    if account.taken:
        added = heads_added(agreement, heads, sheet, span=span, today=today)
        taken = [one for one in added if one.days.first in account.taken]
    return entries(planned, taken, account.sent)


def proposals(
    agreement: Agreement, account: Account, heads: Sequence[CareUnit], sheet: CareSheet, *, span: Span, today: dt.date
) -> tuple[Added, ...]:
    """The bills proposed for added heads that nobody has decided about."""
    decided = account.taken | account.left
    every = heads_added(agreement, heads, sheet, span=span, today=today)
    return tuple(one for one in every if one.days.first not in decided)


def refund(
    agreement: Agreement,
    account: Account,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    *,
    today: dt.date,
    made: Sequence[dt.date],
    planned: Iterable[dt.date] = (),
) -> Refund:
    """What ending an agreement early gives back: its year's bills are those that would stand had nobody ended it."""
    assert agreement.ended_on is not None
    charges = of_last_year(agreement, account, heads, sheet, today=today, visits=[*made, *planned])
    return ended_early(agreement, charges, made=made)


def of_last_year(
    agreement: Agreement,
    account: Account,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    *,
    today: dt.date,
    visits: Iterable[dt.date] = (),
) -> tuple[Charge, ...]:
    """The bills of the agreement year that an agreement ended in, as they stood before, and every other one that was sent."""
    assert agreement.ended_on is not None
    whole = replace(agreement, ended_on=None)
    span = whole.year_at(agreement.ended_on).days
    every = standing(whole, account, heads, sheet, span=span, today=today, visits=visits)
    return tuple(one.charge for one in every)
