"""The dues of a system's units: which task is next, when, for which head, drain line, outdoor unit or whole system.

1. A task is for things: each unit of its role, each drain line, or the system. Each is told the days it was done, the skips
   and the dirt seen.
2. The days done are replayed to the anchor, the day that the next due is counted from.
3. From the anchor follows the due: so many months on, sooner in hard surroundings, moved into a month the task prefers, or
   sooner still because of dirt that was graded.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from fleet.rules.caresheet import CareSheet, Task
from fleet.rules.dates import AT_HAND, DAY, add_months

DONE, SKIPPED = "done", "skipped"
# How many days after a grading the work is due: some dirt can wait a month, a blocked part cannot wait.
GRADED_DAYS = {2: 30, 3: 0}


class State(StrEnum):
    """Where a due stands on a day."""

    WAITING = "waiting"
    NO_RECORD = "no record"
    AHEAD = "ahead"
    DUE = "due"
    LATE = "late"


@dataclass(frozen=True, slots=True)
class Idle:
    """Out of use from a day on, and back in use on a later one (None: still idle)."""

    first: dt.date
    back: dt.date | None = None


@dataclass(frozen=True, slots=True)
class CareUnit:
    """One unit of a system as its care sees it.

    `came_on` is the day it came in exchange under warranty, `took_over` the keys of the units it then took over from: its
    start is theirs. `joined_on` and `left_on` are the days it came into this system (None: put in here) and left it.
    """

    key: str
    serial: str = ""
    role: str = "head"
    style: str = ""
    drain: str = ""
    surroundings: frozenset[str] = frozenset()
    access: str = ""
    started_on: dt.date | None = None
    installed_on: dt.date | None = None
    came_on: dt.date | None = None
    took_over: tuple[str, ...] = ()
    joined_on: dt.date | None = None
    left_on: dt.date | None = None
    idle: tuple[Idle, ...] = ()

    @property
    def start(self) -> dt.date | None:
        """The day it was started, else installed."""
        return self.started_on or self.installed_on

    def belongs(self, on: dt.date) -> bool:
        """Whether it is one of the system's units on a day, idle or not; the day of coming counts, the day of leaving does not."""
        came = (self.joined_on is None or self.joined_on <= on) and (self.came_on is None or self.came_on <= on)
        return came and (self.left_on is None or on < self.left_on)

    def in_service(self, on: dt.date) -> bool:
        """Whether it belongs to the system and is in use on a day."""
        if not self.belongs(on):
            return False
        return not any(idle.first <= on and (idle.back is None or on < idle.back) for idle in self.idle)

    def anew_on(self, on: dt.date) -> dt.date | None:
        """The latest day by then on which it came in exchange or came back into use: its dues start anew there."""
        if self.came_on is None and not self.idle:
            return None
        days = [self.came_on, *(idle.back for idle in self.idle)]
        return max((day for day in days if day is not None and day <= on), default=None)


@dataclass(frozen=True, slots=True)
class Record:
    """What was written about one unit on a day: a task done or skipped (or neither), and the dirt seen (0 clean to 3 blocked).

    `technician` says that it names one: whose work it was, where its task does not say.
    """

    unit: str
    day: dt.date
    task: str = ""
    what: str = DONE
    dirt_wheel: int | None = None
    dirt_coil: int | None = None
    not_before: dt.date | None = None
    technician: bool = False


@dataclass(frozen=True, slots=True)
class System:
    """Units that work together, those that have left it included, and everything written about them."""

    units: tuple[CareUnit, ...]
    records: tuple[Record, ...] = ()
    key: str = ""


class Window(NamedTuple):
    """When a task is due, from when it may be done, and until when it is not late; `graded`: because of the dirt seen."""

    due_on: dt.date
    opens_on: dt.date
    late_after: dt.date
    graded: bool = False


@dataclass(frozen=True, slots=True)
class Due:
    """The day one task should happen next for one thing, which stands under its first unit.

    `units` has every unit in service that the thing is made of. `anchor` is the day the due was counted from and `times` the
    factor that shortened it: what is needed to count on from here.
    """

    system: str
    unit: str
    serial: str
    task: Task
    last_done: dt.date | None
    window: Window
    not_before: dt.date | None
    price: Decimal
    access: str = ""
    units: tuple[str, ...] = ()
    anchor: dt.date | None = None
    times: Decimal | None = None

    @property
    def due_on(self) -> dt.date:
        """The day it should happen."""
        return self.window.due_on

    @property
    def opens_on(self) -> dt.date:
        """The first day on which it may be done."""
        return self.window.opens_on

    @property
    def late_after(self) -> dt.date:
        """The last day on which it is not late."""
        return self.window.late_after

    def state(self, on: dt.date) -> State:
        """Say where it stands on a day."""
        return state_of(self.task, self.window, self.last_done, self.not_before, on=on)

    def after(self, day: dt.date) -> "Due":
        """Give the due that follows once the task was done on a day."""
        anchor = met(self.task, self.window, day, before=self.last_done, anchor=self.anchor)
        return replace(
            self,
            last_done=day,
            anchor=anchor,
            window=counted(self.task, anchor, self.times),
            not_before=None,
        )


