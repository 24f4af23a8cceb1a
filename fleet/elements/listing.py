"""One way to make a list: said once what it is, it has its page, its filters, its order and its files."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from types import SimpleNamespace
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, F, IntegerField, Q, QuerySet, Subquery, Value, Window
from django.db.models.expressions import OrderBy
from django.db.models.functions import Coalesce

from fleet.elements.cells import Cell, Column, Row, Table, at
from fleet.rules import words

PER_PAGE = 50
CHUNK = 500


@dataclass(frozen=True, slots=True)
class Filter:
    """What a list may be narrowed by: any text, a `day`, a number `between` two, or one of the `choices`, values or pairs of value and words.

    Choices are those of the day where a function gives them. `blank` is what nothing chosen is called; where it
    is blank, something always is: `usual`. `where` narrows a query set: by a lookup, or by a function from the value to a condition;
    blank where the list's own rows see to it. A list is spoken of as narrowed ("such units") by what `narrows` it.
    """

    name: str
    label: str = ""
    choices: Sequence[Any] | Callable[[], Iterable[Any]] | None = None
    blank: str = "any"
    usual: Any = ""
    where: str | Callable[[Any], Q] = ""
    narrows: bool = True
    hidden: bool = False
    between: tuple[int, int] | None = None
    day: bool = False

    @property
    def pairs(self) -> list[tuple[Any, str]]:
        """What may be chosen, each value with its words."""
        choices = self.choices() if callable(self.choices) else self.choices or ()
        pairs = [one if isinstance(one, tuple) else (one, str(one)) for one in choices]
        return [("", self.blank), *pairs] if self.blank else pairs

    def condition(self, value: Any) -> Q:
        """The condition on a query set's rows."""
        if not value or not self.where:
            return Q()
        return self.where(value) if callable(self.where) else Q(**{self.where: value})


def text_in(*names: str, keys: Sequence[str] = ()) -> Callable[[str], Q]:
    """Some text is part of any of these names; or, spaces and hyphens aside, of any of these keys."""

    def where(text: str) -> Q:
        found = Q()
        for name in names:
            found |= Q(**{f"{name}__icontains": text})
        if key := words.key(text):
            for name in keys:
                found |= Q(**{f"{name}__contains": key})
        return found

    return where


def number_of(rows: QuerySet[Any]) -> Coalesce:
    """How many rows these are, in a question that reads others."""
    all_of_them = rows.order_by().annotate(one=Value(1)).values("one").annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(all_of_them, output_field=IntegerField()), 0)


def same_key(name: str) -> Callable[[str], Q]:
    """A key is that of a text."""
    return lambda text: Q(**{name: words.key(text)})


@dataclass(frozen=True, slots=True)
class Sort:
    """By which column, and which way."""

    name: str
    falling: bool = False

    def __str__(self) -> str:
        return f"-{self.name}" if self.falling else self.name


@dataclass(frozen=True, slots=True)
class Heading:
    """A column's head: what a click on it asks for next, and how it is sorted now (blank: it is not)."""

    column: Column
    next: str
    sorted: str


