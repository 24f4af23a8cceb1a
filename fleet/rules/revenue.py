"""Agreements in money: what a year costs, when it is billed, and the bands of money that the coming months carry."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal, localcontext
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from fleet.rules.agreements import Agreement, AgreementYear, reached
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span, add_months

# So many agreements must have come up for renewal before the share that renewed says anything.
ENOUGH_TO_MEASURE = 20
_CENT = Decimal("0.01")
_HUNDRED = Decimal(100)
# Digits enough that a rise compounded over a lifetime stays exact until the one rounding at the end.
_DIGITS = 400


# ------------------------------------------------------------------------------------------------------- a year's price


def exact_price(agreement: Agreement, styles: Iterable[str], sheet: CareSheet, year: AgreementYear) -> Fraction:
    """The exact price of an agreement year for heads of these styles; of a part year, the months' share.

    The head with the highest style factor pays the first-head price, each other one the further-head price.
    """
    weights = sorted((Fraction(sheet.weight(style)) for style in styles), reverse=True)
    if not weights:
        return Fraction(0)
    heads = Fraction(agreement.first_head) * weights[0] + Fraction(agreement.further_head) * sum(weights[1:])
    less = 1 - Fraction(agreement.discount_percent) / 100
    rise = (1 + Fraction(agreement.rise_percent) / 100) ** year.index
    return agreement.visits_per_year * heads * less * rise * Fraction(year.months, 12)


def price_of_year(agreement: Agreement, styles: Iterable[str], sheet: CareSheet, year: AgreementYear) -> Decimal:
    """The price of an agreement year, rounded once to the cent."""
    return to_the_cent(exact_price(agreement, styles, sheet, year))


def to_the_cent(amount: Fraction) -> Decimal:
    """Round an exact amount to the cent, halves away from zero.

    >>> to_the_cent(Fraction(5, 1000)), to_the_cent(Fraction(-5, 1000))
    (Decimal('0.01'), Decimal('-0.01'))
    """
    cents = (abs(amount) * 200 + 1) // 2
    return (Decimal(cents if amount >= 0 else -cents) / 100).quantize(_CENT)


@dataclass(frozen=True, slots=True)
class PriceLine:
    """Heads of one style at one price: how many, what each costs, and their style's factor."""

    price: Decimal
    factor: Decimal
    style: str
    count: int
    first: bool = False

    @property
    def amount(self) -> Decimal:
        """What they cost a visit."""
        return self.count * self.price * self.factor


def price_lines(agreement: Agreement, styles: Iterable[str], sheet: CareSheet) -> tuple[PriceLine, ...]:
    """Break a visit's price down to heads: the first by the highest style factor, then the others by style."""
    ordered = sorted(styles, key=lambda style: (-sheet.weight(style), style))
    if not ordered:
        return ()
    first, others = ordered[0], Counter(ordered[1:])
    lines = [PriceLine(agreement.first_head, sheet.weight(first), style=first, count=1, first=True)]
    for style, count in others.items():
        lines.append(PriceLine(agreement.further_head, sheet.weight(style), style=style, count=count))
    return tuple(lines)


def styles_on(units: Iterable[CareUnit], day: dt.date, *, today: dt.date) -> tuple[str, ...]:
    """The styles of the heads in service on a day; of a day to come nobody knows, so today's."""
    on = min(day, today)
    return tuple(unit.style for unit in units if serves(unit, on))


def serves(unit: CareUnit, on: dt.date) -> bool:
    """Whether a unit is a head in service: from the day it was put in to the day before it was removed, idle or not.

    One that takes the place of another is, from the day that one left.
    """
    put_in = unit.replaces_on or unit.start_of_service
    return unit.role == "head" and unit.belongs(on) and (put_in is None or put_in <= on)