def state_of(
    task: Task, window: Window, last_done: dt.date | None, not_before: dt.date | None, *, on: dt.date
) -> State:
    """Say where a due stands on a day: the first of these that fits."""
    if not_before is not None and on < not_before:
        return State.WAITING
    if task.by == "owner" and (last_done is None or add_months(last_done, 2 * task.every_months) < on):
        return State.NO_RECORD
    if on < window.opens_on:
        return State.AHEAD
    return State.DUE if on <= window.late_after else State.LATE


def long_ago(task: Task, *, on: dt.date) -> dt.date:
    """Give the latest day on which an owner's task, last done then, counts as never recorded: two intervals are past."""
    months = 2 * task.every_months
    day = add_months(on, -months)
    while add_months(day, months) >= on:
        day -= DAY
    while add_months(day + DAY, months) < on:
        day += DAY
    return day


@dataclass(frozen=True, slots=True)
class Wanted:
    """A fact that is missing, so that a unit's dues cannot be known: `start` or `style`."""

    unit: str
    serial: str
    what: str


@dataclass(frozen=True, slots=True)
class Care:
    """What a system's units are due, in the care sheet's order and then of serials, and what is wanted to know the rest."""

    dues: tuple[Due, ...]
    wanted: tuple[Wanted, ...]


# ------------------------------------------------------------------------------------- from the anchor to the due


@lru_cache(maxsize=AT_HAND)
def counted(task: Task, anchor: dt.date, times: Decimal | None) -> Window:
    """Count a due from its anchor: months on, sooner in hard surroundings, then into a preferred month. Dirt has no say here."""
    due = add_months(anchor, task.every_months)
    if times is not None:
        days = (due - anchor).days
        due = anchor + dt.timedelta(days=min(days, max(1, task.floor_days, int(times * days))))
    return _in_month(task, anchor, due) if task.moves else _around(task, due)


def _around(task: Task, due: dt.date) -> Window:
    return Window(due, due - dt.timedelta(days=task.early_days), due + dt.timedelta(days=task.late_days))


