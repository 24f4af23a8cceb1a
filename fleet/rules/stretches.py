"""What terms say of a failure on each day of a unit's life, asked today: stretches of days with one result each."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.rules.conditions import complete_years
from fleet.rules.coverage import ANY_OTHER, Reading
from fleet.rules.dates import DAY, add_months
from fleet.rules.days_of_change import asks_yearly, changes, last_days
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Result
from fleet.rules.starts import start_of
from fleet.rules.terms import Terms


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of days on which a failure gets one result; no last day: it never changes again. `waiting`: in waiting days."""

    first: dt.date
    last: dt.date | None
    result: Result
    waiting: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """What one holding says over time for one kind of cost and the components that fare alike; `*`: all not named.

    Without stretches nothing can be said of any day, since the start is unknown.
    """

    kind: str
    components: tuple[str, ...]
    stretches: tuple[Stretch, ...]


def courses(unit: Unit, holding: Holding, *, asked: dt.date) -> tuple[Course, ...]:
    """Work out, for each kind of cost and each component that the terms name, what a failure on any day gets, asked today.

    Past days are judged as past days: a unit whose house was sold last year was covered the year before.
    """
    known = start_of(unit, holding).day is not None
    days = _days(unit, holding, asked=asked) if known else ()
    readings = [Reading(unit, holding, on=day, asked=asked) for day in days]
    together: dict[tuple[str, tuple[Stretch, ...]], list[str]] = {}
    for kind in holding.terms.kinds:
        for names in _alike(unit, holding.terms, kind):
            asking = ANY_OTHER if names[0] == "*" else names[0]
            stretches = _joined(days, [reading.outcome(kind, asking) for reading in readings])
            together.setdefault((kind, stretches), []).extend(names)
    return tuple(Course(kind, tuple(names), stretches) for (kind, stretches), names in together.items())


def _alike(unit: Unit, terms: Terms, kind: str) -> list[list[str]]:
    """List what surely fares alike: the components of one coverage, but for each that was replaced before; all others as `*`, last."""
    replaced = {repair.component for repair in unit.repairs if repair.new_part} if terms.replacement else set()
    by_coverage = [
        [name for name in coverage.components if name not in replaced]
        for coverage in terms.coverages
        if kind in coverage.pays_for
    ]
    alone = [[name] for name in sorted(replaced) if terms.coverage(kind, name) is not None]
    return sorted((names for names in [*by_coverage, *alone] if names), key=lambda names: names[0] == "*")


def _days(unit: Unit, holding: Holding, *, asked: dt.date) -> tuple[dt.date, ...]:
    """List the start and each later day on which an answer may change, up to the end of the last bounded promise."""
    start = start_of(unit, holding).day
    assert start is not None
    lasts = last_days(unit, holding)
    # No fact is later than the day of asking. Two anniversaries after the latest of start, asking and maintenance, a term
    # that asks for it yearly has its first gap; after that nothing changes but by a last day.
    latest = max(asked, start, *unit.maintained_on[-1:])
    horizon = max([add_months(latest, 24), *lasts]) + DAY
    found = {start} | changes(unit, holding, lasts)
    if asks_yearly(holding.terms):
        found |= {after for _, after in complete_years(start, horizon)}
    return tuple(sorted(day for day in found if start <= day <= horizon))


def _joined(days: Sequence[dt.date], outcomes: Sequence[tuple[Result, bool]]) -> tuple[Stretch, ...]:
    """Join neighboring days that get the same into stretches."""
    found: list[Stretch] = []
    for place, (day, (result, waiting)) in enumerate(zip(days, outcomes, strict=True)):
        last = days[place + 1] - DAY if place + 1 < len(days) else None
        if found and (found[-1].result, found[-1].waiting) == (result, waiting):
            found[-1] = Stretch(found[-1].first, last, result, waiting)
        else:
            found.append(Stretch(day, last, result, waiting))
    return tuple(found)


# The best that several promises say of one day: certain before possible before unclear before waiting before nothing.
_BETTER = {Result.COVERED: 0, Result.COVERED_IF: 1, Result.CANNOT_SAY: 2, Result.NOT_COVERED: 4}


def best_of(several: Sequence[Sequence[Stretch]]) -> tuple[Stretch, ...]:
    """The stretches of several promises as one: of each day what the best of them says; days of none are in none.

    >>> early, late = dt.date(2024, 1, 1), dt.date(2026, 1, 1)
    >>> best_of([[Stretch(early, late, Result.COVERED)], [Stretch(late, None, Result.COVERED_IF)]])[1].first
    datetime.date(2026, 1, 2)
    """
    all_of = [one for stretches in several for one in stretches]
    days = sorted({one.first for one in all_of} | {one.last + DAY for one in all_of if one.last is not None})
    found: list[Stretch] = []
    for place, day in enumerate(days):
        there = [one for one in all_of if one.first <= day and (one.last is None or day <= one.last)]
        if not there:
            continue
        best = min(there, key=_worse)
        last = days[place + 1] - DAY if place + 1 < len(days) else None
        before = found[-1] if found else None
        goes_on = before is not None and before.last == day - DAY
        if before is not None and goes_on and (before.result, before.waiting) == (best.result, best.waiting):
            found[-1] = Stretch(before.first, last, best.result, best.waiting)
        else:
            found.append(Stretch(day, last, best.result, best.waiting))
    return tuple(found)


def _worse(stretch: Stretch) -> int:
    return 3 if stretch.waiting else _BETTER[stretch.result]