def share_of(price: Decimal, shares: int, number: int) -> Decimal:
    """One of so many equal shares of a price (the first is 0), down to the cent; the last has the odd cents."""
    share = (price / shares).quantize(_CENT, ROUND_DOWN)
    return price - share * (shares - 1) if number == shares - 1 else share


# ---------------------------------------------------------------------------------------------------------------- bills


class Band(StrEnum):
    """How sure money is; bands are never added together silently."""

    CONTRACTED = "contracted"
    RENEWALS = "renewals"
    ON_OFFER = "on offer"


@dataclass(frozen=True, slots=True)
class Bill:
    """What an agreement asks for on a day, at its full price, and for which days; `renewals` counts those that must come about before."""

    on: dt.date
    amount: Decimal
    renewals: int = 0
    last: dt.date | None = None

    @property
    def days(self) -> Span:
        """The days it is for."""
        return Span(self.on, self.last or self.on)

    @property
    def band(self) -> Band:
        """Whether its term is agreed already."""
        return Band.RENEWALS if self.renewals else Band.CONTRACTED


class Trip(NamedTuple):
    """A visit to a site, made or planned, and its list price."""

    on: dt.date
    price: Decimal


def bills(
    agreement: Agreement,
    units: Sequence[CareUnit],
    sheet: CareSheet,
    *,
    span: Span,
    today: dt.date,
    visits: Iterable[dt.date] = (),
) -> tuple[Bill, ...]:
    """The bills of an agreement within a span of days, in order; one of nothing is none.

    `visits` has the days of the site's visits, made and planned, from the first day of the agreement year that the span
    begins in: only where each visit is billed do they matter.
    """
    agreed = agreement.agreed_terms(today)
    by_year = _by_year(agreement, visits)
    made = []
    for year in agreement.years_from(span.first):
        if span.last is None or year.first > span.last:
            break
        for days, share in _shares(agreement, year, by_year.get(year, ())):
            if days.first in span and agreement.may_hold(days.first):
                styles = styles_on(units, days.first, today=today)
                whole = price_of_year(agreement, styles, sheet, replace(year, months=12))
                amount = share(whole, price_of_year(agreement, styles, sheet, year))
                if amount:
                    made.append(Bill(days.first, amount, max(0, year.term + 1 - agreed), days.last))
    return tuple(sorted(made, key=lambda bill: bill.on))


# What a bill takes of a whole year's price and of the year's own (less, where a term ends inside it).
Share = Callable[[Decimal, Decimal], Decimal]


def _shares(agreement: Agreement, year: AgreementYear, visits: Sequence[dt.date]) -> Iterator[tuple[Span, Share]]:
    """The bills of an agreement year by the days they are for."""
    if agreement.billing == "upfront":
        yield year.days, lambda _, own: own
    elif agreement.billing == "monthly":
        for number in range(year.months):
            share = _rest(year.months - 1) if number == year.months - 1 else _twelfth
            yield Span(year.month(number), year.month(number + 1) - DAY), share
    else:
        for number, day in enumerate(visits[: year.visits]):
            yield Span(day, day), _of_visits(year.visits, number)


def _twelfth(whole: Decimal, own: Decimal) -> Decimal:
    del own
    return share_of(whole, 12, 0)


def _rest(months: int) -> Share:
    return lambda whole, own: own - _twelfth(whole, own) * months


def _of_visits(visits: int, number: int) -> Share:
    return lambda _, own: share_of(own, visits, number)


def _by_year(agreement: Agreement, visits: Iterable[dt.date]) -> dict[AgreementYear, list[dt.date]]:
    """The days of visits in each agreement year, in order, each once."""
    days: dict[AgreementYear, list[dt.date]] = defaultdict(list)
    for day in sorted(set(visits)):
        if agreement.may_hold(day):
            days[agreement.year_at(day)].append(day)
    return days


