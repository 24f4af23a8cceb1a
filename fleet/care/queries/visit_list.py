"""The plan of the coming weeks as a list: each visit to book, day by day, what is booked; and what waits to be booked."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache, partial
from types import SimpleNamespace
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery

from fleet import models
from fleet.care.facts import bookings as gathered
from fleet.care.queries import visit_plan
from fleet.care.queries.visit_plan import Planned
from fleet.care.queries.visits import unpaid, work
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link, Row, Table
from fleet.elements.listing import Filter, List, Listing, number_of, text_in
from fleet.facts import house as gather_house
from fleet.facts.care import care_sheet
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, in_words

FIRST = 5
# How soon a window closes that the office must see on its first page.
SOON = 21
# How the plan is listed, and for how many weeks; the first where nobody chose.
LISTED = ("to book", "by day", "booked", "not written up")
WEEKS = (8, 4, 12, 26, 52)


def visits(listed: str) -> List:
    """The plan of the coming weeks, listed in one of its ways."""
    sheet = care_sheet()

    @cache
    def plan(weeks: int, on: dt.date) -> tuple[Planned, ...]:
        return () if sheet is None else visit_plan.plan(sheet, on=on, until=visit_plan.until_of(on, weeks))

    columns, rows, complete = _WAYS.get(listed, _WAYS[LISTED[0]])
    return List(
        file="visits",
        caption="Visits",
        columns=columns,
        rows=lambda filters, on: rows(plan(filters.weeks, on), filters, on) if sheet else (),
        complete=partial(complete, sheet),
        lead=lambda listing: _lead(sheet, plan(listing.filters.weeks, listing.on), listing),
        usual="day",
        filters=(
            Filter("listed", choices=LISTED, blank="", usual=LISTED[0], narrows=False),
            Filter(
                "weeks",
                "Planned for",
                [(number, f"{number} weeks" if number < 52 else "a year") for number in WEEKS],
                blank="",
                usual=WEEKS[0],
                narrows=False,
            ),
            Filter("text", "Site or customer has"),
        ),
    )


def _lead(sheet: CareSheet | None, planned: Sequence[Planned], listing: Listing) -> dict[str, Any]:
    on, until = listing.on, visit_plan.until_of(listing.on, listing.filters.weeks)
    return {
        "sheet": sheet,
        "ways": LISTED,
        "sentences": _sentences(planned, on=on, until=until) if sheet else (),
        "months": visit_plan.months(planned, on=on, until=until) if sheet else (),
    }


def _sentences(planned: Sequence[Planned], *, on: dt.date, until: dt.date) -> tuple[str, ...]:
    booked = models.Booking.objects.filter(state="booked", on__gte=on).count()
    forgotten = models.Booking.objects.filter(state="booked", on__lt=on).count()
    said = []
    if planned:
        first = planned[0].visit.on
        said.append(f"{_visits(len(planned))} to book by {in_words(until)}, the first on {in_words(first)}.")
    else:
        said.append(f"No visit needs to be booked by {in_words(until)}.")
    late = sum(1 for one in planned if _late(one, on))
    if late:
        said.append(f"{late:,} of them {'includes' if late == 1 else 'include'} overdue work.")
    said.append(f"{_visits(booked)} {'is' if booked == 1 else 'are'} booked." if booked else "No visit is booked yet.")
    if forgotten:
        said.append(
            f"{'1 past visit was' if forgotten == 1 else f'{forgotten:,} past visits were'} neither written up nor canceled."
        )
    return tuple(said)


def _visits(number: int) -> str:
    return "1 visit" if number == 1 else f"{number:,} visits"


def _late(one: Planned, on: dt.date) -> bool:
    return any(due.late_after < on and (due.not_before is None or due.not_before <= on) for due in one.visit.dues)


# ------------------------------------------------------------------------------------------------- as a list


def _to_book(planned: Iterable[Planned], filters: Any, on: dt.date) -> list[Any]:
    text = filters.text.casefold()
    return [
        SimpleNamespace(planned=one, visit=one.visit, by=_by(one))
        for one in planned
        if text in one.visit.site.casefold() or text in one.visit.customer.casefold()
    ]


def _by(one: Planned) -> dt.date | None:
    """The last day on which none of its windows is closed; for late work, the past day on which its window closed."""
    late = [due.late_after for due in one.visit.dues if due.not_before is None]
    return min([*late, *(met.span.last for met in one.visit.met if met.span.last is not None)], default=None)


def _say_what_for(sheet: CareSheet, rows: list[Any], on: dt.date) -> Iterable[Any]:
    rates = gather_house.house()
    sites = models.Site.objects.select_related("customer").in_bulk({row.planned.site for row in rows})
    for row in rows:
        words = work((due.task.code for due in row.visit.dues), sheet)
        row.site = sites[row.planned.site]
        row.work = "; ".join(words) or "a visit that the agreement includes"
        row.drive = unpaid(row.visit, row.planned.drive_minutes, rates)
    return rows


def _by_day(planned: Iterable[Planned], filters: Any, on: dt.date) -> list[Any]:
    """Each day of the plan that has a visit, with its minutes against those on hand."""
    to_book, minutes = Counter[dt.date](), defaultdict[dt.date, int](int)
    for one in planned:
        to_book[one.visit.on] += 1
        minutes[one.visit.on] += one.visit.minutes
    booked = gathered.minutes_by_day(since=on)
    counts = Counter(models.Booking.objects.filter(state="booked", on__gte=on).values_list("on", flat=True))
    limit = gather_house.working().minutes_a_day
    return [
        SimpleNamespace(
            day=day,
            visits=to_book[day] or None,
            booked_visits=counts[day] or None,
            planned=minutes.get(day),
            booked=booked.get(day),
            on_hand=limit or None,
        )
        for day in sorted({*minutes, *booked})
    ]


def _booked(planned: object, filters: Any, on: dt.date) -> QuerySet[models.Booking]:
    rows = models.Booking.objects.filter(state="booked").select_related("site__customer", "technician")
    if filters.text:
        rows = rows.filter(text_in("site__name", "site__customer__name")(filters.text))
    return rows.filter(on__lt=on) if filters.listed == "not written up" else rows.filter(on__gte=on)


_TO_BOOK = (
    Column("day", "Planned for", "day", value="visit.on", order=("visit.on",)),
    replace(named.site("site", "site_visits"), order=("visit.site",)),
    replace(named.customer("site__customer"), order=("visit.customer",)),
    Column("phone", "Phone", value="site.customer.phone", shown=False),
    Column("work", "Work"),
    Column("by", "No later than", "day", order=("by",)),
    Column("minutes", "Minutes", "number", value="visit.minutes", order=("visit.minutes",)),
    Column("price", "List price", "money", value="visit.price", order=("visit.price",)),
    Column("agreement", "Agreement", value=lambda row: "yes" if row.visit.agreement else ""),
    Column("drive", "Drive cost"),
)
_OF_DAYS = (
    Column("day", "Day", "day", order=("day",)),
    Column("visits", "To book", "number", order=("visits",)),
    Column("booked_visits", "Booked", "number", order=("booked_visits",)),
    Column("planned", "Minutes to book", "number", order=("planned",)),
    Column("booked", "Minutes booked", "number", order=("booked",)),
    Column("on_hand", "Minutes on hand", "number"),
)
_BOOKED = (
    Column(
        "day",
        "Day",
        "day",
        value=lambda row: Cell(row.on, Link("booking", row.pk)),
        order=("on", "site__customer__name", "pk"),
    ),
    named.site("site", "site_visits"),
    named.customer("site__customer"),
    Column("phone", "Phone", value="site.customer.phone", shown=False),
    Column(
        "technician",
        "Technician",
        value=lambda row: str(row.technician or "not assigned yet"),
        order=("technician__first_name", "technician__last_name"),
    ),
    Column("minutes", "Minutes", "number", order=("minutes",)),
    Column("price", "List price", "money", order=("price",)),
    Column("note", "Note"),
    Column("why", "Reason", shown=False),
)
# Of each way: its columns, its rows, and what completes them.
_WAYS: dict[str, tuple[Any, ...]] = {
    "to book": (_TO_BOOK, _to_book, _say_what_for),
    "by day": (_OF_DAYS, _by_day, lambda _, rows, on: rows),
    "booked": (_BOOKED, _booked, lambda _, rows, on: rows),
    "not written up": (_BOOKED, _booked, lambda _, rows, on: rows),
}


# ------------------------------------------------------------------------------------------------- waiting on us


_WAITING = (
    Column("by", "No later than", "day", value="late_after"),
    Column("site", "Site", value=lambda due: Cell(due.site.name, Link("site_visits", due.site.pk))),
    named.customer("site__customer", sorts=False),
    Column("phone", "Phone", value="site.customer.phone"),
    Column("dues", "Tasks", "number"),
)


def short(*, on: dt.date) -> tuple[str, Table]:
    """Where something closes soon and no visit is booked, in a sentence and in its first rows.

    It asks what is kept of dues, not the plan, which a first page should not wait for.
    """
    booked = models.Booking.objects.filter(state="booked", on__gte=on).values("site")
    closing = models.DueRow.objects.filter(
        Q(not_before=None) | Q(not_before__lte=on), by="technician", late_after__lte=on + SOON * DAY, opens_on__lte=on
    )
    # Two looks into an index for each site: adding up its dues would read all of them.
    here = closing.filter(site=OuterRef("pk"))
    sites = models.Site.objects.filter(Exists(here)).exclude(pk__in=booked)
    late = sites.filter(Exists(here.filter(late_after__lt=on)))
    first = _first(closing.annotate(sites=number_of(sites), late=number_of(late)), booked)
    rows = tuple(Row(tuple(column.cell(due) for column in _WAITING), due) for due in first)
    return _said(first[0].sites, first[0].late) if first else "", Table(_WAITING, rows, len(rows))


def _first(closing: QuerySet[models.DueRow], booked: QuerySet[models.Booking, Any]) -> list[Any]:
    """The due that closes first at each of the few sites where one does soonest, with how many close there (`dues`)."""
    there = closing.filter(site=OuterRef("site"))
    number = there.order_by().values("site").annotate(n=Count("pk")).values("n")
    soonest = closing.filter(pk=Subquery(there.order_by("late_after", "pk").values("pk")[:1])).exclude(site__in=booked)
    rows = soonest.select_related("site__customer").annotate(dues=Subquery(number))
    return list(rows.order_by("late_after", "site_id")[:FIRST])


def _said(sites: int, late: int) -> str:
    said = f"{'1 site needs' if sites == 1 else f'{sites:,} sites need'} a visit booked within {SOON // 7} weeks"
    if not late:
        return f"{said}."
    which = (
        "it has"
        if sites == 1
        else "all of them have"
        if late == sites
        else f"{late:,} of them {'has' if late == 1 else 'have'}"
    )
    return f"{said}; {which} overdue work."
