"""The list of what is due: each due by itself, or added up by site, task or month."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Sum
from django.db.models.functions import TruncMonth

from fleet import models
from fleet.gather.care import care_sheet
from fleet.models.prepared import counted, prepared
from fleet.pages import due as pages
from fleet.pages.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, unit_cell, within
from fleet.queries.counting import Counted, cut, up_to
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
# How far a large list is counted; a list by task or month has few rows.
MOST = {"each due": 10_000, "by site": 1_000}
# How far the dues are counted that the lead speaks of.
MOST_TOLD = 5_000
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
    count = _count(asked, sheet, number, on=on)
    number = within(number, count.number)
    shown = tuple(_rows(_page(asked, sheet, chosen, number, on=on), asked.listed, sheet, on=on))
    listing = Listing(columns, shown, count.number, chosen, number, count.more)
    return pages.DuePage(asked, on, listing, sentences(sheet, on=on))


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
    longest = _late_longest(on)
    late = cut(MOST_TOLD, _ours_late(on, most=MOST_TOLD + 1)) if longest else Counted(0)
    # What is due now is late within so many days, which bounds what the index must read.
    soon = on + max((task.early_days + task.late_days for task in sheet.tasks), default=0) * DAY
    now = cut(MOST_TOLD, _ours_now(on, soon, most=MOST_TOLD + 1))
    if not late.number and not now.number:
        return ("Nothing that is ours to do is due today.",)
    told = []
    if late.number:
        since = in_words(longest[0] + DAY)
        told.append(f"{_dues(late)} of ours {'is' if late.number == 1 else 'are'} late, the longest since {since}.")
    if now.number:
        further = "" if not late.number else " besides" if now.more else " more"
        told.append(f"{_dues(now)}{further} may be done now.")
    return tuple(told)


def _dues(found: Counted) -> str:
    told = "1 due" if found.number == 1 and not found.more else f"{found} dues"
    return told[0].upper() + told[1:]


@counted
def _ours_late(on: dt.date, *, most: int) -> QuerySet[models.DueRow, Any]:
    return _late(on).order_by().values_list("late_after")[:most]


@prepared
def _late_longest(on: dt.date) -> QuerySet[models.DueRow, dt.date]:
    return _late(on).order_by("late_after").values_list("late_after", flat=True)[:1]


def _late(on: dt.date) -> QuerySet[models.DueRow]:
    return models.DueRow.objects.filter(_by_its_days(care.State.LATE, on=on), by="technician")


@counted
def _ours_now(on: dt.date, soon: dt.date, *, most: int) -> QuerySet[models.DueRow, Any]:
    now = models.DueRow.objects.filter(_by_its_days(care.State.DUE, on=on), by="technician", late_after__lte=soon)
    return now.order_by().values_list("late_after")[:most]


# ------------------------------------------------------------------------------------------------- which


def _whose(asked: pages.Asked) -> str | None:
    return None if asked.whose == "both" else asked.whose


def _all_of(whose: str | None) -> QuerySet[models.DueRow]:
    """Give everything that is due, or what is one side's to do."""
    return models.DueRow.objects.all() if whose is None else models.DueRow.objects.filter(by=whose)


def _found(asked: pages.Asked, sheet: CareSheet, *, on: dt.date) -> QuerySet[models.DueRow]:
    found = _all_of(_whose(asked))
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


def _count(asked: pages.Asked, sheet: CareSheet, number: int, *, on: dt.date) -> Counted:
    """Count the rows of the list, as far as the page asked for and a good deal further."""
    most = MOST.get(asked.listed)
    if most is None:
        return Counted(_groups(_found(asked, sheet, on=on), asked.listed).count())
    while most < number * PER_PAGE:
        most *= 2
    if not asked.is_plain:
        found = _found(asked, sheet, on=on)
        return up_to(most, _groups(found, asked.listed) if asked.listed == "by site" else found)
    of_all = _count_sites if asked.listed == "by site" else _count_dues
    return cut(most, of_all(_whose(asked), most=most + 1))


