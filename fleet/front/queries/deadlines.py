"""Deadlines of every kind as one list: each source keeps its own rows, in the one order, and completes those that are shown."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from heapq import merge
from itertools import islice
from types import SimpleNamespace
from typing import Any, overload

from django.db.models import (
    Case,
    Count,
    DateField,
    F,
    Min,
    Q,
    QuerySet,
    Sum,
    Value,
    When,
    Window,
)

from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import PER_PAGE, Filter, List, Listing
from fleet.facts import TermsBook, Told, terms_on_file
from fleet.front.queries import deadlines_of_claims as of_claims
from fleet.front.queries import deadlines_of_coverage as of_coverage
from fleet.front.queries import deadlines_of_ours as ours
from fleet.front.queries.deadline_rows import BIG, Rows, Source
from fleet.rules import deadlines as rules
from fleet.rules import payers
from fleet.rules.dates import DAY
from fleet.rules.deadlines import Kind
from fleet.rules.wording import deadlines as wording

FIRST = 15
WEEK = 7 * DAY

SOURCES: tuple[Source, ...] = (
    *of_coverage.SOURCES,
    *of_claims.SOURCES,
    *ours.SOURCES,
)


# -------------------------------------------------------------------------------------------------------- together


class Merged(Sequence[Any]):
    """The rows of all sources in the one order, of which only those asked for are read."""

    def __init__(self, parts: Sequence[tuple[Source, Any]], on: dt.date) -> None:
        self.parts, self.on = parts, on

    @cached_property
    def near(self) -> list[tuple[list[dict[str, Any]], dict[str, Any]]]:
        """Of each source the rows of a first page, and how many there are in all: one question brings both."""
        return [_near(rows, self.on) for _, rows in self.parts]

    @property
    def counts(self) -> list[dict[str, Any]]:
        """Of each source how many rows there are, and what `sentences` says of them."""
        return [counts for _, counts in self.near]

    def __len__(self) -> int:
        return sum(one["all"] for one in self.counts)

    def __iter__(self) -> Iterator[Any]:
        return self._together(
            [rows.iterator(chunk_size=500) if isinstance(rows, QuerySet) else rows for _, rows in self.parts]
        )

    @overload
    def __getitem__(self, at: int) -> Any: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Any]: ...
    def __getitem__(self, at: int | slice) -> Any:
        """Rows by their places in the one order: none of a source lies further on than in its own."""
        if isinstance(at, int):
            return self[at : at + 1][0]
        is_near = at.stop is not None and at.stop <= PER_PAGE
        read = [
            rows[: at.stop]
            for rows in ([rows for rows, _ in self.near] if is_near else [rows for _, rows in self.parts])
        ]
        return list(islice(self._together(read), at.start or 0, at.stop))

    def _together(self, read: Iterable[Iterable[Any]]) -> Iterator[Any]:
        return merge(*(_of(source, rows) for (source, _), rows in zip(self.parts, read, strict=True)), key=_key)


# What is counted of a source, as `sentences` says it; `first` is the nearest day within a week.
_COUNTED = ("all", "steps", "missed", "week", "first")


def _near(rows: Rows, on: dt.date) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    if isinstance(rows, QuerySet):
        found = [dict(row) for row in _with_counts(rows, on)[:PER_PAGE]]
        each = [{name: row.pop(f"n_{name}") for name in _COUNTED} for row in found]
        return found, each[0] if each else dict.fromkeys(_COUNTED, 0) | {"first": None}
    days = [row["last"] for row in rows]
    week = [day for day in days if on <= day <= on + WEEK]
    missed, first = sum(day < on for day in days), min(week, default=None)
    return rows, {"all": len(days), "steps": 0, "missed": missed, "week": len(week), "first": first}


def _with_counts(rows: QuerySet[Any, Any], on: dt.date) -> QuerySet[Any, Any]:
    """Rows that each say how many there are in all, of each kind that is counted."""

    def number(which: Q) -> Window:
        return Window(Sum(Case(When(which, then=Value(1)), default=Value(0), output_field=BIG)))

    week = Q(last__range=(on, on + WEEK))
    return rows.annotate(
        n_all=Window(Count("*")),
        n_steps=number(Q(rank=0)),
        n_missed=number(Q(last__lt=on)),
        n_week=number(week),
        n_first=Window(Min(Case(When(week, then=F("last")), default=None, output_field=DateField()))),
    )


def _of(source: Source, rows: Iterable[Any]) -> Iterator[Any]:
    """Rows with the source that they come from."""
    return ({**row, "source": source} for row in rows)


def _key(row: Any) -> tuple[Any, ...]:
    return row["rank"], row["last"] or dt.date.max, row["what"], row["first_key"], row["second_key"]


def _rows(filters: Any, on: dt.date) -> Merged:
    wanted = [source for source in SOURCES if not filters.kind or filters.kind in source.kinds]
    found = []
    for source in wanted:
        rows = source.rows(filters, on)
        if filters.which:
            rows = _narrowed(rows, *_WHICH[filters.which](on))
        found.append((source, rows))
    return Merged(found, on)


OVERDUE, THIS_WEEK = "overdue", "within a week"
# The first and the last day that each lets through.
_WHICH: dict[str, Callable[[dt.date], tuple[dt.date, dt.date]]] = {
    OVERDUE: lambda on: (dt.date.min, on - DAY),
    THIS_WEEK: lambda on: (on, on + WEEK),
}


def _narrowed(rows: Rows, first: dt.date, last: dt.date) -> Rows:
    if isinstance(rows, QuerySet):
        return rows.filter(last__range=(first, last))
    return [row for row in rows if first <= row["last"] <= last]


def _complete(rows: list[Any], on: dt.date, book: TermsBook | None = None) -> list[SimpleNamespace]:
    """The deadlines of some rows, each source completing its own, in the order they came."""
    book, places = book or terms_on_file(), {id(row): place for place, row in enumerate(rows)}
    found: list[SimpleNamespace | None] = [None] * len(rows)
    for complete in dict.fromkeys(source.complete for source in SOURCES):
        own = [row for row in rows if row["source"].complete is complete]
        for row, done in zip(own, complete(own, book, on), strict=True):
            found[places[id(row)]] = done
    return [one for one in found if one is not None]


def _left(row: Any, on: dt.date) -> Cell:
    left = row.deadline.days_left(on)
    return Cell(left, said=wording.days_left(left, ahead=row.deadline.ahead and row.last is None))


def complete(rows: list[Any], on: dt.date, book: TermsBook | None = None) -> list[SimpleNamespace]:
    """The deadlines of some rows with what is left, by the terms on file where those were read already."""
    found = _complete(rows, on, book)
    for row in found:
        row.left = _left(row, on)
    return found


def _what(row: Any) -> Cell:
    if row.unit is None:
        return Cell(row.site.name, Link("site", row.site.pk), row.note, "text")
    return named.unit_cell(row.unit)


def _lead(listing: Listing) -> dict[str, Any]:
    return {"sentences": sentences(listing)}


DEADLINES = List(
    file="deadlines",
    caption="Deadlines",
    rows=_rows,
    complete=complete,
    lead=_lead,
    usual="",
    columns=(
        Column("what", "What to do", value=lambda row: Cell(row.to_do, row.link, row.note)),
        Column("kind", "Kind", value=lambda row: row.kind.value, shown=False),
        Column("last_day", "Last day", "day", value="last"),
        Column("days_left", "Days left", "number", value="left"),
        Column("worth", "Worth"),
        Column("who", "Who can act"),
        Column("unit", "Unit", "serial", value=_what),
        named.customer("site__customer", sorts=False, with_phone=True),
        Column("phone", "Phone", value="site.customer.phone", shown=False),
        Column("site", "Site", value="site.name", shown=False),
        Column("payer", "Payer", "payer", shown=False),
        Column("payer_name", "With whom", shown=False),
    ),
    filters=(
        Filter("kind", choices=[(kind.value, wording.KINDS[kind]) for kind in Kind]),
        Filter("which", "Due", (OVERDUE, THIS_WEEK)),
        Filter("payer", choices=payers.CHOICES),
        Filter("text", "Serial, site or customer contains"),
    ),
)


def sentences(listing: Listing) -> tuple[str, ...]:
    """What of a list was missed, what comes within a week and what comes before anyone goes out, in sentences."""
    told = listing.selected.counts
    return wording.summary(
        sum(one["missed"] for one in told),
        sum(one["week"] for one in told),
        min((one["first"] for one in told if one["first"]), default=None),
        sum(one["steps"] for one in told),
        on=listing.on,
    )


def dated(*, on: dt.date) -> list[Any]:
    """The row of every deadline that has a day, in the one order."""
    return [row for row in _rows(DEADLINES.filters_for(), on) if row["last"] is not None]


def every(*, on: dt.date) -> list[SimpleNamespace]:
    """Every deadline that has a day, in the one order, for a calendar."""
    return _complete(dated(on=on), on)


def of_units(units: Iterable[Told], book: TermsBook, *, on: dt.date) -> list[SimpleNamespace]:
    """The deadlines of some units whose facts are at hand, in the one order: one query more."""
    standing = [told for told in units if told.row.removed_on is None]
    found = [row for told in standing for row in of_coverage.of_unit(told, on)]
    found += of_claims.of_units([told.row for told in units], book, on=on)
    return in_order(found, on)


def in_order(found: Iterable[SimpleNamespace], on: dt.date) -> list[SimpleNamespace]:
    """Deadlines in the one order, each with what is left."""
    ordered = sorted(found, key=lambda row: (*rules.rank(row.deadline), row.kind, row.mark))
    for row in ordered:
        row.left = _left(row, on)
    return ordered
