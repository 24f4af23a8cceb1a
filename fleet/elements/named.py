"""What a row of a list is of: the columns that name a unit, a site or a customer, by the way to them from a row."""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

from django.db.models import Q
from django.utils import timezone

from fleet import models
from fleet.elements.cells import Cell, Column, Link, at
from fleet.elements.listing import text_in
from fleet.elements.pieces import UnitLink, moment
from fleet.rules.dates import in_words
from fleet.rules.starts import Start
from fleet.rules.wording.names import DATES


def unit(path: str, name: str = "serial", title: str = "Unit", *, sorts: bool = True) -> Column:
    """The column of the unit at the end of a path from a row: its serial, or its room while the label cannot be read."""
    way = path.replace("__", ".")
    return Column(name, title, "serial", lambda row: unit_cell(at(row, way)), (f"{path}__serial_key",) if sorts else ())


def unit_cell(unit: models.Unit) -> Cell:
    """A unit in a list."""
    shape = "" if unit.serial else "text"
    return Cell(unit.serial or unit.room, Link("unit", unit.pk), f"{unit.maker} {unit.model}", shape)


def site(path: str, to: str = "site", *, sorts: bool = True) -> Column:
    """The column of the site at the end of a path from a row; `to` is the address that it leads to."""
    return Column("site", "Site", value=_linked(path, to), order=(f"{path}__name",) if sorts else ())


def customer(path: str, *, sorts: bool = True, with_phone: bool = False) -> Column:
    """The column of the customer at the end of a path from a row; below the name what tells it from others of that name.

    With the phone beside that, where it is wanted.
    """
    value = _linked(path, "customer", "apart", *(["phone"] if with_phone else []))
    return Column("customer", "Customer", value=value, order=(f"{path}__name",) if sorts else ())


def _linked(path: str, to: str, *notes: str) -> Callable[[Any], Cell]:
    way = path.replace("__", ".")

    def cell(row: Any) -> Cell:
        thing = at(row, way)
        return Cell(thing.name, Link(to, thing.pk), ", ".join(filter(None, (getattr(thing, note) for note in notes))))

    return cell


def text_of_unit(
    path: str, *more: str, site: str = "", keys: tuple[str, ...] = ("serial", "model")
) -> Callable[[str], Q]:
    """Some text is part of a unit's serial or model, of its site's or customer's name, or of any of `more`."""
    site = site or f"{path}__system__site"
    return text_in(f"{site}__name", f"{site}__customer__name", *more, keys=[f"{path}__{key}_key" for key in keys])


def local(at: dt.datetime | None) -> dt.datetime | None:
    """A moment in the company's time."""
    return at and at.astimezone(timezone.get_current_timezone())


def local_day(at: dt.datetime) -> dt.date:
    """The day of a moment, in the company's time."""
    return at.astimezone(timezone.get_current_timezone()).date()


def local_moment(at: dt.datetime | None) -> str:
    """A moment in the company's time, as a sentence has it; blank where there is none."""
    return moment(local(at))


_NUMBERS = re.compile(r"(\d+)")


def what(row: models.Unit) -> str:
    """What a unit is, in words.

    >>> what(models.Unit(role="head", style="wall")), what(models.Unit(role="outdoor"))
    ('wall head', 'outdoor unit')
    """
    named = f"{row.role} unit" if row.role in ("outdoor", "other") else row.role
    return f"{row.style} {named}" if row.style else named


def as_it_stands(row: models.Unit) -> tuple[bool, bool, list[tuple[int, str]]]:
    """Order a system's units: what is in service before what is gone, the outdoor unit first, Room 9 before Room 10."""
    parts = [(int(part), "") if part.isdecimal() else (-1, part.casefold()) for part in _NUMBERS.split(row.room)]
    return row.removed_on is not None, row.role != "outdoor", parts


def gone(row: models.Unit) -> str:
    """When and how a unit went, in words; blank where it has not."""
    if row.removed_on is None:
        return ""
    return f"{'exchanged' if row.removal_reason == 'exchanged' else 'taken out'} on {in_words(row.removed_on)}"


def link(row: models.Unit, *, here: bool = False) -> UnitLink:
    """A unit as a link."""
    return UnitLink(row.pk, what(row), row.room, f"{row.maker} {row.model}", row.serial, here, gone(row))


def address(site: models.Site) -> str:
    """Write a site's address on one line; of the region's code, what people write on an envelope."""
    return ", ".join(filter(None, (site.street, last_line(site))))


def last_line(site: models.Site) -> str:
    """The last line of a site's address: city, state and ZIP code."""
    place = " ".join(filter(None, (site.region.split("-")[-1], site.postcode)))
    return ", ".join(filter(None, (site.city, place)))


def start_words(start: Start) -> str:
    """When terms start and by which date, or which date is not on file, in a sentence."""
    if start.day is None:
        return f"The start is not known: {DATES[start.wanted]} is not on file."
    if start.assumed:
        return f"Starts {in_words(start.day)}, assumed from {DATES[start.by]}."
    return f"Starts {in_words(start.day)}, {DATES[start.by]}."