def beyond(agreement: Agreement, visits: Iterable[Trip]) -> tuple[Trip, ...]:
    """The visits beyond those sold for their agreement year: somebody must decide who pays for them."""
    trips = {trip.on: trip for trip in visits}
    return tuple(trips[day] for year, days in _by_year(agreement, trips).items() for day in days[year.visits :])


def offers(agreements: Sequence[Agreement], visits: Iterable[Trip]) -> tuple[Trip, ...]:
    """List the visits of a site that no agreement covers, nor would if it were renewed: what is on offer there."""
    return tuple(trip for trip in visits if not any(agreement.may_hold(trip.on) for agreement in agreements))


def renewals_before(agreement: Agreement, day: dt.date, *, today: dt.date) -> int:
    """Count the renewals that must come about before an agreement covers its site on a day."""
    return max(0, reached(agreement.start_on, day, agreement.months) + 1 - agreement.agreed_terms(today))


def came_up(agreement: Agreement, *, today: dt.date) -> tuple[int, int]:
    """Count how often an agreement was renewed by today, and how often it came up for renewal.

    One that was ended before its term was over did not come up; one that was agreed not to renew never does.
    """
    renewed = times = 0
    if agreement.renews == "no":
        return 0, 0
    while (day := agreement.began_on(times + 1)) <= today:
        if agreement.ended_on is not None and agreement.ended_on < day:
            break
        times += 1
        goes_on = agreement.renews == "by itself" or agreement.terms_agreed > times
        if not goes_on or agreement.ended_on == day:
            break
        renewed += 1
    return renewed, times


# ------------------------------------------------------------------------------------------------------ the months ahead


@dataclass(frozen=True, slots=True)
class RenewalRate:
    """The share of agreements that renew, and whether it was measured or is the owner's figure."""

    rate: Decimal
    measured: bool


def renewal_rate(*, renewed: int, came_up: int, owners: Decimal) -> RenewalRate:
    """The renewal rate: measured where enough have come up, else the owner's figure."""
    if came_up >= ENOUGH_TO_MEASURE:
        return RenewalRate(Decimal(renewed) / Decimal(came_up), measured=True)
    return RenewalRate(owners, measured=False)


def renewal_chance(rate: Decimal, renewals: int) -> Decimal:
    """The chance that so many renewals all come about; with none to come it is certain, even where nobody renews.

    >>> renewal_chance(Decimal(0), 0), renewal_chance(Decimal(0), 1), renewal_chance(Decimal("0.8"), 2)
    (Decimal('1'), Decimal('0'), Decimal('0.64'))
    """
    return rate**renewals if renewals else Decimal(1)


@dataclass(frozen=True, slots=True)
class Month:
    """The money of one month in its three bands; `first` is the month's first day."""

    first: dt.date
    contracted: Decimal
    renewals: Decimal
    on_offer: Decimal


def months_ahead(first: dt.date, months: int) -> Span:
    """The days of so many calendar months, the month of the first day being the first, from that day on."""
    return Span(first, add_months(first.replace(day=1), months) - DAY)


def bands(span: Span, billed: Iterable[Bill], offered: Iterable[Trip], *, rate: Decimal) -> tuple[Month, ...]:
    """Sum what is billed and what is on offer by months; what hangs on renewals counts with the rate for each of them."""
    assert span.last is not None
    sums: dict[tuple[dt.date, Band], Decimal] = defaultdict(Decimal)
    with localcontext() as exact:
        exact.prec = _DIGITS
        for bill in billed:
            if bill.on in span:
                sums[bill.on.replace(day=1), bill.band] += bill.amount * renewal_chance(rate, bill.renewals)
        for trip in offered:
            if trip.on in span:
                sums[trip.on.replace(day=1), Band.ON_OFFER] += trip.price
    months = []
    month = span.first.replace(day=1)
    while month <= span.last:
        months.append(Month(month, *(_rounded(sums[month, band]) for band in Band)))
        month = add_months(month, 1)
    return tuple(months)


def _rounded(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)
