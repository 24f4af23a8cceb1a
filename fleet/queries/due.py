"""The list of what is due: each due by itself, or added up by site, task or month."""

import datetime as dt
from collections.abc import Iterable, Iterator
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Count, Min, Q, QuerySet, Sum
from django.db.models.functions import TruncMonth

from fleet import models
from fleet.gather.care import care_sheet
from fleet.models.prepared import counted, prepared
from fleet.pages import due as pages
from fleet.pages.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, unit_cell, within
from fleet.queries.ordering import order_of
from fleet.rules import care, words
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, add_months, in_words
from fleet.rules.wording import care as wording

CHUNK = 500
# How far ahead a month can be chosen.
MONTHS_AHEAD = 24

_FIELDS = (
    "unit_id", "task", "due_on", "opens_on", "late_after", "last_done", "not_before", "by", "minutes", "price",
    "unit__serial", "unit__room", "unit__maker", "unit__model", "site_id", "site__name", "site__customer_id",
    "site__customer__name", "site__customer__phone",
)  # fmt: skip
_ORDER = {
    "due_on": ("due_on", "site_id", "task", "unit_id"),
    "late_after": ("late_after", "site_id", "task", "unit_id"),
    "last_done": ("last_done", "due_on", "unit_id", "task"),
    "serial": ("unit__serial_key", "due_on", "task"),
    "task": ("task", "due_on", "unit_id"),
    "customer": ("site__customer__name", "due_on", "task", "unit_id"),
    "site": ("site__name", "due_on", "task", "unit_id"),
}
# How many dues are looked at for each site that is wanted; few have more that come first.
_AHEAD = 20
_GROUP = {
    "by site": ("site_id", "site__name", "site__customer_id", "site__customer__name", "site__customer__phone"),
    "by task": ("task", "by"),
    "by month": ("month",),
}
_GROUP_ORDER = {"site": "site__name", "customer": "site__customer__name"}


def tasks() -> tuple[tuple[str, str], ...]:
    """List the tasks of the care sheet in force, to choose from."""
    sheet = care_sheet()
    return () if sheet is None else tuple((task.code, task.title) for task in sheet.tasks)


def months(*, on: dt.date) -> tuple[tuple[str, str], ...]:
    """List the months ahead, to choose from."""
    first = on.replace(day=1)
    found = (add_months(first, number) for number in range(MONTHS_AHEAD))
    return tuple((f"{month:%Y-%m}", f"{month:%B %Y}") for month in found)


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.DuePage:
    """Show one page of what is due."""
    columns = pages.COLUMNS[asked.listed]
    chosen = sort_of(sort, columns, otherwise=pages.USUAL[asked.listed])
    sheet = care_sheet()
    if sheet is None:
        return pages.DuePage(asked, on, Listing(columns, (), 0, chosen), (), without_sheet=True)
    # Counted before it is ordered: names that only the rows shown need would be joined to every row.
    count = _count(_found(asked, sheet, on=on), asked.listed)
    number = within(number, count)
    found = _found(asked, sheet, on=on)
    if asked.listed == "by site" and chosen == Sort("first_on") and number == 1:
        found = _of_first_sites(found)
    found = _ordered(found, asked.listed, chosen, on=on)
    first = (number - 1) * PER_PAGE
    rows = tuple(_rows(found[first : first + PER_PAGE], asked.listed, sheet, on=on))
    return pages.DuePage(asked, on, Listing(columns, rows, count, chosen, number), sentences(sheet, on=on))


