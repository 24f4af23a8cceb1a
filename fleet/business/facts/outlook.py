"""The months ahead of a company: what agreements bill, what is on offer, and the hours that all of it asks for.

1. The visits of all sites are planned at once, since they share the hours on hand; what is booked stands as it is.
2. Site by site, a few hundred at a time, its agreements bill their heads, and its visits fall to the band they belong to.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import islice
from typing import NamedTuple

from fleet import models
from fleet.care.facts import bookings, visits
from fleet.facts import agreements, house
from fleet.facts.care import care_sheet
from fleet.rules import revenue
from fleet.rules import visits as planning
from fleet.rules.care import CareUnit, State
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import Span, add_months
from fleet.rules.revenue import Agreement, Band, Bill, Trip

CHUNK = 500
# What is on offer is told for a year, however far the months are looked ahead.
OFFERED_MONTHS = 12
_ZERO = Decimal(0)


class Stop(NamedTuple):
    """A visit that is planned or booked: its day, its list price, its minutes, and how many tasks it has."""

    on: dt.date
    price: Decimal
    minutes: int
    tasks: int


@dataclass(frozen=True, slots=True)
class Month:
    """One month: the money of its three bands, and minutes due; `minutes` has those by band, renewals counted by their rate."""

    money: revenue.Month
    minutes_due: int
    minutes: Mapping[Band, Decimal]

    @property
    def first(self) -> dt.date:
        """The first day of the month."""
        return self.money.first


@dataclass(frozen=True, slots=True)
class Offered:
    """What a year asks for at one site that no agreement covers."""

    site: int
    heads: int
    tasks: int
    visits: int
    late: int
    first_on: dt.date
    minutes: int
    price: Decimal


@dataclass(frozen=True, slots=True)
class Look:
    """The months from a day on; `beyond` are visits that agreements did not sell, with their list price."""

    span: Span
    rate: revenue.RenewalRate
    months: tuple[Month, ...]
    beyond: tuple[Trip, ...]
    heads_sold: int
    heads_offered: int
    sites_sold: int
    offers: tuple[Offered, ...]


def look(*, first: dt.date, months: int, today: dt.date) -> Look:
    """Look so many months ahead from a day; the month of that day is the first."""
    span = revenue.months_ahead(first, months)
    sheet = care_sheet() or CareSheet("", ())
    found = _Found(span, today, sheet, agreements.renewal_rate(today=today))
    plan = _plan(sheet, span, today)
    sold = set(models.Agreement.objects.values_list("site_id", flat=True))
    sites = iter(sorted(plan.stops.keys() | sold))
    while chunk := tuple(islice(sites, CHUNK)):
        promised = agreements.of_sites([pk for pk in chunk if pk in sold])
        heads = agreements.heads_of(chunk)
        # A year of an agreement that the span begins in began no earlier than this.
        made = visits.made(list(promised), since=add_months(first, -12), before=first)
        for site in chunk:
            found.add(site, plan, promised.get(site, ()), heads.get(site, ()), made.get(site, ()))
    return found.look()


# ------------------------------------------------------------------------------------------------------------- the plan


@dataclass(slots=True)
class _Plan:
    """Each site's visits, by its key, and how many of its dues are late on the first day."""

    stops: dict[int, list[Stop]] = field(default_factory=lambda: defaultdict(list))
    late: dict[int, int] = field(default_factory=dict)


def _plan(sheet: CareSheet, span: Span, today: dt.date) -> _Plan:
    assert span.last is not None
    plan = _Plan()
    keys: dict[tuple[str, str], int] = {}
    visited = bookings.visited(since=add_months(span.first, -12))

    def works() -> Iterator[planning.SiteWork]:
        for site, work in visits.with_sites(sheet, on=span.first, today=today, booked=True):
            keys[work.customer, work.site] = site.pk
            late = sum(due.state(span.first) is State.LATE for due in work.dues)
            if late:
                plan.late[site.pk] = late
            yield replace(work, visited=visited.get(site.pk, ()))

    taken = bookings.minutes_by_day(since=span.first)
    for visit in planning.planned(works(), sheet, house.working(), first=span.first, until=span.last, booked=taken):
        stop = Stop(visit.on, visit.price, visit.minutes, len(visit.dues))
        plan.stops[keys[visit.customer, visit.site]].append(stop)
    for site_id, *told in visits.booked(on=span.first, until=span.last):
        plan.stops[site_id].append(Stop._make(told))
    return plan


# ---------------------------------------------------------------------------------------------------------- site by site


