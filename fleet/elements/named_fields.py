"""What a row of a list is of: the columns that name a unit, a site or a customer, and the cell that they make.

Lists ask for columns alone, by their paths from the row, and read them back by the same names.
"""

from collections.abc import Callable
from operator import attrgetter
from typing import Any, NamedTuple

from fleet.elements.lists import Cell, Link, unit_cell


class Named(NamedTuple):
    """The columns to ask for, and how a row that has them is named in a list."""

    fields: tuple[str, ...]
    cell: Callable[[Any], Cell]


def unit(path: str) -> Named:
    """Name the unit at the end of a path from a row."""
    fields = (f"{path}_id", *(f"{path}__{name}" for name in ("serial", "room", "maker", "model")))
    told = attrgetter(*fields)

    def cell(row: Any) -> Cell:
        pk, serial, room, maker, model = told(row)
        return unit_cell(pk, serial=serial, room=room, maker=maker, model=model)

    return Named(fields, cell)


def linked(path: str, to: str) -> Named:
    """Name whatever has a name at the end of a path from a row; `to` is the address that it leads to."""
    fields = (f"{path}_id", f"{path}__name")
    told = attrgetter(*fields)

    def cell(row: Any) -> Cell:
        pk, name = told(row)
        return Cell(name, Link(to, pk))

    return Named(fields, cell)
