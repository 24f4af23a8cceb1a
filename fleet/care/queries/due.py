"""The list of what is due: each due by itself, or added up by site, task or month."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import reduce
from itertools import groupby
from operator import or_
from typing import Any

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Sum

from fleet import models
from fleet.care.pages import due as pages
from fleet.care.queries import due_lead
from fleet.care.queries.due_states import in_state
from fleet.elements import named_fields
from fleet.elements.counting import Counted, as_far_as, reach, up_to
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.elements.ordering import order_of
from fleet.facts.care import care_sheet
from fleet.models.prepared import counted, prepared
from fleet.rules import care, words
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import add_months
from fleet.rules.windows import Window
from fleet.rules.wording import care as wording

CHUNK = 500
# How far ahead a month can be chosen.
MONTHS_AHEAD = 24

_OF_UNIT, _OF_SITE = named_fields.unit("unit"), named_fields.linked("site", "site_care")
_OF_CUSTOMER = named_fields.linked("site__customer", "customer")
_FIELDS = (
    "task", "due_on", "opens_on", "late_after", "last_done", "not_before", "by", "minutes", "price", *_OF_UNIT.fields,
    *_OF_SITE.fields, *_OF_CUSTOMER.fields, "site__customer__phone",
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
# How far the long lists are counted; those by task and month have few rows.
MOST = {"each due": 10_000, "by site": 1_000}
# How many dues are looked at for each site that is wanted; few have more that come first.
_AHEAD = 20
_GROUP = {
    "by site": (*_OF_SITE.fields, *_OF_CUSTOMER.fields, "site__customer__phone"),
    "by task": ("task", "by"),
}
# How sums are called where the rows' own columns have their names.
_SUM = {"minutes": "total_minutes", "price": "total_price"}
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
    few = None if asked.listed in MOST else list(_groups(asked, sheet, chosen, on=on))
    count = _count(asked, sheet, number, on=on) if few is None else Counted(len(few))
    number = within(number, count.number)
    first = (number - 1) * PER_PAGE
    found = _page(asked, sheet, chosen, number, on=on) if few is None else few[first : first + PER_PAGE]
    shown = tuple(_rows(found, asked.listed, sheet, on=on))
    listing = Listing(columns, shown, count.number, chosen, number, count.more)
    return pages.DuePage(asked, on, listing, due_lead.sentences(sheet, on=on))


def rows(asked: pages.Asked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    sheet = care_sheet()
    if sheet is None:
        return
    chosen = sort_of(sort, pages.COLUMNS[asked.listed], otherwise=pages.USUAL[asked.listed])
    if asked.listed in MOST:
        found = _ordered(_found(asked, sheet, on=on), asked.listed, chosen, on=on).iterator(chunk_size=CHUNK)
    else:
        found = iter(_groups(asked, sheet, chosen, on=on))
    yield from _rows(found, asked.listed, sheet, on=on)


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
                (in_state(care.State(name), sheet, on=on, whose=asked.whose) for name in asked.state.split(" or ")),
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


# ------------------------------------------------------------------------------------------------- in rows


def _count(asked: pages.Asked, sheet: CareSheet, number: int, *, on: dt.date) -> Counted:
    """Count the rows of the list, as far as the page asked for and a good deal further."""
    most = reach(MOST[asked.listed], number)
    if not asked.is_plain:
        found: QuerySet[models.DueRow, Any] = _found(asked, sheet, on=on)
        return up_to(most, found.order_by().values("site_id").distinct() if asked.listed == "by site" else found)
    of_all = _count_sites if asked.listed == "by site" else _count_dues
    return as_far_as(most, of_all, _whose(asked))


@counted
def _count_dues(whose: str | None, *, most: int) -> QuerySet[models.DueRow, Any]:
    return _all_of(whose).order_by().values_list("by")[:most]


@counted
def _count_sites(whose: str | None, *, most: int) -> QuerySet[models.Site, Any]:
    # A look at each site's first due costs less than going over the dues of all of them.
    there = Exists(_all_of(whose).filter(site=OuterRef("pk")))
    return models.Site.objects.filter(there).order_by().values_list("pk")[:most]


def _page(asked: pages.Asked, sheet: CareSheet, sort: Sort, number: int, *, on: dt.date) -> Iterable[Any]:
    """Give the rows of one page; what is asked for most, the first page of the plain list, by a plan that is kept."""
    if asked.listed == "by site" and sort == Sort("first_on"):
        sums = _by_first_due(asked, sheet, number, on=on)
        if sums is not None:
            return sums
    if asked.listed == "each due" and asked.is_plain and number == 1:
        return _first_dues(_whose(asked), sort=sort, most=PER_PAGE)
    first = (number - 1) * PER_PAGE
    found = _found(asked, sheet, on=on)
    if sort.name == "due_on":
        found = _by_day(found, asked, on=on)
    return _ordered(found, asked.listed, sort, on=on)[first : first + PER_PAGE]


@prepared
def _first_dues(whose: str | None, *, sort: Sort, most: int) -> QuerySet[models.DueRow, Any]:
    return _each(_all_of(whose), sort)[:most]


def _by_first_due(asked: pages.Asked, sheet: CareSheet, number: int, *, on: dt.date) -> Iterable[Any] | None:
    """Add up the sites of one page alone: grouping all dues for them would cost more the larger the fleet.

    They are looked for among the first rows of the index; where those are of too few sites, there is no answer.
    """
    last = number * PER_PAGE
    most = last * _AHEAD
    found = None if asked.is_plain and number == 1 else _by_day(_found(asked, sheet, on=on), asked, on=on)
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


def _by_day(found: QuerySet[models.DueRow], asked: pages.Asked, *, on: dt.date) -> QuerySet[models.DueRow]:
    """Say of the due day what follows from the state, since it lies in its window: the index by due days then finds the first."""
    match asked.state:
        case care.State.LATE:
            return found.filter(due_on__lt=on)
        case care.State.AHEAD:
            return found.filter(due_on__gt=on)
        case _:
            return found


def _ordered(found: QuerySet[models.DueRow], listed: str, sort: Sort, *, on: dt.date) -> QuerySet[models.DueRow, Any]:
    if listed == "each due":
        return _each(found, sort)
    falling = "-" if sort.falling else ""
    name = _SUM.get(sort.name, sort.name)
    return _summed(found, _GROUP[listed], on=on).order_by(f"{falling}{_GROUP_ORDER.get(name, name)}", *_GROUP[listed])


def _summed(found: QuerySet[models.DueRow], group: Collection[str], *, on: dt.date) -> QuerySet[models.DueRow, Any]:
    late = Q(late_after__lt=on) & (Q(not_before=None) | Q(not_before__lte=on))
    return found.values(*group).annotate(
        dues=Count("pk"),
        late=Count("pk", filter=late),
        first_on=Min("due_on"),
        total_minutes=Sum("minutes"),
        total_price=Sum("price"),
    )


def _groups(asked: pages.Asked, sheet: CareSheet, sort: Sort, *, on: dt.date) -> Iterable[dict[str, Any]]:
    """Add everything up by task or by month, which are few."""
    found = _found(asked, sheet, on=on)
    if asked.listed == "by task":
        return _ordered(found, asked.listed, sort, on=on)
    # By its days first: working out the month of each of a large fleet's dues would take most of the time.
    days = _summed(found, ("due_on",), on=on).order_by("due_on")
    months = [_month(month, list(rows)) for month, rows in groupby(days, key=lambda row: row["due_on"].replace(day=1))]
    name = _SUM.get(sort.name, sort.name)
    return sorted(months, key=lambda row: row[name], reverse=sort.falling)


def _month(month: dt.date, days: Sequence[Any]) -> dict[str, Any]:
    sums = {name: sum(row[name] for row in days) for name in ("dues", "late", *_SUM.values())}
    return {"month": month, "first_on": days[0]["first_on"], **sums}


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
    window = Window(row.due_on, row.opens_on, row.late_after)
    told = row.task
    where = ""
    if task is not None:
        told = task.title
        where = wording.stands(
            care.state_of(task, window, row.last_done, row.not_before, on=on), window, row.not_before
        )
    return (
        _OF_UNIT.cell(row),
        Cell(row.unit__maker),
        Cell(row.unit__model),
        Cell(row.unit__room),
        Cell(told, note=row.unit__room if row.unit__serial else ""),
        Cell(row.due_on),
        Cell(where),
        Cell(row.opens_on),
        Cell(row.late_after),
        Cell(row.last_done),
        _OF_CUSTOMER.cell(row),
        _OF_SITE.cell(row),
        Cell(row.site__customer__phone),
        Cell(row.by),
        Cell(row.minutes),
        Cell(row.price),
    )
