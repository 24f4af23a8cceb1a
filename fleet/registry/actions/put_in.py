"""Taking a new install from the screen: the same rows and the same way as those of a file."""

import datetime as dt
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from fleet import models
from fleet.loading import installs
from fleet.registry.pages.put_in import Told
from fleet.sheets import Problem

# The first row of given rows is numbered as in a file, whose header is row 1.
_FIRST_ROW = 2


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong: in which unit of the form (None: what holds for all of it), in which field (blank: none), and why."""

    unit: int | None
    field: str
    text: str


class Refused(ValueError):
    """An install that was not taken; nothing was changed."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(dict.fromkeys(faults))
        super().__init__("; ".join(f"{fault.field}: {fault.text}" for fault in self.faults))


@dataclass(frozen=True, slots=True)
class Saved:
    """The system that the units were put in, how many of them are new, and how many were on file."""

    system: int
    added: int
    on_file: int


def save(told: Told, *, by: models.User | None, on: dt.date) -> Saved:
    """Take an install whole, or raise Refused and change nothing."""
    with _told_of(told):
        taken = installs.load_system(list(told.rows()), by=by, on=on)
    added = taken.report.added
    return Saved(taken.system, added, len(told.units) - added)


def faults(told: Told, *, by: models.User | None, on: dt.date) -> tuple[Fault, ...]:
    """Say what `save` would refuse, taking nothing."""
    try:
        with _told_of(told):
            installs.load_rows(list(told.rows()), by=by, on=on, check=True)
    except Refused as refused:
        return refused.faults
    return ()


@contextmanager
def _told_of(told: Told) -> Iterator[None]:
    """Tell what is wrong in the words and the places of the form."""
    if not told.units:
        raise Refused([Fault(None, "", "No unit yet: write its maker, model, and serial or room in a row.")])
    try:
        yield
    except installs.Refused as refused:
        raise Refused(_fault(problem, told) for problem in refused.problems) from refused


def _fault(problem: Problem, told: Told) -> Fault:
    place = problem.row - _FIRST_ROW
    units = list(told.units)
    wanted = problem.wanted.partition(" (--correct")[0]
    if wanted == "a value":
        text = "This is needed."
    elif " as on file, not " in wanted:
        text = f"Wanted: {wanted}. What is on file is put right on its own page."
    else:
        text = f"Wanted: {wanted}."
    if problem.column in told.system or not 0 <= place < len(units):
        return Fault(None, problem.column if problem.column in told.system else "", text)
    return Fault(units[place], problem.column, text)
