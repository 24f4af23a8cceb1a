"""The months ahead of a company: what agreements bill, what is on offer, and the hours that all of it asks for.

1. The visits of all sites are planned at once, since they share the hours on hand; what is booked stands as it is.
2. Site by site, a few hundred at a time, its agreements bill their heads, and its visits fall to the band they belong to.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import islice
from typing import NamedTuple

from django.db.models import Q

from fleet import models
from fleet.business.facts import bills
from fleet.care.facts import bookings, visits
from fleet.facts import agreements, house
from fleet.facts.care import care_sheet
from fleet.rules import billing, planner, revenue
from fleet.rules import visits as planning
from fleet.rules.agreements import Agreement
from fleet.rules.billing import Account
from fleet.rules.care import CareUnit, State
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span, add_months
from fleet.rules.revenue import Band, Bill, Trip

CHUNK = 500
# What is on offer is quoted for a year from the first day, however far the months are looked ahead.
QUOTED_MONTHS = 12
_ZERO = Decimal(0)


class Stop(NamedTuple):
    """A visit that is planned or booked: its day, list price and minutes, how many tasks, and the minutes of what is late."""

    on: dt.date
    price: Decimal
    minutes: int
    tasks: int
    late_minutes: int = 0
    booked: bool = False

    @property
    def trip(self) -> Trip:
        """Its day and its list price."""
        return Trip(self.on, self.price)


@dataclass(frozen=True, slots=True)
class Visits:
    """How many visits there are, and what they come to by the list."""

    count: int = 0
    price: Decimal = _ZERO

    def more(self, price: Decimal) -> "Visits":
        """One visit more."""
        return Visits(self.count + 1, self.price + price)


@dataclass(frozen=True, slots=True)
class Month:
    """One month: the money of its three bands, minutes due, and those of them that are overdue on the first day asked for.

    `minutes` has those by band, renewals counted by their rate. `beyond` are visits that agreements did not sell, `booked` those
    that are booked where no agreement pays for them.
    """

    money: revenue.Month
    minutes_due: int
    minutes_late: int
    minutes: Mapping[Band, Decimal]
    beyond: Visits
    booked: Visits

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
    """The months from a day on, and what is on offer for a year from there."""

    span: Span
    rate: revenue.RenewalRate
    months: tuple[Month, ...]
    heads_sold: int
    heads_offered: int
    sites_sold: int
    offers: tuple[Offered, ...]


def look(*, first: dt.date, months: int, today: dt.date) -> Look:
    """Look so many months ahead from a day; the month of that day is the first."""
    span = revenue.months_ahead(first, months)
    sheet = care_sheet() or CareSheet("", ())
    sums = _Sums(span, today, sheet, agreements.renewal_rate(today=today))
    plan = _plan(sheet, span, today)
    sold = set(models.Agreement.objects.values_list("site_id", flat=True))
    sites = iter(sorted(plan.stops.keys() | sold))
    while chunk := tuple(islice(sites, CHUNK)):
        promised = agreements.of_sites([pk for pk in chunk if pk in sold])
        heads = agreements.heads_of(chunk)
        # A year of an agreement that the span begins in began no earlier than this.
        made = visits.made(list(promised), since=add_months(first, -12), before=first)
        accounts = bills.accounts(Q(agreement__in=[one.key for some in promised.values() for one in some]))
        for site in chunk:
            sums.add(site, plan, promised.get(site, ()), accounts, heads.get(site, ()), made.get(site, ()))
    return sums.look()


# ------------------------------------------------------------------------------------------------------------- the plan


@dataclass(slots=True)
class _Plan:
    """Each site's visits, by its key, and how many of its dues are late on the first day."""

    stops: dict[int, list[Stop]] = field(default_factory=lambda: defaultdict(list))
    late: dict[int, int] = field(default_factory=dict)


def _plan(sheet: CareSheet, span: Span, today: dt.date) -> _Plan:
    assert span.last is not None
    plan = _Plan()

    def works() -> Iterator[planning.SiteWork]:
        for site, work in visits.with_sites(sheet, on=span.first, today=today, booked=True):
            late = sum(due.state(span.first) is State.LATE for due in work.dues)
            if late:
                plan.late[site.pk] = late
            yield work

    taken = bookings.minutes_by_day(since=span.first)
    until = max(span.last, add_months(span.first, QUOTED_MONTHS) - DAY)
    for visit in planner.planned(works(), sheet, house.working(), first=span.first, until=until, booked=taken):
        late = sum(due.minutes for due in visit.dues if due.state(span.first) is State.LATE)
        stop = Stop(visit.on, visit.price, visit.minutes, len(visit.dues), late)
        plan.stops[visit.key].append(stop)
    for site_id, on, price, minutes, tasks in visits.booked(on=span.first, until=until):
        plan.stops[site_id].append(Stop(on, price, minutes, tasks, booked=True))
    return plan


