"""How far a promise reaches, seen from a day: what is certain told apart from what is possible, and what that hangs on."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from fleet.rules.coverage import ANY_OTHER, Reading
from fleet.rules.dates import DAY
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Code, Reason, Result
from fleet.rules.stretches import Course, Stretch

# The last day of what is promised for the life of the unit.
FOREVER = dt.date.max
_PROMISED = (Result.COVERED, Result.COVERED_IF)


@dataclass(frozen=True, slots=True)
class Reach:
    """How far one promise reaches for one kind of cost, seen from a day; `result` is what a failure on that day gets.

    Covered: `certain` is the last day of the unbroken certain run that has the day, `possible` where more may follow.
    Covered if: `possible` is the last day of the run, `certain` the last certain day before it, if there was one.
    Not covered: with `begins` the days are those of the run that begins then; without, they are over.
    `hangs_on` says what the possible days hang on. A last day of `FOREVER` is no last day.
    """

    result: Result
    certain: dt.date | None = None
    possible: dt.date | None = None
    begins: dt.date | None = None
    hangs_on: tuple[Reason, ...] = ()

    @property
    def furthest(self) -> dt.date:
        """The last day, certain or possible; the first of all days where nothing was ever promised."""
        return max(self.certain or dt.date.min, self.possible or dt.date.min)

    @property
    def is_running(self) -> bool:
        """Whether it pays or may pay on the day, or from a later one."""
        return self.result in _PROMISED or self.begins is not None


def seen(stretches: Sequence[Stretch], *, on: dt.date) -> Reach:
    """How far some stretches reach, seen from a day; what the possible days hang on is left out."""
    if not stretches:
        return Reach(Result.CANNOT_SAY)
    promised = [one for one in stretches if one.result in _PROMISED]
    running = [one for one in promised if _last(one) >= on]
    before = [one for one in promised if one not in running]
    if not running:
        return _days(Result.NOT_COVERED, _certain(before), promised[-1:])
    run = _unbroken(running)
    if run[0].first > on:
        return replace(_days(Result.NOT_COVERED, _certain(run[:1]), run), begins=run[0].first)
    certain = _last(run[0]) if run[0].result is Result.COVERED else _certain(before)
    return _days(run[0].result, certain, run)


def reach(unit: Unit, holding: Holding, course: Course, *, on: dt.date, asked: dt.date) -> Reach:
    """How far a course of a holding reaches, seen from a day, as everything stands on the day of asking."""
    found = seen(course.stretches, on=on)
    if found.possible is None:
        return found
    # Of a run without a last day, its first day is asked about: no later one needs less.
    day = course.stretches[-1].first if found.possible == FOREVER else found.possible
    component = ANY_OTHER if course.components[0] == "*" else course.components[0]
    answer = Reading(unit, holding, on=day, asked=asked).answer(course.kind, component)
    # That a start is assumed bears on the certain days as well, and is said apart.
    return replace(found, hangs_on=tuple(need for need in answer.needs if need.code is not Code.START_ASSUMED))


def _days(result: Result, certain: dt.date | None, run: Sequence[Stretch]) -> Reach:
    """The certain day, and the last day of the run where that is later."""
    last = _last(run[-1]) if run else None
    return Reach(result, certain, last if last and (certain is None or last > certain) else None)


def _certain(stretches: Iterable[Stretch]) -> dt.date | None:
    return max((_last(one) for one in stretches if one.result is Result.COVERED), default=None)


def _last(stretch: Stretch) -> dt.date:
    return stretch.last or FOREVER


def _unbroken(stretches: Sequence[Stretch]) -> list[Stretch]:
    """The stretches that follow on the first without a day between, up to where what is possible is certain again."""
    run = [stretches[0]]
    for before, after in pairwise(stretches):
        if before.last is None or after.first != before.last + DAY or after.result is Result.COVERED:
            break
        run.append(after)
    return run


def course_of(courses: Iterable[Course], kind: str, component: str) -> Course | None:
    """The course of a component for a kind of cost: one that names it, else the one of all others."""
    of_kind = [course for course in courses if course.kind == kind]
    named = next((course for course in of_kind if component in course.components), None)
    return named or next((course for course in of_kind if "*" in course.components), None)
