"""Agreements that change in mid-term: what ending one early gives back, and what a head that was added pays for the days left."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fleet.rules.agreements import Agreement, AgreementYear
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import Span
from fleet.rules.revenue import exact_price, serves, to_the_cent

_NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Charge:
    """A bill of an agreement, planned or billed: the days it is for, its amount, what was paid of it, and when it was billed."""

    days: Span
    amount: Decimal
    paid: Decimal = _NOTHING
    billed_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Used:
    """What counts as used, and what is then given back; below 0 it is still owed."""

    used: Decimal
    give_back: Decimal


@dataclass(frozen=True, slots=True)
class Refund:
    """What was paid for the year in which an agreement ended, and what is given back by each way; by visits only where the visits sold decide."""

    paid: Decimal
    by_days: Used
    by_visits: Used | None


def ended_early(agreement: Agreement, charges: Iterable[Charge], *, made: Iterable[dt.date]) -> Refund:
    """What ending an agreement gives back, from its bills (those still planned the day before included) and the days of visits made.

    Only the agreement year in which it ended counts. After its term there is nothing; before its start all that was paid.
    """
    ended_on = agreement.ended_on
    assert ended_on is not None
    by_visits_too = agreement.billing != "per visit"
    if ended_on < agreement.start_on:
        paid = sum((charge.paid for charge in charges), _NOTHING)
        return _refund(paid, Fraction(0), Fraction(0) if by_visits_too else None)
    if agreement.renews != "by itself" and ended_on >= agreement.began_on(agreement.terms_agreed):
        return _refund(_NOTHING, Fraction(0), Fraction(0) if by_visits_too else None)
    year = agreement.year_at(ended_on)
    of_year = [charge for charge in charges if charge.days.first in year.days]
    paid = sum((charge.paid for charge in of_year), _NOTHING)
    by_days = sum((_used_of(charge, ended_on) for charge in of_year), Fraction(0))
    return _refund(paid, by_days, _by_visits(year, of_year, made, ended_on) if by_visits_too else None)


def _used_of(charge: Charge, ended_on: dt.date) -> Fraction:
    assert charge.days.last is not None
    whole = (charge.days.last - charge.days.first).days + 1
    before = min(max((ended_on - charge.days.first).days, 0), whole)
    return Fraction(charge.amount) * Fraction(before, whole)


def _by_visits(year: AgreementYear, charges: Sequence[Charge], made: Iterable[dt.date], ended_on: dt.date) -> Fraction:
    visits = len({day for day in made if year.first <= day < ended_on})
    return Fraction(sum((charge.amount for charge in charges), _NOTHING)) * Fraction(
        min(visits, year.visits), year.visits
    )


def _refund(paid: Decimal, by_days: Fraction, by_visits: Fraction | None) -> Refund:
    return Refund(paid, _used(paid, by_days), None if by_visits is None else _used(paid, by_visits))


def _used(paid: Decimal, used: Fraction) -> Used:
    return Used(to_the_cent(used), to_the_cent(Fraction(paid) - used))


# ------------------------------------------------------------------------------------------------ a head added in mid-term


@dataclass(frozen=True, slots=True)
class Added:
    """Heads put in on one day in mid-term, and the bill that is proposed for them: for the days left of the agreement year."""

    days: Span
    units: tuple[str, ...]
    amount: Decimal


def heads_added(
    agreement: Agreement, units: Sequence[CareUnit], sheet: CareSheet, *, span: Span, today: dt.date
) -> tuple[Added, ...]:
    """The bills that are proposed for heads put in within a span of days, by today, in the middle of a year billed upfront."""
    if agreement.billing != "upfront":
        return ()
    days = sorted({day for unit in units if (day := _put_in(unit)) is not None and day in span and day <= today})
    return tuple(_added(agreement, units, sheet, days))


def _added(
    agreement: Agreement, units: Sequence[CareUnit], sheet: CareSheet, days: Iterable[dt.date]
) -> Iterator[Added]:
    for day in days:
        year = agreement.year_at(day)
        if day <= year.first or not agreement.may_hold(day):
            continue
        there = [unit for unit in units if serves(unit, day)]
        new = [unit for unit in there if _put_in(unit) == day]
        before = [unit.style for unit in there if unit not in new]
        more = exact_price(agreement, [unit.style for unit in there], sheet, year) - exact_price(
            agreement, before, sheet, year
        )
        amount = to_the_cent(more * Fraction((year.last - day).days + 1, (year.last - year.first).days + 1))
        if amount > 0:
            yield Added(Span(day, year.last), tuple(unit.key for unit in new), amount)


def _put_in(unit: CareUnit) -> dt.date | None:
    """The day on which a head was added: None for one that took another's place, or where nobody knows."""
    if unit.role != "head" or unit.replaces_on is not None or unit.replaced_on is not None:
        return None
    known = unit.start_of_service
    return known if known is None or unit.joined_on is None else max(known, unit.joined_on)