# ---------------------------------------------------------------------------------------------------------- site by site


class _Sums:
    """What is known so far, summed by months, so that no site's bills need to be kept."""

    def __init__(self, span: Span, today: dt.date, sheet: CareSheet, rate: revenue.RenewalRate) -> None:
        self._span = span
        self._today = today
        self._sheet = sheet
        self._rate = rate
        self._billed: dict[tuple[dt.date, int], Decimal] = defaultdict(Decimal)
        self._offered: dict[dt.date, Decimal] = defaultdict(Decimal)
        self._due: dict[dt.date, int] = defaultdict(int)
        self._late: dict[dt.date, int] = defaultdict(int)
        self._minutes: dict[tuple[dt.date, Band], Decimal] = defaultdict(Decimal)
        self._beyond: dict[dt.date, Visits] = defaultdict(Visits)
        self._booked: dict[dt.date, Visits] = defaultdict(Visits)
        self._offers: list[Offered] = []
        self._heads = {"sold": 0, "offered": 0}
        self._sites_sold = 0

    def add(
        self,
        site: int,
        plan: _Plan,
        promised: Sequence[Agreement],
        accounts: Mapping[int, Account],
        heads: Sequence[CareUnit],
        made: Sequence[dt.date],
    ) -> None:
        """Add one site: its bills, its visits by band, and what is on offer there."""
        stops = sorted(plan.stops.get(site, ()))
        days = [*made, *(stop.on for stop in stops)]
        for agreement in promised:
            account = accounts.get(agreement.key, Account())
            for entry in billing.standing(
                agreement, account, heads, self._sheet, span=self._span, today=self._today, visits=days
            ):
                first = entry.days.first
                if first in self._span:
                    self._billed[first.replace(day=1), entry.renewals] += entry.amount
        unsold = _beyond(promised, [*(Trip(day, _ZERO) for day in made), *(stop.trip for stop in stops)])
        for stop in stops:
            month = stop.on.replace(day=1)
            self._due[month] += stop.minutes
            self._late[month] += stop.late_minutes
            if stop.trip in unsold:
                self._beyond[month] = self._beyond[month].more(stop.price)
            elif any(agreement.may_hold(stop.on) for agreement in promised):
                self._weigh(stop, promised)
            elif stop.booked:
                self._booked[month] = self._booked[month].more(stop.price)
            else:
                self._offered[month] += stop.price
                self._minutes[month, Band.ON_OFFER] += stop.minutes
        offered = [stop for stop in stops if not stop.booked and revenue.offers(promised, [stop.trip])]
        self._count(site, plan, offered, promised, heads)

    def _weigh(self, stop: Stop, promised: Sequence[Agreement]) -> None:
        """Count the minutes of a visit sold to its band; where it hangs on renewals, by their rate, as the money is."""
        number = min(
            revenue.renewals_before(agreement, stop.on, today=self._today)
            for agreement in promised
            if agreement.may_hold(stop.on)
        )
        band = Band.RENEWALS if number else Band.CONTRACTED
        self._minutes[stop.on.replace(day=1), band] += stop.minutes * revenue.renewal_chance(self._rate.rate, number)

    def _count(
        self,
        site: int,
        plan: _Plan,
        offered: Sequence[Stop],
        promised: Sequence[Agreement],
        heads: Sequence[CareUnit],
    ) -> None:
        serving = sum(revenue.serves(head, min(self._span.first, self._today)) for head in heads)
        if any(agreement.in_force(self._span.first, today=self._today) for agreement in promised):
            self._sites_sold += 1
            self._heads["sold"] += serving
        end = add_months(self._span.first, QUOTED_MONTHS)
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
                self._late.get(money.first, 0),
                {band: self._minutes.get((money.first, band), _ZERO) for band in Band},
                self._beyond[money.first],
                self._booked[money.first],
            )
            for money in revenue.bands(whole, billed, offered, rate=self._rate.rate)
        )
        return Look(
            self._span,
            self._rate,
            months,
            self._heads["sold"],
            self._heads["offered"],
            self._sites_sold,
            tuple(self._offers),
        )


def _beyond(promised: Sequence[Agreement], trips: Sequence[Trip]) -> set[Trip]:
    """The visits that an agreement covers, but none of them sold."""
    beyond = [(agreement, set(revenue.beyond(agreement, trips))) for agreement in promised]
    unsold = set()
    for trip in trips:
        holding = [some for agreement, some in beyond if agreement.may_hold(trip.on)]
        if holding and all(trip in some for some in holding):
            unsold.add(trip)
    return unsold
