"""The plan of visits around what is booked, and its load."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Any

from django.db.models import Max

from fleet import models
from fleet.care.facts import bookings as gathered
from fleet.care.facts import visits as gather_visits
from fleet.care.pages import visits as pages
from fleet.facts import house as gather_house
from fleet.facts.care import care_sheet
from fleet.rules import planner, visits
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, add_months
from fleet.rules.hours import House, still_on_hand

_WEEKS = 52


@dataclass(frozen=True, slots=True)
class Planned:
    """A visit that the plan asks for, with the site it is to."""

    site: int
    drive_minutes: int
    visit: visits.Visit


def plan(sheet: CareSheet, *, on: dt.date, until: dt.date, house: House | None = None) -> tuple[Planned, ...]:
    """Plan the visits of all sites around those that are booked, by day, customer and site.

    It is kept in this process until a fact changes: every write leaves a later change, load or due behind it.
    """
    mark = (
        models.Change.objects.aggregate(at=Max("at"), pk=Max("pk")),
        models.Load.objects.aggregate(at=Max("at"), pk=Max("pk")),
        models.DueRow.objects.aggregate(pk=Max("pk")),
    )
    moved_on = tuple(value for row in mark for value in row.values())
    booked = tuple(sorted(gathered.minutes_by_day(since=on).items()))
    return _plan(sheet.code, house or gather_house.working(), on, until, booked, moved_on)


@dataclass(frozen=True, slots=True)
class Board:
    """What every question about one site's visits stands on, gathered once for a page: the rules, and the plan of a year."""

    on: dt.date
    sheet: CareSheet | None
    rates: models.House
    house: House
    planned: tuple[Planned, ...]


def board(*, on: dt.date) -> Board:
    """Gather the plan of the year from a day on, and what visits are held to."""
    sheet = care_sheet()
    rates = gather_house.house()
    house = gather_house.working(rates)
    planned = () if sheet is None else plan(sheet, on=on, until=until_of(on, _WEEKS), house=house)
    return Board(on, sheet, rates, house, planned)


@lru_cache(maxsize=4)
def _plan(
    code: str,
    house: House,
    on: dt.date,
    until: dt.date,
    booked: tuple[tuple[dt.date, int], ...],
    mark: tuple[Any, ...],
) -> tuple[Planned, ...]:
    sheet = care_sheet()
    # `code` and `mark` only tell one state of the facts from another.
    assert sheet is not None
    sites: dict[int, gather_visits.SiteOf] = {}

    def works() -> Iterator[visits.SiteWork]:
        for site, work in gather_visits.with_sites(sheet, on=on, today=on, booked=True):
            sites[site.pk] = site
            yield work

    planned = planner.planned(works(), sheet, house, first=on, until=until, booked=dict(booked))
    ordered = sorted(planned, key=lambda visit: (visit.on, visit.customer, visit.site, visit.key))
    return tuple(Planned((site := sites[visit.key]).pk, site.drive_minutes or 0, visit) for visit in ordered)


def until_of(on: dt.date, weeks: int) -> dt.date:
    """The last day planned for: the end of the month in which the weeks end, so that every month shown is whole."""
    return add_months((on + 7 * weeks * DAY).replace(day=1), 1) - DAY


def months(planned: Iterable[Planned], *, on: dt.date, until: dt.date) -> tuple[pages.Month, ...]:
    """The load by month, against the hours on hand."""
    load = visits.load(one.visit for one in planned)
    booked: dict[dt.date, int] = defaultdict(int)
    for day, number in gathered.minutes_by_day(since=on).items():
        booked[day.replace(day=1)] += number
    entered = gather_house.hours_on_hand(on, until)
    house = gather_house.working()
    by_month = []
    first = on.replace(day=1)
    while first <= until:
        at_hand = on_hand(first, entered.get(first), house, on=on)
        by_month.append(pages.Month(first, booked[first], load.get(first, 0), at_hand, first in entered))
        first = add_months(first, 1)
    most = max((max(month.booked + month.planned, month.on_hand or 0) for month in by_month), default=0) or 1
    return tuple(replace(month, most=most) for month in by_month)


def on_hand(month: dt.date, entered: Decimal | None, house: House, *, on: dt.date) -> int | None:
    """The minutes on hand in a month (by its first day) from a day on: its entered hours, of the running month what is left of them.

    Where nobody entered any, the usual ones; None where the house has no limit a day either.
    """
    if entered is None:
        return usual(house, max(month, on), month)
    return int((still_on_hand(entered, house, today=on) if month == on.replace(day=1) else entered) * 60)


def usual(house: House, begin: dt.date, month: dt.date) -> int | None:
    """A month's usual minutes, where nobody entered its hours; None where the house has no limit a day."""
    if not house.minutes_a_day:
        return None
    days = (begin + number * DAY for number in range((add_months(month, 1) - begin).days))
    return house.minutes_a_day * sum(day in house for day in days)
