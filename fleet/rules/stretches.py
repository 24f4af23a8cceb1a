"""What terms say of a failure on each day of a unit's life, asked today: stretches of days with one result each."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from fleet.rules.coverage import ANY_OTHER, Reading, next_change
from fleet.rules.dates import DAY, last_day
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Answer, Code, Result
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
    asking = [(kind, name) for kind in holding.terms.kinds for name in _apart(unit, holding.terms, kind)]
    if start_of(unit, holding).day is None:
        found: dict[tuple[str, str], tuple[Stretch, ...]] = dict.fromkeys(asking, ())
    else:
        days = tuple(_days(unit, holding, asked=asked))
        readings = [Reading(unit, holding, on=day, asked=asked) for day in days]
        found = {
            (kind, name): _joined(days, [reading.answer(kind, ANY_OTHER if name == "*" else name) for reading in readings])
            for kind, name in asking
        }
    together: dict[tuple[str, tuple[Stretch, ...]], list[str]] = {}
    for (kind, name), stretches in found.items():
        together.setdefault((kind, stretches), []).append(name)
    return tuple(Course(kind, tuple(names), stretches) for (kind, stretches), names in together.items())


def _apart(unit: Unit, terms: Terms, kind: str) -> list[str]:
    """List what may fare differently: each component named, each that was replaced before, and all others as `*`."""
    replaced = {repair.component for repair in unit.repairs if repair.new_part} if terms.replacement else set()
    names = [*terms.named(kind), *sorted(name for name in replaced if terms.coverage(kind, name) is not None)]
    others = ["*"] if terms.coverage(kind, "*") is not None else []
    return list(dict.fromkeys(names)) + others


def _days(unit: Unit, holding: Holding, *, asked: dt.date) -> Iterator[dt.date]:
    """Give the start and each later day on which an answer may change, up to the end of the last bounded promise."""
    day = start_of(unit, holding).day
    horizon = _horizon(unit, holding, asked=asked)
    while day is not None and day <= horizon:
        yield day
        day = next_change(unit, holding, on=day)


def _horizon(unit: Unit, holding: Holding, *, asked: dt.date) -> dt.date:
    terms, start = holding.terms, start_of(unit, holding).day
    lengths = [(start, tier.length) for coverage in terms.coverages for tier in coverage.tiers]
    if terms.replacement is not None:
        lengths += [(repair.repaired_on, terms.replacement.length) for repair in unit.repairs if repair.new_part]
    lasts = [
        last_day(first, length, counts_first_day=terms.counts_first_day)
        for first, length in lengths
        if first is not None
    ]
    return max([asked, *(last for last in lasts if last is not None)]) + DAY


def _joined(days: tuple[dt.date, ...], answers: list[Answer]) -> tuple[Stretch, ...]:
    """Join neighboring days that get the same into stretches."""
    found: list[Stretch] = []
    for place, (day, answer) in enumerate(zip(days, answers, strict=True)):
        last = days[place + 1] - DAY if place + 1 < len(days) else None
        waiting = any(reason.code is Code.WAITING_DAYS for reason in answer.reasons)
        if found and (found[-1].result, found[-1].waiting) == (answer.result, waiting):
            found[-1] = Stretch(found[-1].first, last, answer.result, waiting)
        else:
            found.append(Stretch(day, last, answer.result, waiting))
    return tuple(found)