def rows(asked: pages.Asked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    sheet = care_sheet()
    if sheet is None:
        return
    chosen = sort_of(sort, pages.COLUMNS[asked.listed], otherwise=pages.USUAL[asked.listed])
    found = _ordered(_found(asked, sheet, on=on), asked.listed, chosen, on=on)
    yield from _rows(found.iterator(chunk_size=CHUNK), asked.listed, sheet, on=on)


def sentences(sheet: CareSheet, *, on: dt.date) -> tuple[str, ...]:
    """Say how much of a technician's work is late, and how much more may be done now."""
    number, first = next(iter(_ours_late(on)), (0, on))
    # What is due now is late within so many days, which bounds what the index must read.
    now = _ours_now(on, on + max((task.early_days + task.late_days for task in sheet.tasks), default=0) * DAY)
    if not number and not now:
        return ("Nothing that is ours to do is due today.",)
    told = []
    if number:
        since = in_words(first + DAY)
        told.append(f"{_dues(number)} of ours {'is' if number == 1 else 'are'} late, the longest since {since}.")
    if now:
        told.append(f"{_dues(now)}{' more' if number else ''} may be done now.")
    return tuple(told)


@prepared
def _ours_late(on: dt.date) -> QuerySet[models.DueRow, Any]:
    late = models.DueRow.objects.filter(_by_its_days(care.State.LATE, on=on), by="technician").order_by()
    return late.values("by").annotate(number=Count("*"), first=Min("late_after")).values_list("number", "first")


@counted
def _ours_now(on: dt.date, soon: dt.date) -> QuerySet[models.DueRow, Any]:
    now = models.DueRow.objects.filter(_by_its_days(care.State.DUE, on=on), by="technician", late_after__lte=soon)
    return now.order_by().values_list("late_after")


def _dues(number: int) -> str:
    return "1 due" if number == 1 else f"{number:,} dues"


# ------------------------------------------------------------------------------------------------- which


def _found(asked: pages.Asked, sheet: CareSheet, *, on: dt.date) -> QuerySet[models.DueRow]:
    found = models.DueRow.objects.all()
    if asked.whose != "both":
        found = found.filter(by=asked.whose)
    if asked.state:
        found = found.filter(
            reduce(
                or_,
                (_in_state(care.State(name), sheet, on=on, whose=asked.whose) for name in asked.state.split(" or ")),
            )
        )
    if asked.task:
        found = found.filter(task=asked.task)
    if asked.month:
        first = dt.date.fromisoformat(f"{asked.month}-01")
        found = found.filter(due_on__gte=first, due_on__lt=add_months(first, 1))
    if asked.text:
        texts = Q(site__name__icontains=asked.text) | Q(site__customer__name__icontains=asked.text)
        if key := words.key(asked.text):
            texts |= Q(unit__serial_key__contains=key)
        found = found.filter(texts)
    return found


def _in_state(state: care.State, sheet: CareSheet, *, on: dt.date, whose: str = "both") -> Q:
    """Choose the rows in a state, in the order that `care.state_of` asks in; a test holds the two together."""
    waiting = Q(not_before__gt=on)
    if state is care.State.WAITING:
        return waiting
    known = Q(not_before=None) | Q(not_before__lte=on)
    owners = [task for task in sheet.tasks if task.by == "owner"]
    never = Q(by="owner", last_done=None)
    for task in owners:
        never |= Q(by="owner", task=task.code, last_done__lte=care.long_ago(task, on=on))
    if state is care.State.NO_RECORD:
        return known & never
    mine = _by_its_days(state, on=on)
    return mine if whose == "technician" else mine & (Q(by="technician") | ~never)


def _by_its_days(state: care.State, *, on: dt.date) -> Q:
    """Choose the rows whose days alone put them in a state, as they do all of ours."""
    known = Q(not_before=None) | Q(not_before__lte=on)
    match state:
        case care.State.AHEAD:
            return known & Q(opens_on__gt=on)
        case care.State.DUE:
            return known & Q(opens_on__lte=on, late_after__gte=on)
        case _:
            return known & Q(late_after__lt=on, opens_on__lte=on)


# ------------------------------------------------------------------------------------------------- in rows


def _count(found: QuerySet[models.DueRow], listed: str) -> int:
    match listed:
        case "by site":
            return found.order_by().values("site_id").distinct().count()
        case "by task":
            return found.order_by().values("task", "by").distinct().count()
        case "by month":
            return found.order_by().annotate(month=TruncMonth("due_on")).values("month").distinct().count()
        case _:
            return found.count()


def _of_first_sites(found: QuerySet[models.DueRow]) -> QuerySet[models.DueRow]:
    """Narrow to the sites of the first page: grouping all dues for them would cost more the larger the fleet.

    They are looked for among the first rows of the index; where those are of too few sites, nothing is narrowed.
    """
    ahead = list(found.order_by("due_on", "site_id").values_list("site_id", flat=True)[: PER_PAGE * _AHEAD])
    sites = list(dict.fromkeys(ahead))[:PER_PAGE]
    return found if len(sites) < PER_PAGE and len(ahead) == PER_PAGE * _AHEAD else found.filter(site__in=sites)


def _ordered(found: QuerySet[models.DueRow], listed: str, sort: Sort, *, on: dt.date) -> QuerySet[models.DueRow, Any]:
    if listed == "each due":
        by = order_of(_ORDER[sort.name], falling=sort.falling, may_be_none=("last_done",))
        return found.order_by(*by).values_list(*_FIELDS, named=True)
    if listed == "by month":
        found = found.annotate(month=TruncMonth("due_on"))
    late = Q(late_after__lt=on) & (Q(not_before=None) | Q(not_before__lte=on))
    grouped = found.values(*_GROUP[listed]).annotate(
        dues=Count("pk"),
        late=Count("pk", filter=late),
        first_on=Min("due_on"),
        total_minutes=Sum("minutes"),
        total_price=Sum("price"),
    )
    name = {"minutes": "total_minutes", "price": "total_price"}.get(sort.name, sort.name)
    falling = "-" if sort.falling else ""
    return grouped.order_by(f"{falling}{_GROUP_ORDER.get(name, name)}", *_GROUP[listed])


def _rows(found: Iterable[Any], listed: str, sheet: CareSheet, *, on: dt.date) -> Iterator[Row]:
    if listed == "each due":
        yield from (_due(row, sheet, on=on) for row in found)
        return
    titles = {task.code: task.title for task in sheet.tasks}
    for row in found:
        sums = (
            Cell(row["dues"]),
            Cell(row["late"] or None),
            Cell(row["first_on"]),
            Cell(row["total_minutes"]),
            Cell(row["total_price"]),
        )
        match listed:
            case "by site":
                customer = Cell(row["site__customer__name"], Link("customer", row["site__customer_id"]))
                site = Cell(row["site__name"], Link("site_care", row["site_id"]))
                yield (site, customer, Cell(row["site__customer__phone"]), *sums)
            case "by task":
                yield (Cell(titles.get(row["task"], row["task"])), Cell(row["by"]), *sums)
            case _:
                yield (Cell(f"{row['month']:%B %Y}"), *sums)


def _due(row: Any, sheet: CareSheet, *, on: dt.date) -> Row:
    task = sheet.task(row.task)
    window = care.Window(row.due_on, row.opens_on, row.late_after)
    told = row.task
    where = ""
    if task is not None:
        told = task.title
        where = wording.stands(
            care.state_of(task, window, row.last_done, row.not_before, on=on), window, row.not_before
        )
    return (
        unit_cell(
            row.unit_id,
            serial=row.unit__serial,
            room=row.unit__room,
            maker=row.unit__maker,
            model=row.unit__model,
        ),
        Cell(row.unit__maker),
        Cell(row.unit__model),
        Cell(row.unit__room),
        Cell(told, note=row.unit__room if row.unit__serial else ""),
        Cell(row.due_on),
        Cell(where),
        Cell(row.opens_on),
        Cell(row.late_after),
        Cell(row.last_done),
        Cell(row.site__customer__name, Link("customer", row.site__customer_id)),
        Cell(row.site__name, Link("site_care", row.site_id)),
        Cell(row.site__customer__phone),
        Cell(row.by),
        Cell(row.minutes),
        Cell(row.price),
    )
