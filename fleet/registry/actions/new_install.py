"""Taking a new install from the screen: the same rows and the same way as those of a file."""

import datetime as dt
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from fleet import models
from fleet.loading import installs
from fleet.loading.fact_columns import columns_of
from fleet.models.facts import facts_of
from fleet.refusals import Refused
from fleet.registry.pages.new_install import Told
from fleet.sheets import BadFile, Problem
from fleet.sheets.columns import ParseError

# The first row of given rows is numbered as in a file, whose header is row 1.
_FIRST_ROW = 2


@dataclass(frozen=True, slots=True)
class Saved:
    """The system that the units were put in, how many of them are new, how many were on file, and the load of what is new."""

    system: int
    added: int
    on_file: int
    load: int | None = None


def save(told: Told, *, by: models.User | None, on: dt.date) -> Saved:
    """Take an install whole, or raise Refused and change nothing."""
    with _told_of(told):
        taken = installs.load_system(list(told.rows()), by=by, on=on, owner=told.owner)
    added = taken.report.added
    return Saved(taken.system, added, len(told.units) - added, taken.load)


def wrong_days(cells: Mapping[str, str], *, on: dt.date) -> tuple[str, ...]:
    """What `save` would refuse of the days of an install alone, in sentences that name each; blank ones are no fault here."""
    columns, facts = columns_of(models.Unit, last=on), facts_of(models.Unit)
    found = []
    for name, text in cells.items():
        if name in facts and name.endswith("_on") and text:
            try:
                columns[name].plain(text)
            except ParseError as expected:
                found.append(f"{facts[name].label}: enter {expected}.")
    return tuple(found)


def refusal(told: Told, *, by: models.User | None, on: dt.date) -> Refused | None:
    """What `save` would refuse, if anything; nothing is taken."""
    try:
        with _told_of(told):
            installs.load_system(list(told.rows()), by=by, on=on, owner=told.owner, check=True)
    except Refused as refused:
        return refused
    return None


@contextmanager
def _told_of(told: Told) -> Iterator[None]:
    """A context that raises what is wrong again in the words and the places of the form."""
    if not told.units:
        raise Refused("Enter at least one unit: manufacturer, model, and a serial or room.")
    try:
        yield
    except BadFile as refused:
        faults: dict[str, str] = {}
        for field, text in (_fault(problem, told) for problem in refused.problems):
            faults[field] = "\n".join(dict.fromkeys([*faults.get(field, "").splitlines(), text]))
        raise Refused(faults) from refused


def _fault(problem: Problem, told: Told) -> tuple[str, str]:
    """At which fact something is wrong, that of a unit by the number of its row as `unit-0-serial`, and what."""
    place = problem.row - _FIRST_ROW
    units = list(told.units)
    wanted = problem.wanted.partition(" (--correct")[0]
    if problem.column == "region":
        text = "Enter a state by its name or its letters, such as Maine or ME."
    elif wanted == "a value":
        text = "Fill this in."
    elif " as on file, not " in wanted:
        text = f"Enter {wanted}. Correct what is on file on its own page."
    else:
        text = f"Enter {wanted}."
    if problem.column in told.system or not 0 <= place < len(units):
        return problem.column if problem.column in told.system else "", text
    return f"unit-{units[place]}-{problem.column}", text
