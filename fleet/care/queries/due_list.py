"""The list of what is due: each due by itself, or added up by site, task or month."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial, reduce
from itertools import groupby
from operator import or_
from typing import Any

from django.db.models import Count, Exists, Min, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum

from fleet import models
from fleet.care.facts.bookings import booked_on, is_booked
from fleet.care.queries import due_lead
from fleet.care.queries.due_states import in_state
from fleet.elements import named
from fleet.elements.cells import Cell, Column
from fleet.elements.listing import Filter, List, Listing
from fleet.facts.care import care_sheet
from fleet.rules import care
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import add_months
from fleet.rules.windows import Window
from fleet.rules.wording import care as wording

# How the list may be put together; the first where nobody chose.
LISTED = ("each task", "by site", "by task", "by month")
# Whose work it is; the first where nobody chose.
WHOSE = ("technician", "owner", "both")
_STATES = [
    ("due or late", "due now or overdue"),
    ("booked", "booked"),
    *((str(state), words) for state, words in wording.STATES.items()),
]
# How far ahead a month can be chosen.
MONTHS_AHEAD = 24


def due(listed: str, *, on: dt.date) -> List:
    """The list, put together in one of its ways."""
    sheet = care_sheet()
    columns, rows, complete, usual, tie = _WAYS.get(listed, _WAYS[LISTED[0]])
    return List(
        file="due",
        caption="Maintenance due",
        columns=columns,
        rows=partial(rows, sheet),
        complete=partial(complete, sheet),
        lead=partial(_lead, sheet),
        usual=usual,
        tie=tie,
        filters=(
            Filter("listed", "Listed", LISTED, blank="", usual=LISTED[0], narrows=False),
            Filter("whose", "Whose work", [*wording.WHOSE.items(), ("both", "both")], blank="", usual=WHOSE[0]),
            Filter("state", "Status", _STATES),
            Filter("task", choices=_tasks(sheet)),
            Filter("month", "Due in", _months_ahead(on), blank="any month"),
            Filter("text", "Serial, site or customer has"),
        ),
    )


def _tasks(sheet: CareSheet | None) -> list[tuple[str, str]]:
    return [] if sheet is None else [(task.code, task.title) for task in sheet.tasks]


def _months_ahead(on: dt.date) -> list[tuple[str, str]]:
    months = (add_months(on.replace(day=1), number) for number in range(MONTHS_AHEAD))
    return [(f"{month:%Y-%m}", f"{month:%B %Y}") for month in months]


def _lead(sheet: CareSheet | None, listing: Listing) -> dict[str, Any]:
    return {"sheet": sheet, "ways": LISTED, "sentences": due_lead.sentences(sheet, on=listing.on) if sheet else ()}


# ------------------------------------------------------------------------------------------------- which


def _dues(sheet: CareSheet | None, filters: Any, on: dt.date) -> QuerySet[models.DueRow]:
    dues = models.DueRow.objects.all()
    if sheet is None:
        return dues.none()
    if filters.whose != "both":
        dues = dues.filter(by=filters.whose)
    if filters.state:
        dues = _in_states(dues, filters.state.split(" or "), sheet, whose=filters.whose, on=on)
    if filters.task:
        dues = dues.filter(task=filters.task)
    if filters.month:
        first = dt.date.fromisoformat(f"{filters.month}-01")
        dues = dues.filter(due_on__gte=first, due_on__lt=add_months(first, 1))
    return dues.filter(_HAS_TEXT(filters.text)) if filters.text else dues


_HAS_TEXT = named.text_of_unit("unit", site="site", keys=("serial",))


def _in_states(
    dues: QuerySet[models.DueRow], states: Sequence[str], sheet: CareSheet, *, whose: str, on: dt.date
) -> QuerySet[models.DueRow]:
    """The dues that stand in one of some states; what is booked stands in that state alone."""
    if "booked" in states:
        return dues.filter(is_booked(on=on))
    which = (in_state(care.State(state), sheet, on=on, whose=whose) for state in states)
    return dues.filter(reduce(or_, which)).exclude(is_booked(on=on))


def _each(sheet: CareSheet | None, filters: Any, on: dt.date) -> QuerySet[models.DueRow]:
    dues = _dues(sheet, filters, on).select_related("unit", "site__customer")
    return dues.annotate(booked_on=booked_on(on=on))


def _sums(on: dt.date) -> dict[str, Any]:
    late = Q(late_after__lt=on) & (Q(not_before=None) | Q(not_before__lte=on)) & ~Q(is_booked(on=on))
    return {
        "dues": Count("pk"),
        "late": Count("pk", filter=late),
        "first_on": Min("due_on"),
        "total_minutes": Sum("minutes"),
        "total_price": Sum("price"),
    }


def _summed(dues: QuerySet[models.DueRow], *group: str, on: dt.date) -> QuerySet[models.DueRow, Any]:
    return dues.order_by().values(*group).annotate(**_sums(on))


def _by_site(sheet: CareSheet | None, filters: Any, on: dt.date) -> QuerySet[models.Site]:
    """Sites with no more than they are ranked by: all else is added up of the few that are shown."""
    dues = _dues(sheet, filters, on)
    here = dues.filter(site=OuterRef("pk"))
    added_up = dues.annotate(booked=is_booked(on=on)).only(
        "site_id", "due_on", "late_after", "not_before", "minutes", "price"
    )
    sites = models.Site.objects.filter(Exists(here)).select_related("customer")
    sites = sites.prefetch_related(Prefetch("dues", added_up, to_attr="added_up"))
    ranked_by = _TOTALS.get(filters.sort.name, filters.sort.name)
    if ranked_by == "first_on":
        # The first that an index has, without looking at the others.
        return sites.annotate(ranked_by=Subquery(here.order_by("due_on").values("due_on")[:1]))
    if ranked_by in (sums := _sums(on)):
        summed = here.order_by().values("site").annotate(sum=sums[ranked_by]).values("sum")
        return sites.annotate(ranked_by=Subquery(summed))
    return sites


# What a sum is called where its column has the name of what it adds up.
_TOTALS = {"minutes": "total_minutes", "price": "total_price"}


def _by_task(sheet: CareSheet | None, filters: Any, on: dt.date) -> QuerySet[models.DueRow, Any]:
    return _summed(_dues(sheet, filters, on), "task", "by", on=on)


def _by_month(sheet: CareSheet | None, filters: Any, on: dt.date) -> list[dict[str, Any]]:
    # By its days first: working out the month of each of a large fleet's dues would take most of the time.
    days = _summed(_dues(sheet, filters, on), "due_on", on=on).order_by("due_on")
    return [_month(month, list(rows)) for month, rows in groupby(days, key=lambda row: row["due_on"].replace(day=1))]


def _month(month: dt.date, days: Sequence[Any]) -> dict[str, Any]:
    sums = {name: sum(row[name] for row in days) for name in ("dues", "late", "total_minutes", "total_price")}
    return {"month": month, "first_on": days[0]["first_on"], **sums}


# ------------------------------------------------------------------------------------------------- in rows


def _say_each(sheet: CareSheet | None, rows: list[Any], on: dt.date) -> Iterable[Any]:
    for row in rows:
        task = sheet.task(row.task) if sheet else None
        row.title, row.stands = row.task, ""
        if task is not None and row.booked_on is not None:
            row.title, row.stands = task.title, wording.booked(row.booked_on)
        elif task is not None:
            window = Window(row.due_on, row.opens_on, row.late_after)
            state = care.state_of(task, window, row.last_done, row.not_before, on=on)
            row.title, row.stands = task.title, wording.stands(state, window, row.not_before)
    return rows


def _add_up(_: CareSheet | None, sites: list[Any], on: dt.date) -> Iterable[Any]:
    """The sums of each site, as `_sums` has them."""
    for site in sites:
        dues = site.added_up
        yield {
            "site": site,
            "dues": len(dues),
            "late": sum(_is_late(due, on) for due in dues),
            "first_on": min(due.due_on for due in dues),
            "total_minutes": sum(due.minutes for due in dues),
            "total_price": sum(due.price for due in dues),
        }


def _is_late(due: Any, on: dt.date) -> bool:
    return due.late_after < on and (due.not_before is None or due.not_before <= on) and not due.booked


def _name_tasks(sheet: CareSheet | None, rows: list[Any], on: dt.date) -> Iterable[Any]:
    titles = dict(_tasks(sheet))
    for row in rows:
        row["title"] = titles.get(row["task"], row["task"])
    return rows


_EACH = (
    named.unit("unit"),
    Column("maker", "Manufacturer", value="unit.maker", shown=False),
    Column("model", "Model", value="unit.model", shown=False),
    Column("room", "Room", value="unit.room", shown=False),
    Column(
        "task",
        "Task",
        "word",
        value=lambda row: Cell(row.title, note=row.unit.room if row.unit.serial else ""),
        order=("task",),
    ),
    Column("due_on", "Due", "day", order=("due_on", "site_id", "task", "unit_id")),
    Column("stands", "Status", "word"),
    Column("opens_on", "From", "day", shown=False),
    Column("late_after", "Overdue after", "day", order=("late_after", "site_id", "task", "unit_id"), shown=False),
    Column("last_done", "Last done", "day", order=("last_done", "due_on", "unit_id", "task")),
    named.customer("site__customer"),
    named.site("site", "site_care"),
    Column("phone", "Phone", value="site.customer.phone", shown=False),
    Column("by", "Whose work", shown=False),
    Column("minutes", "Minutes", "number"),
    Column("price", "Price", "money", shown=False),
)
_SUMS = (
    Column("dues", "Tasks", "number", order=("dues",)),
    Column("late", "Overdue", "number", value=lambda row: row["late"] or None, order=("late",)),
    Column("first_on", "First due", "day", order=("first_on",)),
    Column("minutes", "Minutes", "number", value="total_minutes", order=("total_minutes",)),
    Column("price", "List price", "money", value="total_price", order=("total_price",)),
)
_SITES = (
    replace(named.site("site", "site_care"), order=("name",)),
    replace(named.customer("site__customer"), order=("customer__name",)),
    Column("phone", "Phone", value="site.customer.phone", shown=False),
    *(replace(column, order=("ranked_by",)) for column in _SUMS),
)
_OF_TASKS = (
    Column("task", "Task", value="title", order=("task",)),
    Column("by", "Whose work", order=("by",)),
    *_SUMS,
)
_OF_MONTHS = (Column("month", "Month", "month", order=("month",)), *_SUMS)
# Of each way: its columns, its rows and what completes them, the usual order, and what orders equal rows.
_WAYS: dict[str, tuple[Any, ...]] = {
    "each task": (_EACH, _each, _say_each, "due_on", ("due_on", "task", "unit_id")),
    "by site": (_SITES, _by_site, _add_up, "first_on", ("pk",)),
    "by task": (_OF_TASKS, _by_task, _name_tasks, "task", ("task", "by")),
    "by month": (_OF_MONTHS, _by_month, lambda _, rows, on: rows, "month", ()),
}
