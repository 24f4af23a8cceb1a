"""Sites as the planning of visits sees them: what a technician has to do there, what was promised, how far the drive is."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import islice
from typing import Any, NamedTuple, TypeVar

from django.db.models import Count
from django.db.models.functions import Coalesce

from fleet import models
from fleet.facts import agreements, care, companies
from fleet.rules import care as rules
from fleet.rules import visits as rules_of_visits
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY
from fleet.rules.dues import work_out
from fleet.rules.visits import SiteWork, Work
from fleet.rules.windows import Window

CHUNK = 500
_YEAR = 366 * DAY

Value = TypeVar("Value")


class SiteOf(NamedTuple):
    """A site by its key and names, with the minutes of the drive there and back."""

    pk: int
    name: str
    customer: str
    drive_minutes: int | None


class _StoredDue(NamedTuple):
    """What is read of a kept due, by the names of its columns."""

    site_id: int
    system_id: int
    unit_id: int
    unit__serial: str
    unit__access: str
    unit__style: str
    task: str
    last_done: dt.date | None
    due_on: dt.date
    opens_on: dt.date
    late_after: dt.date
    graded: bool
    not_before: dt.date | None
    price: Decimal
    units: list[int]
    anchor: dt.date | None
    times: str
    assumed_on: dt.date | None


def works(
    sheet: CareSheet,
    *,
    on: dt.date,
    today: dt.date,
    only: Collection[int] | None = None,
    booked: bool = False,
) -> Iterator[SiteWork]:
    """The work of every site that has any (or only of some, by their keys), a few hundred at a time in memory.

    From today on that is what is kept; for a day gone by only records of that time count, so it is worked out. With `booked`,
    what is booked from that day on counts as done on the day it is booked for, so that it is not planned again, and each site
    has the days on which it was visited or is to be.
    """
    for _, work in with_sites(sheet, on=on, today=today, only=only, booked=booked):
        yield work


def with_sites(
    sheet: CareSheet,
    *,
    on: dt.date,
    today: dt.date,
    only: Collection[int] | None = None,
    booked: bool = False,
) -> Iterator[tuple[SiteOf, SiteWork]]:
    """The work of sites as `works` does, each with the site it is of."""
    gathered = _Gathered(sheet, on=on, worked_out=on < today, booked=booked)
    sites = models.Site.objects.order_by("pk") if only is None else models.Site.objects.filter(pk__in=only)
    rows = sites.values_list("pk", "name", "customer__name", "drive_minutes").iterator(chunk_size=CHUNK)
    while chunk := [SiteOf(*row) for row in islice(rows, CHUNK)]:
        yield from gathered.chunk(chunk)


class _Gathered:
    """What all chunks of sites share: the care sheet, the day, and each value that many dues have once in memory."""

    def __init__(self, sheet: CareSheet, *, on: dt.date, worked_out: bool, booked: bool) -> None:
        self._sheet = sheet
        self._tasks = {task.code: task for task in sheet.tasks if task.by == "technician"}
        self._on = on
        self._worked_out = worked_out
        self._booked = booked
        self._same: dict[Any, Any] = {}

    def chunk(self, sites: Sequence[SiteOf]) -> Iterator[tuple[SiteOf, SiteWork]]:
        keys = [site.pk for site in sites]
        dues = self._dues_then(keys) if self._worked_out else self._stored_dues(keys)
        visited: Mapping[int, Sequence[dt.date]] = {}
        if self._booked:
            dues = self._past_bookings(keys, dues)
            visited = self._visited(keys)
        promised = agreements.of_sites(keys)
        for site in sites:
            mine, sold = tuple(dues.get(site.pk, ())), promised.get(site.pk, ())
            if mine or sold:
                days = tuple(visited.get(site.pk, ()))
                yield site, SiteWork(site.customer, site.name, mine, sold, site.drive_minutes or 0, days, site.pk)

    def _visited(self, sites: Collection[int]) -> Mapping[int, Sequence[dt.date]]:
        """The days of visits made in the twelve months before the first day, and of those booked from then on, by site."""
        days_of = {site: set(days) for site, days in made(sites, since=self._on - _YEAR, before=self._on + DAY).items()}
        rows = models.Booking.objects.filter(state="booked", on__gte=self._on, site__in=sites)
        for site, day in rows.order_by().values_list("site_id", "on"):
            days_of.setdefault(site, set()).add(day)
        return {site: sorted(days) for site, days in days_of.items()}

    def _stored_dues(self, sites: Collection[int]) -> Mapping[int, Sequence[rules.Due]]:
        dues: dict[int, list[rules.Due]] = defaultdict(list)
        rows = models.DueRow.objects.filter(site__in=sites, by="technician").order_by("site", "pk")
        for row in map(_StoredDue._make, rows.values_list(*_StoredDue._fields).iterator(chunk_size=2_000)):
            if row.task in self._tasks:
                dues[row.site_id].append(self._due(row))
        return dues

    def _due(self, row: _StoredDue) -> rules.Due:
        """A kept due as the rules gave it; equal days, prices and names are one object, since a large fleet has a million."""
        same = self._one
        return rules.Due(
            system=same(str(row.system_id)),
            unit=same(str(row.unit_id)),
            serial=same(row.unit__serial),
            task=self._tasks[row.task],
            last_done=same(row.last_done),
            window=same(Window(same(row.due_on), same(row.opens_on), same(row.late_after), row.graded)),
            not_before=same(row.not_before),
            price=same(row.price),
            access=same(row.unit__access),
            style=same(row.unit__style),
            units=same(tuple(same(str(one)) for one in row.units)),
            anchor=same(row.anchor),
            times=same(Decimal(row.times)) if row.times else None,
            assumed_on=same(row.assumed_on),
        )

    def _one(self, value: Value) -> Value:
        """The one object that stands for a value."""
        same: Value = self._same.setdefault(value, value)
        return same

    def _dues_then(self, sites: Collection[int]) -> Mapping[int, Sequence[rules.Due]]:
        """Work out what was due at sites on a day gone by, by the records of that time."""
        dues_of: dict[int, list[rules.Due]] = defaultdict(list)
        systems = models.System.objects.filter(site__in=sites).values_list("pk", flat=True)
        for system, site in care.with_sites(systems, on=self._on):
            dues = work_out(system, self._sheet, on=self._on).dues
            dues_of[site].extend(due for due in dues if due.task.by == "technician")
        return dues_of

    def _past_bookings(
        self, sites: Collection[int], dues: Mapping[int, Sequence[rules.Due]]
    ) -> Mapping[int, Sequence[rules.Due]]:
        """Count on from what is booked, as if it were done on its day."""
        days: dict[tuple[str, str], list[dt.date]] = defaultdict(list)
        rows = models.BookedTask.objects.filter(
            booking__site__in=sites, booking__state="booked", booking__on__gte=self._on
        ).order_by("booking__on")
        for unit, task, day in rows.values_list("unit_id", "task", "booking__on"):
            days[str(unit), task].append(day)
        if not days:
            return dues
        after_bookings = {}
        for site, some in dues.items():
            counted = []
            for due in some:
                after = due
                for day in days.get((due.unit, due.task.code), ()):
                    after = after.after(day, self._sheet.working)
                counted.append(after)
            after_bookings[site] = counted
        return after_bookings


def made(
    sites: Collection[int], *, since: dt.date, before: dt.date, sheet: CareSheet | None = None
) -> Mapping[int, Sequence[dt.date]]:
    """The days on which visits were made to sites, by the site's key, whatever door their records came by.

    What was written up counts for the site of its write-up, other records for the site where the unit stands. `sheet` is the
    care sheet in force where that was read already.
    """
    sheet = sheet or care.care_sheet()
    at = Coalesce("write_up__site", "unit__system__site")
    records = models.MaintenanceRecord.objects.annotate(at=at).filter(
        at__in=sites, done_on__range=(since, before - DAY), skipped=False
    )
    told = records.annotate(other=companies.is_other("technician"))
    works: dict[int, list[Work]] = defaultdict(list)
    others: set[str] = set()
    for site, on, task, technician, other in told.order_by().values_list(
        "at", "done_on", "task", "technician", "other"
    ):
        works[site].append(Work(on, task, technician))
        if other:
            others.add(technician)
    return {site: days for site, some in works.items() if (days := rules_of_visits.made(some, sheet, others))}


def booked(*, on: dt.date, until: dt.date) -> Iterator[tuple[int, dt.date, Decimal, int, int]]:
    """The visits that are booked from a day until another: site, day, list price, minutes, and how many tasks."""
    rows = models.Booking.objects.filter(state="booked", on__gte=on, on__lte=until).annotate(n=Count("tasks"))
    yield from rows.order_by("on", "pk").values_list("site_id", "on", "price", "minutes", "n")
