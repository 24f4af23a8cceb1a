"""What a row of a list is of: the columns that name a unit, a site or a customer, and the cell that they make.

Lists ask for columns alone, by their paths from the row, and read them back by the same names.
"""

import re
from collections.abc import Callable
from operator import attrgetter
from typing import Any, NamedTuple

from fleet import models
from fleet.elements.lists import Cell, Link, unit_cell
from fleet.elements.pieces import UnitLink
from fleet.rules.dates import in_words
from fleet.rules.starts import Start
from fleet.rules.wording.names import DATES


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


_NUMBERS = re.compile(r"(\d+)")


def what(row: models.Unit) -> str:
    """Say what a unit is.

    >>> what(models.Unit(role="head", style="wall")), what(models.Unit(role="outdoor"))
    ('wall head', 'outdoor unit')
    """
    named = f"{row.role} unit" if row.role in ("outdoor", "other") else row.role
    return f"{row.style} {named}" if row.style else named


def as_it_stands(row: models.Unit) -> tuple[bool, bool, list[tuple[int, str]]]:
    """Order a system's units: what is in service before what is gone, the outdoor unit first, Room 9 before Room 10."""
    parts = [(int(part), "") if part.isdecimal() else (-1, part.casefold()) for part in _NUMBERS.split(row.room)]
    return row.gone_on is not None, row.role != "outdoor", parts


def gone(row: models.Unit) -> str:
    """Say when and how a unit went, blank where it has not."""
    if row.gone_on is None:
        return ""
    return f"{'exchanged' if row.gone_how == 'exchanged' else 'taken out'} on {in_words(row.gone_on)}"


def link(row: models.Unit, *, here: bool = False) -> UnitLink:
    """Give a unit as a link."""
    return UnitLink(row.pk, what(row), row.room, f"{row.maker} {row.model}", row.serial, here, gone(row))


def address(site: models.Site) -> str:
    """Write a site's address on one line; of the region's code, what people write on an envelope."""
    place = " ".join(filter(None, (site.region.split("-")[-1], site.postcode)))
    return ", ".join(filter(None, (site.street, site.city, place)))


def start_words(start: Start) -> str:
    """Say when terms start and by which date, or which date is not on file."""
    if start.day is None:
        return f"The start is not known: {DATES[start.wanted]} is not on file."
    if start.assumed:
        return f"Starts {in_words(start.day)}, assumed from {DATES[start.by]}."
    return f"Starts {in_words(start.day)}, {DATES[start.by]}."
