"""Agreements in money: what a year costs, when it is billed, and the bands of money that the coming months carry."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal, localcontext
from enum import StrEnum
from typing import NamedTuple

from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span, add_months

BILLING = ("upfront", "monthly", "per visit")
RENEWS = ("by itself", "by asking", "no")
# So many agreements must have come up for renewal before the share that renewed says anything.
ENOUGH_TO_MEASURE = 20
_CENT = Decimal("0.01")
_HUNDRED = Decimal(100)
# Digits enough that a rise compounded over a lifetime stays exact until the one rounding at the end.
_DIGITS = 400


@dataclass(frozen=True, slots=True)
class Agreement:
    """A customer's paid maintenance arrangement for one site.

    Its terms of so many months follow each other from `start_on`; `terms_agreed` of them are agreed, and where it renews by
    itself so is each that has begun. From `ended_on` nothing of it holds. Days are all counted from the first start, so that
    one made on 29 February comes back to that day.
    """

    start_on: dt.date
    months: int
    visits_per_year: int
    first_head: Decimal
    further_head: Decimal
    discount_percent: Decimal = Decimal(0)
    billing: str = "upfront"
    renews: str = "by itself"
    rise_percent: Decimal = Decimal(0)
    terms_agreed: int = 1
    ended_on: dt.date | None = None
    reference: str = ""

    def year_of(self, day: dt.date) -> int:
        """Which agreement year a day lies in; the first is 0."""
        return _reached(self.start_on, day, 12)

    def agreed_terms(self, today: dt.date) -> int:
        """Count the terms that are agreed by today."""
        begun = _reached(self.start_on, today, self.months) + 1 if self.renews == "by itself" else 0
        return max(self.terms_agreed, begun)

    def renewal_on(self, today: dt.date) -> dt.date:
        """The day on which the terms agreed by today have ended, and the next would begin."""
        return self.began_on(self.agreed_terms(today))

    def began_on(self, term: int) -> dt.date:
        """The first day of a term; the first is 0."""
        return add_months(self.start_on, self.months * term)

    def in_force(self, day: dt.date, *, today: dt.date) -> bool:
        """Whether it covers its site on a day: in a term agreed, or one that begins by itself."""
        if not self.may_hold(day):
            return False
        return self.renews == "by itself" or day < self.renewal_on(today)

    def state(self, today: dt.date) -> str:
        """Its state on a day: to begin, in force, undecided (its term is over, nobody said more), over, or ended."""
        if self.ended_on is not None and self.ended_on <= today:
            return "ended"
        if today < self.start_on:
            return "to begin"
        if self.in_force(today, today=today):
            return "in force"
        return "over" if self.renews == "no" else "undecided"

    def may_hold(self, day: dt.date) -> bool:
        """Whether it covers its site on a day if it is renewed whenever that can be."""
        if day < self.start_on or (self.ended_on is not None and day >= self.ended_on):
            return False
        return self.renews != "no" or day < add_months(self.start_on, self.months * self.terms_agreed)

    def visit_windows(self, *, first: dt.date, today: dt.date) -> Iterator[Span]:
        """The windows of the visits sold, in order, from the one that ends on the first day or later; endless if it renews so."""
        share = self.visits_per_year
        number = max(0, _reached(self.start_on, first, 12) * share)
        while True:
            begin = add_months(self.start_on, 12 * number // share)
            last = add_months(self.start_on, 12 * (number + 1) // share) - DAY
            if not self.in_force(begin, today=today):
                return
            last = min(last, self._last_in_force(today))
            if last >= first:
                yield Span(begin, last)
            number += 1

    def _last_in_force(self, today: dt.date) -> dt.date:
        ends = [] if self.ended_on is None else [self.ended_on - DAY]
        return min(ends if self.renews == "by itself" else [*ends, self.renewal_on(today) - DAY], default=dt.date.max)


def _reached(start: dt.date, day: dt.date, step: int) -> int:
    """Count the whole steps of so many months from start to day: the largest k with add_months(start, step * k) <= day."""
    number = ((day.year - start.year) * 12 + day.month - start.month) // step
    return number if add_months(start, step * number) <= day else number - 1


# ------------------------------------------------------------------------------------------------------- a year's price


def year_price(agreement: Agreement, styles: Iterable[str], sheet: CareSheet, *, year: int) -> Decimal:
    """The price of an agreement year (the first is 0) for heads of these styles, rounded once to the cent, half up.

    The head with the highest style factor pays the first-head price, each other one the further-head price.
    """
    weights = sorted(map(sheet.weight, styles), reverse=True)
    if not weights:
        return Decimal("0.00")
    with localcontext() as exact:
        exact.prec = _DIGITS
        heads = agreement.first_head * weights[0] + agreement.further_head * sum(weights[1:], Decimal(0))
        less = (_HUNDRED - agreement.discount_percent) / _HUNDRED
        rise = ((_HUNDRED + agreement.rise_percent) / _HUNDRED) ** year
        return _to_the_cent(agreement.visits_per_year * heads * less * rise)


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


def _to_the_cent(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)


def styles_on(units: Iterable[CareUnit], day: dt.date, *, today: dt.date) -> tuple[str, ...]:
    """List the styles of the heads in service on a day; of a day to come nobody knows, so today's."""
    on = min(day, today)
    return tuple(unit.style for unit in units if unit.role == "head" and unit.in_service(on))


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
    """What an agreement asks for on a day, at its full price; `renewals` counts those that must come about before."""

    on: dt.date
    amount: Decimal
    renewals: int = 0

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
    """List the bills of an agreement within a span of days, in order.

    `visits` has the days of the site's visits, made and planned, from the first day of the agreement year that the span
    begins in: only where each visit is billed do they matter.
    """
    found = []
    for day, term, share, shares in _asked(agreement, span, visits):
        agreed = agreement.agreed_terms(today)
        if agreement.may_hold(day) and day in span:
            styles = styles_on(units, day, today=today)
            price = year_price(agreement, styles, sheet, year=agreement.year_of(day))
            found.append(Bill(day, share_of(price, shares, share), max(0, term + 1 - agreed)))
    return tuple(found)


