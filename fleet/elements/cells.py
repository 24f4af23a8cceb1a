"""The cells of a table, on screen and in files: columns, rows, and what a value looks like."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from fleet.elements.formats import Value, written


class Link(NamedTuple):
    """Where a cell leads: the name of an address, the key of the thing there (None: a list), and what is asked of a list, with its `?`."""

    name: str
    pk: int | None = None
    query: str = ""


class Cell(NamedTuple):
    """One value, where it leads, and a second quieter line below it that files leave out.

    `shape` is said only where it is not the column's: a room in place of a serial. `said` is what the screen says in
    place of a word that files keep.
    """

    value: Value
    to: Link | None = None
    note: str = ""
    shape: str = ""
    said: str = ""

    @property
    def is_blank(self) -> bool:
        """Whether nothing stands there."""
        return (self.value is None or self.value == "") and not self.said


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name in addresses and files, its title on screen, and the shape of its values.

    `shape` is text, number, day, month, moment, money, serial, payer or state, or a word: text that says by itself what it
    is, so that a phone leaves its title out. `value` is what a row has there: the path of an attribute (blank: the column's
    name), or a function of the row that returns a value or a cell. `order` is what rows can be ordered by, blank if they
    cannot; what has nothing there may stand last either way (`blanks_last`). A column of files alone is not `shown`.
    """

    name: str
    title: str
    shape: str = "text"
    value: str | Callable[[Any], "Value | Cell"] = ""
    order: tuple[str, ...] = ()
    blanks_last: bool = False
    shown: bool = True

    def cell(self, row: Any) -> Cell:
        """The cell of a row."""
        found = self.value(row) if callable(self.value) else at(row, self.value or self.name)
        return found if isinstance(found, Cell) else Cell(found)


class Row(NamedTuple):
    """The cells of one row, and what it is a row of."""

    cells: tuple[Cell, ...]
    of: Any = None


class Shown(NamedTuple):
    """A cell as the screen shows it: under its column's title, written in its shape; `to` is the name of the address it leads to."""

    title: str
    shape: str
    words: str
    is_blank: bool
    to: str
    pk: int | None
    query: str
    note: str


def _shown(column: Column, cell: Cell) -> Shown:
    shape, to = cell.shape or column.shape, cell.to or Link("")
    return Shown(column.title, shape, cell.said or written(cell.value, shape), cell.is_blank, *to, cell.note)


@dataclass(frozen=True, slots=True)
class Line:
    """A row as the screen shows it."""

    cells: tuple[Shown, ...]
    of: Any = None


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and rows, with how many rows there are in all."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    count: int

    @property
    def shown(self) -> tuple[Column, ...]:
        """The columns that the screen shows."""
        return tuple(column for column in self.columns if column.shown)

    def without(self, *names: str) -> "Table":
        """The same without some columns."""
        places = [place for place, column in enumerate(self.columns) if column.name not in names]
        return Table(
            tuple(self.columns[place] for place in places),
            tuple(Row(tuple(row.cells[place] for place in places), row.of) for row in self.rows),
            self.count,
        )

    @property
    def lines(self) -> tuple[Line, ...]:
        """The rows as the screen shows them."""
        return tuple(
            Line(
                tuple(
                    _shown(column, cell) for column, cell in zip(self.columns, row.cells, strict=True) if column.shown
                ),
                row.of,
            )
            for row in self.rows
        )


def at(row: Any, path: str) -> Any:
    """What stands at the end of a path of names from a row; nothing where the way there ends.

    >>> at({"units": 3}, "units"), at(Link("unit", 7), "name.title.__name__"), at({"supplier": None}, "supplier.name")
    (3, 'title', None)
    """
    for name in path.split("."):
        if row is None:
            return None
        row = row[name] if isinstance(row, Mapping) else getattr(row, name)
    return row
