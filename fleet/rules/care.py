"""The dues of a system's units as facts: what a system is made of, what was recorded, and where a due stands on a day."""

import datetime as dt
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from fleet.rules.caresheet import Task
from fleet.rules.dates import DAY, MONDAY_TO_FRIDAY, WorkingDays, add_months
from fleet.rules.windows import Window, counted, met

DONE, SKIPPED = "done", "skipped"


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

    `replaced_on` is the day it came in exchange under warranty, `took_over` the keys of the units it then took over from: its
    start is theirs. `joined_on` and `left_on` are the days it came into this system (None: put in here) and left it;
    `replaces_on` is the day on which another was removed whose place it takes; `still_matched` what was answered of the system
    when it was exchanged, which was on `left_on`.
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
    replaced_on: dt.date | None = None
    took_over: tuple[str, ...] = ()
    joined_on: dt.date | None = None
    left_on: dt.date | None = None
    idle: tuple[Idle, ...] = ()
    replaces_on: dt.date | None = None
    still_matched: str = ""

    @property
    def start(self) -> dt.date | None:
        """The day it was started, else installed."""
        return self.started_on or self.installed_on

    @property
    def start_of_service(self) -> dt.date | None:
        """The day it was put in, else started: what an agreement counts from."""
        return self.installed_on or self.started_on

    def belongs(self, on: dt.date) -> bool:
        """Whether it is one of the system's units on a day, idle or not; the day of coming counts, the day of leaving does not."""
        came = (self.joined_on is None or self.joined_on <= on) and (self.replaced_on is None or self.replaced_on <= on)
        return came and (self.left_on is None or on < self.left_on)

    def in_service(self, on: dt.date) -> bool:
        """Whether it belongs to the system and is in use on a day."""
        if not self.belongs(on):
            return False
        return not any(idle.first <= on and (idle.back is None or on < idle.back) for idle in self.idle)

    def anew_on(self, on: dt.date) -> dt.date | None:
        """The latest day by then on which it came in exchange or came back into use: its dues start anew there."""
        if self.replaced_on is None and not self.idle:
            return None
        days = [self.replaced_on, *(idle.back for idle in self.idle)]
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


@dataclass(frozen=True, slots=True)
class Due:
    """The day one task should happen next for one thing, which stands under its first unit.

    `units` has every unit in service that the thing is made of. `anchor` is the day the due was counted from, `times` the
    factor that shortened it, and `assumed_on` the last day it is assumed to have been done, where that is later than any
    record: what is needed to count on from here.
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
    style: str = ""
    units: tuple[str, ...] = ()
    anchor: dt.date | None = None
    times: Decimal | None = None
    assumed_on: dt.date | None = None

    @property
    def minutes(self) -> int:
        """How long the work takes, for a head of this style."""
        return self.task.minutes_for(self.style)

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
        """Its state on a day."""
        return state_of(self.task, self.window, self.last_done, self.not_before, on=on)

    def open_on(self, on: dt.date) -> bool:
        """Whether its window has begun and nothing holds it off, whatever the customer's record says."""
        return self.opens_on <= on and self.state(on) is not State.WAITING

    def after(self, day: dt.date, working: WorkingDays = MONDAY_TO_FRIDAY) -> "Due":
        """The due that follows once the task was done on a day."""
        before = self.last_done if self.assumed_on is None else None
        anchor = met(self.task, self.window, day, before=before, anchor=self.anchor)
        return replace(
            self,
            last_done=day,
            anchor=anchor,
            window=counted(self.task, anchor, self.times, working),
            not_before=None,
            assumed_on=None,
        )


def state_of(
    task: Task, window: Window, last_done: dt.date | None, not_before: dt.date | None, *, on: dt.date
) -> State:
    """The state of a due on a day: the first of these that fits."""
    if not_before is not None and on < not_before:
        return State.WAITING
    if task.by == "owner" and (last_done is None or add_months(last_done, 2 * task.every_months) < on):
        return State.NO_RECORD
    if on < window.opens_on:
        return State.AHEAD
    return State.DUE if on <= window.late_after else State.LATE


def long_ago(task: Task, *, on: dt.date) -> dt.date:
    """The latest day on which an owner's task, last done then, counts as never recorded: two intervals are past."""
    months = 2 * task.every_months
    day = add_months(on, -months)
    while add_months(day, months) >= on:
        day -= DAY
    while add_months(day + DAY, months) < on:
        day += DAY
    return day


@dataclass(frozen=True, slots=True)
class MissingFact:
    """A fact that is missing, so that a unit's dues cannot be known: `start` or `style`."""

    unit: str
    serial: str
    what: str


@dataclass(frozen=True, slots=True)
class Care:
    """What a system's units are due, in the care sheet's order and then of serials, and what is wanted to know the rest."""

    dues: tuple[Due, ...]
    wanted: tuple[MissingFact, ...]


def is_for(task: Task, unit: CareUnit) -> bool:
    """Whether a task is for a unit: by its role and style, by its having a drain line, or because it is of the system."""
    if task.per == "system":
        return True
    if task.per == "drain line" and unit.role != "head":
        return bool(unit.drain) and not task.styles
    role = "head" if task.per == "drain line" else task.per
    return unit.role == role and (not task.styles or unit.style in task.styles)