def _asked(agreement: Agreement, span: Span, visits: Iterable[dt.date]) -> Iterator[tuple[dt.date, int, int, int]]:
    """Each day on which something is billed, its term, and which of how many shares of the year's price it is."""
    if agreement.billing == "per visit":
        for day, number in _numbered(agreement, visits):
            if number < agreement.visits_per_year:
                yield day, _reached(agreement.start_on, day, agreement.months), number, agreement.visits_per_year
        return
    step = 12 if agreement.billing == "upfront" else 1
    number = max(0, _reached(agreement.start_on, span.first, step))
    while span.last is not None and (day := add_months(agreement.start_on, number * step)) <= span.last:
        shares = 12 // step
        yield day, number * step // agreement.months, number % shares, shares
        number += 1


def _numbered(agreement: Agreement, visits: Iterable[dt.date]) -> Iterator[tuple[dt.date, int]]:
    """Number the visits of each agreement year, from 0."""
    counted: dict[int, int] = defaultdict(int)
    for day in sorted(visits):
        if agreement.may_hold(day):
            year = agreement.year_of(day)
            yield day, counted[year]
            counted[year] += 1


def beyond(agreement: Agreement, visits: Iterable[Trip]) -> tuple[Trip, ...]:
    """List the visits beyond those sold for their agreement year: somebody must decide who pays for them."""
    trips = {trip.on: trip for trip in visits}
    return tuple(trips[day] for day, number in _numbered(agreement, trips) if number >= agreement.visits_per_year)


def offers(agreements: Sequence[Agreement], visits: Iterable[Trip]) -> tuple[Trip, ...]:
    """List the visits of a site that no agreement covers, nor would if it were renewed: what is on offer there."""
    return tuple(trip for trip in visits if not any(agreement.may_hold(trip.on) for agreement in agreements))


def renewals_before(agreement: Agreement, day: dt.date, *, today: dt.date) -> int:
    """Count the renewals that must come about before an agreement covers its site on a day."""
    return max(0, _reached(agreement.start_on, day, agreement.months) + 1 - agreement.agreed_terms(today))


def came_up(agreement: Agreement, *, today: dt.date) -> tuple[int, int]:
    """Count how often an agreement was renewed by today, and how often it came up for renewal.

    One that was ended before its term was over did not come up; one that was agreed not to renew never does.
    """
    renewed = asked = 0
    if agreement.renews == "no":
        return 0, 0
    while (day := agreement.began_on(asked + 1)) <= today:
        if agreement.ended_on is not None and agreement.ended_on < day:
            break
        asked += 1
        goes_on = agreement.renews == "by itself" or agreement.terms_agreed > asked
        if not goes_on or agreement.ended_on == day:
            break
        renewed += 1
    return renewed, asked


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
    found = []
    month = span.first.replace(day=1)
    while month <= span.last:
        found.append(Month(month, *(_to_the_cent(sums[month, band]) for band in Band)))
        month = add_months(month, 1)
    return tuple(found)