def _in_month(task: Task, anchor: dt.date, due: dt.date) -> Window:
    """Move a due into a preferred month: inside its window if that can be, else into the run of such months before it.

    Never to a day less than a third of the interval after the anchor.
    """
    window = _around(task, due)
    if due.month in task.months:
        return window
    soonest = anchor + dt.timedelta(days=-((anchor - due).days // 3))
    before, after = _month_before(task, due), _month_after(task, due)
    inside = [day for day in (before, after) if max(window.opens_on, soonest) <= day <= window.late_after]
    if inside:
        return window._replace(due_on=min(inside, key=lambda day: abs(day - due)))
    first = before.replace(day=1)
    while (first - DAY).month in task.months:
        first = (first - DAY).replace(day=1)
    for day in (first + (before - first) // 2, before):
        if day >= soonest:
            return _around(task, day)
    return window


def _month_before(task: Task, day: dt.date) -> dt.date:
    """Give the latest day before this one that lies in a preferred month; the day itself lies in none."""
    day = day.replace(day=1) - DAY
    while day.month not in task.months:
        day = day.replace(day=1) - DAY
    return day


def _month_after(task: Task, day: dt.date) -> dt.date:
    day = add_months(day.replace(day=1), 1)
    while day.month not in task.months:
        day = add_months(day, 1)
    return day


class Grade(NamedTuple):
    """Dirt seen on a day, 0 clean to 3 blocked."""

    day: dt.date
    grade: int


def _due(
    task: Task,
    anchor: dt.date | None,
    times: Decimal | None,
    grades: Sequence[Grade],
    *,
    after: dt.date | None,
    before: dt.date | None,
) -> Window | None:
    """Give the due as it stands, the dirt graded after the day last done and before a day (None: ever) included."""
    plain = None if anchor is None else counted(task, anchor, times)
    if not grades:
        return plain
    heard = (
        grade for grade in grades if (after is None or grade.day > after) and (before is None or grade.day < before)
    )
    latest = max(heard, default=None)
    if latest is None or latest.grade not in GRADED_DAYS:
        return plain
    due = latest.day + dt.timedelta(days=GRADED_DAYS[latest.grade])
    if plain is not None and due >= plain.due_on:
        return plain
    late = dt.timedelta(days=min(task.late_days, 30))
    return Window(due, due - dt.timedelta(days=task.early_days), due + late, graded=True)


# ------------------------------------------------------------------------------------ from the days done to the anchor


def met(task: Task, window: Window, day: dt.date, *, before: dt.date | None, anchor: dt.date | None) -> dt.date:
    """Give the anchor once a task was done on a day: that day, or the due day it met, or the old anchor where it moves nothing.

    A task that counts from its due day keeps its season. A second record soon after another (`before`) then must not count as
    the next round: it moves nothing while that round has not opened.
    """
    if task.counts_from == "day done":
        return day
    early = day < window.opens_on
    if early and before is not None and anchor is not None and (day - before).days <= task.late_days:
        return anchor
    return day if early or day > window.late_after or window.graded else window.due_on


def _anchor(
    task: Task,
    start: dt.date | None,
    anew: dt.date | None,
    times: Decimal | None,
    done: Sequence[dt.date],
    grades: Sequence[Grade],
) -> dt.date | None:
    """Replay the days done, in order, from the start; a day of starting anew counts where it is later than the anchor."""
    if task.counts_from == "day done":
        anchor = done[-1] if done else start
        return _later(anchor, anew)
    anchor, last = start, None
    for day in done:
        if anew is not None and anew <= day:
            anchor, anew = _later(anchor, anew), None
        window = _due(task, anchor, times, grades, after=last, before=day)
        anchor = day if window is None else met(task, window, day, before=last, anchor=anchor)
        last = day
    return _later(anchor, anew)


def _later(anchor: dt.date | None, anew: dt.date | None) -> dt.date | None:
    return anew if anchor is None or (anew is not None and anew > anchor) else anchor


# ------------------------------------------------------------------------------------------- things and their records


@dataclass(slots=True)
class _Thing:
    """What a task is done for: the units it is made of, those in service, and what was written of it."""

    units: list[CareUnit] = field(default_factory=list)
    serving: list[CareUnit] = field(default_factory=list)

    @property
    def stands(self) -> CareUnit:
        """The unit it stands under: a system's first outdoor unit, or else its first unit; serials before none."""
        return self.serving[0]

    @property
    def start(self) -> dt.date | None:
        return min((unit.start for unit in self.units if unit.start is not None), default=None)

    @property
    def surroundings(self) -> frozenset[str]:
        found: frozenset[str] = frozenset()
        return found.union(*(unit.surroundings for unit in self.units))

    def anew_on(self, on: dt.date) -> dt.date | None:
        """The day by which all of its units in service had started anew."""
        days: list[dt.date] = []
        for unit in self.serving:
            day = unit.anew_on(on)
            if day is None:
                return None
            days.append(day)
        return max(days)


@dataclass(slots=True)
class _Written:
    """What was written of one thing about one task: the days it was done, and until when it was put off on which day."""

    done: set[dt.date] = field(default_factory=set)
    put_off: list[tuple[dt.date, dt.date]] = field(default_factory=list)


def _by_serial(unit: CareUnit) -> tuple[bool, str, str]:
    return (not unit.serial, unit.serial, unit.key)


def is_for(task: Task, unit: CareUnit) -> bool:
    """Tell whether a task is for a unit: by its role and style, by its having a drain line, or because it is of the system."""
    if task.per == "system":
        return True
    if task.per == "drain line" and unit.role != "head":
        return bool(unit.drain) and not task.styles
    role = "head" if task.per == "drain line" else task.per
    return unit.role == role and (not task.styles or unit.style in task.styles)


class _Present:
    """A system on a day: its units in order of serial, its things by what a task is per, and its records by task."""

    def __init__(self, system: System, on: dt.date) -> None:
        self.on = on
        self.units = sorted(system.units, key=_by_serial)
        self.serving = [unit for unit in self.units if unit.in_service(on)]
        self._by_key = {unit.key: unit for unit in self.units}
        # What was done to a unit before it was exchanged counts for the one that took over from it; its dirt went with it.
        self._heirs = {old: unit.key for unit in self.units if unit.belongs(on) for old in unit.took_over}
        self._things: dict[tuple[str, tuple[str, ...]], tuple[list[_Thing], dict[str, _Thing]]] = {}
        self._records: dict[str, list[Record]] = defaultdict(list)
        self._grades: dict[tuple[str, str], list[Grade]] = defaultdict(list)
        for record in system.records:
            if record.day <= on:
                if record.task:
                    self._records[record.task].append(record)
                if record.dirt_wheel is not None:
                    self._grades["wheel", record.unit].append(Grade(record.day, record.dirt_wheel))
                if record.dirt_coil is not None:
                    self._grades["coil", record.unit].append(Grade(record.day, record.dirt_coil))

    def things(self, task: Task) -> tuple[list[_Thing], dict[str, _Thing]]:
        """List the things a task is for, in order of the serials they stand under; and each unit's, by its key."""
        kind = (task.per, task.styles)
        found = self._things.get(kind)
        if found is None:
            found = self._things[kind] = self._grouped(task)
        return found

    def _grouped(self, task: Task) -> tuple[list[_Thing], dict[str, _Thing]]:
        groups: dict[tuple[str, str], _Thing] = defaultdict(_Thing)
        of_unit: dict[str, _Thing] = {}
        for unit in self.units:
            if not is_for(task, unit):
                continue
            if task.per == "system":
                name = ("system", "")
            elif task.per == "drain line" and unit.drain:
                name = ("line", unit.drain)
            else:
                name = ("unit", unit.key)
            thing = of_unit[unit.key] = groups[name]
            if unit.belongs(self.on):
                thing.units.append(unit)
            if unit.in_service(self.on):
                thing.serving.append(unit)
        things = [thing for thing in groups.values() if thing.serving]
        if task.per == "system":
            for thing in things:
                thing.serving.sort(key=lambda unit: unit.role != "outdoor")
        return sorted(things, key=lambda thing: _by_serial(thing.stands)), of_unit

    def written(self, task: Task) -> dict[int, _Written]:
        """Gather what was written about a task for each thing (by its id).

        A record on a unit that the task is not for counts for everything in the system that it is for.
        """
        things, of_unit = self.things(task)
        found: dict[int, _Written] = defaultdict(_Written)
        for record in self._records.get(task.code, ()):
            unit = self._by_key.get(self._heirs.get(record.unit, record.unit))
            if unit is None:
                continue
            own = of_unit.get(unit.key)
            for thing in things if own is None else (own,):
                if self._counts(record, unit, thing):
                    if record.what == DONE:
                        found[id(thing)].done.add(record.day)
                    elif record.not_before is not None:
                        found[id(thing)].put_off.append((record.day, record.not_before))
        return found

    def _counts(self, record: Record, unit: CareUnit, thing: _Thing) -> bool:
        """Tell whether a record counts: for more than its own unit, only what was done while the unit was in this system.

        What was done on a unit that has left counts on for the line or system, but not for one put in anew after it.
        """
        if thing.units == [unit]:
            return True
        if unit.joined_on is not None and record.day < unit.joined_on:
            return False
        if unit.left_on is None or self.on < unit.left_on:
            return True
        return record.day < unit.left_on and (thing.start is None or record.day >= thing.start)

    def grades(self, task: Task, thing: _Thing) -> list[Grade]:
        """List the dirt seen that a task listens to, on the units of a thing."""
        if not task.dirt or not self._grades:
            return []
        return [grade for unit in thing.units for grade in self._grades.get((task.dirt, unit.key), ())]


def work_out(system: System, sheet: CareSheet, *, on: dt.date) -> Care:
    """Work out the dues of a system's units, as they stand with what was written by a day."""
    present = _Present(system, on)
    dues: list[Due] = []
    wanted: dict[tuple[str, str], Wanted] = {}
    if not present.serving:
        return Care((), ())
    for task in sheet.tasks:
        things, _ = present.things(task)
        written = present.written(task) if things else {}
        price = task.price
        for thing in things:
            due = _of_thing(task, thing, written.get(id(thing)), present, price=price, system=system.key)
            if due is None:
                for unit in thing.serving:
                    wanted[unit.key, "start"] = Wanted(unit.key, unit.serial, "start")
            else:
                dues.append(due)
                price = task.further_price
        if task.styles:
            for unit in present.serving:
                if unit.role == "head" and not unit.style:
                    wanted[unit.key, "style"] = Wanted(unit.key, unit.serial, "style")
    return Care(tuple(dues), tuple(sorted(wanted.values(), key=lambda one: (one.serial, one.unit, one.what))))


def _of_thing(
    task: Task, thing: _Thing, written: _Written | None, present: _Present, *, price: Decimal, system: str
) -> Due | None:
    done = [] if written is None else sorted(written.done)
    last_done = done[-1] if done else None
    times = task.factor(thing.surroundings) if task.shorten else None
    grades = present.grades(task, thing)
    anchor = _anchor(task, thing.start, thing.anew_on(present.on), times, done, grades)
    window = _due(task, anchor, times, grades, after=last_done, before=None)
    if window is None:
        return None
    put_off: Iterable[tuple[dt.date, dt.date]] = () if written is None else written.put_off
    stands = thing.stands
    return Due(
        system=system,
        unit=stands.key,
        serial=stands.serial,
        task=task,
        last_done=last_done,
        window=window,
        not_before=max((until for day, until in put_off if last_done is None or day > last_done), default=None),
        price=price,
        access=stands.access,
        units=tuple(unit.key for unit in thing.serving),
        anchor=anchor,
        times=times,
    )