@dataclass(frozen=True, slots=True)
class List:
    """What a list is.

    `rows` gives what the filters (their values by name, and the `sort`) and the day let through: a query set, or whatever is
    all at hand.
    `complete` adds to some rows what only those need that are shown or written out. `lead` gives what the page says of the
    list before its rows. `usual` is the order where nobody chose one (blank: that of `rows`), `tie` what orders rows that are equal in any, the same way
    whether it rises or falls. `file` names its files; `in_files` is another list that they have. `per_page` is how many rows a
    page has (0: as many as any other list's), fewer where each row has forms of its own.
    """

    file: str
    caption: str
    columns: tuple[Column, ...]
    rows: Callable[[SimpleNamespace, dt.date], Any]
    usual: str
    filters: tuple[Filter, ...] = ()
    tie: tuple[str, ...] = ("pk",)
    complete: Callable[[list[Any], dt.date], Iterable[Any]] = lambda rows, on: rows
    lead: Callable[["Listing"], Mapping[str, Any]] = lambda listing: {}
    in_files: "List | None" = None
    per_page: int = 0

    def filters_for(self, sort: str = "", **chosen: Any) -> SimpleNamespace:
        """The values of all filters: those chosen, else the usual ones; and the sort, as an address writes it (`-name`)."""
        known = {column.name for column in self.columns if column.order}
        sort = sort if sort.removeprefix("-") in known else self.usual
        values = {one.name: chosen.get(one.name) or one.usual for one in self.filters}
        return SimpleNamespace(**values, sort=Sort(sort.removeprefix("-"), sort.startswith("-")))

    def select(self, filters: SimpleNamespace, *, on: dt.date) -> Any:
        """The rows that the filters let through."""
        rows = self.rows(filters, on)
        for one in self.filters:
            if condition := one.condition(getattr(filters, one.name)):
                rows = rows.filter(condition)
        return rows

    def ordered(self, rows: Any, sort: Sort) -> Any:
        """The rows in an order, the same on every database; what is blank comes last either way in rows at hand."""
        column = next((column for column in self.columns if column.name == sort.name), None)
        if column is None:
            return rows
        if isinstance(rows, QuerySet):
            return rows.order_by(*_order_by(rows, column, self.tie, falling=sort.falling))
        keys = [(at(row, column.order[0].replace("__", ".")), row) for row in rows]
        blank = [row for key, row in keys if key in (None, "")]
        others = sorted((pair for pair in keys if pair[0] not in (None, "")), key=_key, reverse=sort.falling)
        return [*(row for _, row in others), *blank]

    def shown(self, rows: Iterable[Any], *, on: dt.date) -> tuple[Row, ...]:
        """Some rows with their cells."""
        found = list(rows)
        return tuple(
            Row(tuple(column.cell(row) for column in self.columns), row)
            for row in (self.complete(found, on) if found else ())
        )

    def page(self, filters: SimpleNamespace, *, number: Any = 1, size: int = 0, on: dt.date) -> "Listing":
        """One page of the list."""
        return self._page(self.select(filters, on=on), filters, number=number, size=size, on=on)

    def _page(self, selected: Any, filters: SimpleNamespace, *, number: Any, size: int, on: dt.date) -> "Listing":
        page = Paginator(self.ordered(selected, filters.sort), size or self.per_page or PER_PAGE).get_page(number)
        rows = self.shown(page.object_list, on=on)
        return Listing(self.columns, rows, page.paginator.count, self, filters, on, page, selected)

    def first(self, number: int, *, on: dt.date, **chosen: Any) -> "Listing":
        """The first few rows in the usual order, for another page; what the database orders brings its count along."""
        filters = self.filters_for(**chosen)
        selected = self.select(filters, on=on)
        rows = self.ordered(selected, filters.sort)
        if not isinstance(rows, QuerySet) or rows.query.combinator:
            return self._page(selected, filters, number=1, size=number, on=on)
        found = list(rows.annotate(n_all=Window(Count("*")))[:number])
        paginator = Paginator(rows, number)
        paginator.count = at(found[0], "n_all") if found else 0
        shown = self.shown(found, on=on)
        return Listing(self.columns, shown, paginator.count, self, filters, on, Page(found, 1, paginator), selected)

    def all(self, filters: SimpleNamespace, *, on: dt.date) -> Iterator[tuple[Cell, ...]]:
        """The cells of every row of the list, a few hundred at a time in memory."""
        rows = self.ordered(self.select(filters, on=on), filters.sort)
        found = rows.iterator(chunk_size=CHUNK) if isinstance(rows, QuerySet) else iter(rows)
        while chunk := list(islice(found, CHUNK)):
            yield from (row.cells for row in self.shown(chunk, on=on))


@dataclass(frozen=True, slots=True)
class Listing(Table):
    """One page of a list: what was asked for, and the rows that came of it."""

    of: List
    filters: SimpleNamespace
    on: dt.date
    page: Page[Any]
    selected: Any

    @property
    def narrowed(self) -> bool:
        """Whether a filter narrows the list."""
        return any(one.narrows and getattr(self.filters, one.name) != one.usual for one in self.of.filters)

    @property
    def headings(self) -> tuple[Heading, ...]:
        """The heads of the columns shown: a click turns the sort over, or sorts by another column."""
        return tuple(self._heading(column) for column in self.columns if column.shown)

    def _heading(self, column: Column) -> Heading:
        sort: Sort = self.filters.sort
        mine = column.name == sort.name
        following = str(Sort(column.name, falling=mine and not sort.falling))
        return Heading(column, following, ("descending" if sort.falling else "ascending") if mine else "")


def _order_by(rows: QuerySet[Any], column: Column, tie: Sequence[str], *, falling: bool) -> Iterator[OrderBy]:
    """Nothing comes before something, and after it when falling; or last either way where the column says so.

    Only what may hold nothing says where that stands, so that indexes still serve.
    """
    for place, name in enumerate(dict.fromkeys((*column.order, *tie))):
        path = name.removeprefix("-")
        by, nulls = F(path), _may_be_none(rows, path) or None
        if name.startswith("-") != (falling and place < len(column.order)):
            yield by.desc(nulls_last=nulls)
        elif column.blanks_last and not place:
            yield by.asc(nulls_last=nulls)
        else:
            yield by.asc(nulls_first=nulls)


def _may_be_none(rows: QuerySet[Any], path: str) -> bool:
    """Whether what stands at the end of a path may be nothing."""
    model: Any = rows.model
    for name in path.split("__"):
        if path in rows.query.annotations:
            return True
        field = model._meta.pk if name == "pk" else model._meta.get_field(name)
        if field.null:
            return True
        model = field.related_model
    return False


def _key(pair: tuple[Any, Any]) -> Any:
    return pair[0].casefold() if isinstance(pair[0], str) else pair[0]