class _Found:
    """What was found so far, summed by months, so that no site's bills need to be kept."""

    def __init__(self, span: Span, today: dt.date, sheet: CareSheet, rate: revenue.RenewalRate) -> None:
        self._span = span
        self._today = today
        self._sheet = sheet
        self._rate = rate
        self._billed: dict[tuple[dt.date, int], Decimal] = defaultdict(Decimal)
        self._offered: dict[dt.date, Decimal] = defaultdict(Decimal)
        self._due: dict[dt.date, int] = defaultdict(int)
        self._minutes: dict[tuple[dt.date, Band], Decimal] = defaultdict(Decimal)
        self._beyond: list[Trip] = []
        self._offers: list[Offered] = []
        self._heads = {"sold": 0, "offered": 0}
        self._sites_sold = 0

    def add(
        self,
        site: int,
        plan: _Plan,
        promised: Sequence[Agreement],
        heads: Sequence[CareUnit],
        made: Sequence[dt.date],
    ) -> None:
        """Add one site: its bills, its visits by band, and what is on offer there."""
        stops = sorted(plan.stops.get(site, ()))
        trips = [Trip(stop.on, stop.price) for stop in stops]
        days = [*made, *(trip.on for trip in trips)]
        for agreement in promised:
            for bill in revenue.bills(agreement, heads, self._sheet, span=self._span, today=self._today, visits=days):
                self._billed[bill.on.replace(day=1), bill.renewals] += bill.amount
        offered = set(revenue.offers(promised, trips))
        for stop in stops:
            self._due[stop.on.replace(day=1)] += stop.minutes
            self._weigh(stop, promised)
        for trip in offered:
            self._offered[trip.on.replace(day=1)] += trip.price
        self._beyond.extend(_beyond(promised, [*(Trip(day, _ZERO) for day in made), *trips], self._span))
        self._count(site, plan, [stop for stop in stops if Trip(stop.on, stop.price) in offered], promised, heads)

    def _weigh(self, stop: Stop, promised: Sequence[Agreement]) -> None:
        """Count a visit's minutes to its band; where it hangs on renewals, by their rate, as the money is."""
        month = stop.on.replace(day=1)
        hangs_on = [
            revenue.renewals_before(agreement, stop.on, today=self._today)
            for agreement in promised
            if agreement.may_hold(stop.on)
        ]
        if not hangs_on:
            self._minutes[month, Band.ON_OFFER] += stop.minutes
        else:
            number = min(hangs_on)
            band = Band.RENEWALS if number else Band.CONTRACTED
            self._minutes[month, band] += stop.minutes * revenue.renewal_chance(self._rate.rate, number)

    def _count(
        self,
        site: int,
        plan: _Plan,
        offered: Sequence[Stop],
        promised: Sequence[Agreement],
        heads: Sequence[CareUnit],
    ) -> None:
        serving = sum(head.in_service(min(self._span.first, self._today)) for head in heads)
        if any(agreement.in_force(self._span.first, today=self._today) for agreement in promised):
            self._sites_sold += 1
            self._heads["sold"] += serving
        end = add_months(self._span.first.replace(day=1), OFFERED_MONTHS)
        year = [stop for stop in offered if stop.on < end]
        if not year:
            return
        self._heads["offered"] += serving
        self._offers.append(
            Offered(
                site,
                heads=serving,
                tasks=sum(stop.tasks for stop in year),
                visits=len(year),
                late=plan.late.get(site, 0),
                first_on=year[0].on,
                minutes=sum(stop.minutes for stop in year),
                price=sum((stop.price for stop in year), _ZERO),
            )
        )

    def look(self) -> Look:
        """Sum it up, month by month."""
        billed = [Bill(month, amount, renewals) for (month, renewals), amount in self._billed.items()]
        offered = [Trip(month, price) for month, price in self._offered.items()]
        # Sums stand at the first of their month, which the first month may have left behind.
        whole = Span(self._span.first.replace(day=1), self._span.last)
        months = tuple(
            Month(
                money,
                self._due.get(money.first, 0),
                {band: self._minutes.get((money.first, band), _ZERO) for band in Band},
            )
            for money in revenue.bands(whole, billed, offered, rate=self._rate.rate)
        )
        return Look(
            self._span,
            self._rate,
            months,
            tuple(sorted(self._beyond)),
            self._heads["sold"],
            self._heads["offered"],
            self._sites_sold,
            tuple(self._offers),
        )


def _beyond(promised: Sequence[Agreement], trips: Sequence[Trip], span: Span) -> Iterator[Trip]:
    """The visits within the span that an agreement covers, but none of them sold."""
    beyond = [(agreement, set(revenue.beyond(agreement, trips))) for agreement in promised]
    for trip in trips:
        holding = [some for agreement, some in beyond if agreement.may_hold(trip.on)]
        if trip.on in span and holding and all(trip in some for some in holding):
            yield trip