@counted
def _count_dues(whose: str | None, *, most: int) -> QuerySet[models.DueRow, Any]:
    return _all_of(whose).order_by().values_list("by")[:most]


@counted
def _count_sites(whose: str | None, *, most: int) -> QuerySet[models.Site, Any]:
    # A look at each site's first due costs less than going over the dues of all of them.
    there = Exists(_all_of(whose).filter(site=OuterRef("pk")))
    return models.Site.objects.filter(there).order_by().values_list("pk")[:most]


def _groups(found: QuerySet[models.DueRow], listed: str) -> QuerySet[models.DueRow, Any]:
    match listed:
        case "by site":
            return found.order_by().values("site_id").distinct()
        case "by task":
            return found.order_by().values("task", "by").distinct()
        case _:
            return found.order_by().annotate(month=TruncMonth("due_on")).values("month").distinct()


def _page(asked: pages.Asked, sheet: CareSheet, sort: Sort, number: int, *, on: dt.date) -> Iterable[Any]:
    """Give the rows of one page; what is asked for most, the first page of the plain list, by a plan that is kept."""
    if asked.listed == "by site" and sort == Sort("first_on"):
        found = _by_first_due(asked, sheet, number, on=on)
        if found is not None:
            return found
    if asked.listed == "each due" and asked.is_plain and number == 1:
        return _first_dues(_whose(asked), sort=sort, most=PER_PAGE)
    first = (number - 1) * PER_PAGE
    return _ordered(_found(asked, sheet, on=on), asked.listed, sort, on=on)[first : first + PER_PAGE]


@prepared
def _first_dues(whose: str | None, *, sort: Sort, most: int) -> QuerySet[models.DueRow, Any]:
    return _each(_all_of(whose), sort)[:most]


def _by_first_due(asked: pages.Asked, sheet: CareSheet, number: int, *, on: dt.date) -> Iterable[Any] | None:
    """Add up the sites of one page alone: grouping all dues for them would cost more the larger the fleet.

    They are looked for among the first rows of the index; where those are of too few sites, there is no answer.
    """
    last = number * PER_PAGE
    most = last * _AHEAD
    found = None if asked.is_plain and number == 1 else _found(asked, sheet, on=on)
    ahead = _first_sites(_whose(asked), most=most) if found is None else list(_sites_first(found)[:most])
    sites = list(dict.fromkeys(ahead))
    if len(sites) < last and len(ahead) == most:
        return None
    sites = sites[last - PER_PAGE : last]
    if found is None:
        return _sums_of(_whose(asked), sites, on)
    return _ordered(found.filter(site__in=sites), "by site", Sort("first_on"), on=on)


@prepared
def _first_sites(whose: str | None, *, most: int) -> QuerySet[models.DueRow, int]:
    return _sites_first(_all_of(whose))[:most]


def _sites_first(found: QuerySet[models.DueRow]) -> QuerySet[models.DueRow, int]:
    return found.order_by("due_on", "site_id").values_list("site_id", flat=True)


@prepared
def _sums_of(whose: str | None, sites: Collection[int], on: dt.date) -> QuerySet[models.DueRow, Any]:
    return _ordered(_all_of(whose).filter(site__in=sites), "by site", Sort("first_on"), on=on)


def _ordered(found: QuerySet[models.DueRow], listed: str, sort: Sort, *, on: dt.date) -> QuerySet[models.DueRow, Any]:
    if listed == "each due":
        return _each(found, sort)
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


def _each(found: QuerySet[models.DueRow], sort: Sort) -> QuerySet[models.DueRow, Any]:
    by = order_of(_ORDER[sort.name], falling=sort.falling, may_be_none=("last_done",))
    return found.order_by(*by).values_list(*_FIELDS, named=True)


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
