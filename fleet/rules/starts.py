"""The day a term starts, by the bases that the terms list in order, and which of them had to be assumed."""

import datetime as dt
from dataclasses import dataclass

from fleet.rules.dates import add_months
from fleet.rules.facts import Holding, Unit
from fleet.rules.terms import Addend, Basis


@dataclass(frozen=True, slots=True)
class Start:
    """The day a term starts (None: unknown), the date it was found by, whether it is assumed, and the date that would prove it."""

    day: dt.date | None
    by: str
    assumed: bool
    wanted: str


def date_of(name: str, unit: Unit, holding: Holding | None) -> dt.date | None:
    """A date on file by the terms' name for it; a house's closing is that of the site where the unit was put in."""
    if name == "closed_on":
        return unit.first_site.closed_on
    if name == "attached_on":
        return None if holding is None else holding.attached_on
    found: dt.date | None = getattr(unit, name)
    return found


def start_of(unit: Unit, holding: Holding) -> Start:
    """Find the start: the first basis whose date is known wins; among several dates of one basis, the earliest known."""
    wanted = ""
    for basis in holding.terms.starts:
        if basis.new_house_only and unit.first_site.new_construction is not True:
            continue
        wanted = wanted or basis.dates[0].date
        found = _earliest(basis, unit, holding)
        if found is not None:
            return Start(found[0], found[1], basis.assumed, wanted)
    return Start(None, "", assumed=False, wanted=wanted or holding.terms.starts[0].dates[0].date)


def _earliest(basis: Basis, unit: Unit, holding: Holding) -> tuple[dt.date, str] | None:
    known = [(_add(day, addend), addend.date) for addend in basis.dates if (day := date_of(addend.date, unit, holding))]
    return min(known) if known else None


def _add(day: dt.date, addend: Addend) -> dt.date:
    if addend.plus_months:
        return add_months(day, addend.plus_months)
    return day + dt.timedelta(days=addend.plus_days)
