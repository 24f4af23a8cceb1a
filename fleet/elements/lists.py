"""Lists as every screen shows them: columns, rows of cells, what was asked for, and how many there are."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.elements import cells
from fleet.elements.cells import Cell as Cell
from fleet.elements.cells import Link as Link
from fleet.elements.cells import Value

PER_PAGE = 50


@dataclass(frozen=True, slots=True)
class Column(cells.Column):
    """A column that says whether it sorts."""

    sorts: bool = False


Row = tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Sort:
    """By which column, and which way."""

    name: str
    falling: bool = False

    def __str__(self) -> str:
        return f"-{self.name}" if self.falling else self.name


def sort_of(text: str, columns: Sequence[Column], *, otherwise: str) -> Sort:
    """Read a sort as an address writes it (`-name`: falling); one that no column has is the usual one.

    >>> str(sort_of("-last_day", (Column("last_day", "Last day", sorts=True),), otherwise="last_day"))
    '-last_day'
    """
    known = {column.name for column in columns if column.sorts}
    text = text if text.removeprefix("-") in known else otherwise
    return Sort(text.removeprefix("-"), text.startswith("-"))


def in_order(rows: Sequence[Row], columns: Sequence[Column], sort: Sort) -> list[Row]:
    """Sort rows that are all at hand by one column's values; what is blank comes last either way."""
    place = [column.name for column in columns].index(sort.name)
    told = [row for row in rows if row[place].value not in (None, "")]
    told.sort(key=lambda row: _key(row[place].value), reverse=sort.falling)
    return told + [row for row in rows if row[place].value in (None, "")]


def _key(value: Value) -> tuple[str, Value]:
    return (value.casefold(), "") if isinstance(value, str) else ("", value)


def within(number: int, count: int) -> int:
    """Give the page asked for, or the last one there is."""
    return min(number, last_number(count))


def last_number(count: int) -> int:
    """Give the number of pages of a list, at least one."""
    return max(1, math.ceil(count / PER_PAGE))


Line = tuple[tuple[Column, Cell, str], ...]


def shown_of(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Give the columns that the screen shows."""
    return tuple(column for column in columns if column.shown)


def lines_of(columns: tuple[Column, ...], rows: Sequence[Row]) -> tuple[Line, ...]:
    """Give each row's cells beside their columns and shapes, as the screen shows them."""
    return tuple(
        tuple(
            [
                (column, cell, cell.shape or column.shape)
                for column, cell in zip(columns, row, strict=True)
                if column.shown
            ]
        )
        for row in rows
    )


@dataclass(frozen=True, slots=True)
class Heading:
    """A column's head: what a click on it asks for next, and how it is sorted now (blank: it is not)."""

    column: Column
    next: str
    sorted: str


@dataclass(frozen=True, slots=True)
class Listing:
    """One page of a list, with how many rows there are in all, or that there are `more` than were counted."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    count: int
    sort: Sort
    number: int = 1
    more: bool = False

    @classmethod
    def cut(cls, columns: tuple[Column, ...], rows: Sequence[Row], sort: Sort, number: int) -> "Listing":
        """Show one page of rows that are all at hand, unsorted."""
        ordered = in_order(rows, columns, sort)
        number = within(number, len(ordered))
        first = (number - 1) * PER_PAGE
        return cls(columns, tuple(ordered[first : first + PER_PAGE]), len(ordered), sort, number)

    @property
    def shown(self) -> tuple[Column, ...]:
        """The columns that the screen shows."""
        return shown_of(self.columns)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Each row's cells beside their columns and shapes, as the screen shows them."""
        return lines_of(self.columns, self.rows)

    @property
    def headings(self) -> tuple[Heading, ...]:
        """The heads of the columns shown: a click turns the sort over, or sorts by another column."""
        return tuple(self._heading(column) for column in self.shown)

    def _heading(self, column: Column) -> Heading:
        mine = column.name == self.sort.name
        following = str(Sort(column.name, falling=mine and not self.sort.falling))
        return Heading(column, following, ("descending" if self.sort.falling else "ascending") if mine else "")

    @property
    def last_number(self) -> int:
        """How many pages there are of what was counted, at least one."""
        return last_number(self.count)

    @property
    def first(self) -> int:
        """The place of the first row shown in the whole list."""
        return (self.number - 1) * PER_PAGE + 1

    @property
    def last(self) -> int:
        """The place of the last row shown in the whole list."""
        return self.first + len(self.rows) - 1

    @property
    def before(self) -> int | None:
        """The number of the page before this one."""
        return self.number - 1 if self.number > 1 else None

    @property
    def after(self) -> int | None:
        """The number of the page after this one."""
        return self.number + 1 if self.more or self.number < self.last_number else None


def unit_cell(pk: int, *, serial: str, room: str, maker: str, model: str) -> Cell:
    """Name a unit in a list: by its serial, or its room while the label cannot be read."""
    return Cell(serial or room, Link("unit", pk), f"{maker} {model}", "" if serial else "text")
