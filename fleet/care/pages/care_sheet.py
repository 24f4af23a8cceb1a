"""A care sheet read back, one that is being written, and what it changes in the one in force."""

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TaskRead:
    """One task of a sheet by its place (from 0): its title, who does it, its sentences and its cautions."""

    number: int
    code: str
    title: str
    is_ours: bool
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetRead:
    """A whole sheet in sentences."""

    code: str
    general: tuple[str, ...]
    tasks: tuple[TaskRead, ...]

    @property
    def groups(self) -> tuple[tuple[str, tuple[TaskRead, ...]], ...]:
        """The tasks under a heading for whoever does them; what nobody does has none."""
        ours = tuple(task for task in self.tasks if task.is_ours)
        theirs = tuple(task for task in self.tasks if not task.is_ours)
        found = (("What we do", ours), ("What the customer does", theirs))
        return tuple((heading, tasks) for heading, tasks in found if tasks)


@dataclass(frozen=True, slots=True)
class Former:
    """A sheet that was in force before, with how long its name is kept."""

    pk: int
    code: str


@dataclass(frozen=True, slots=True)
class InForce:
    """The sheet in force (none: there is none), since when, by whom; former ones; and who is writing another (blank: nobody)."""

    pk: int | None
    sheet: SheetRead | None
    since: str
    by: str
    former: tuple[Former, ...]
    writing: str


@dataclass(frozen=True, slots=True)
class Difference:
    """One task that the new sheet changes: what its sentences say now, and how many things it touches.

    `things` have the task now; `new` would have it and have not, `gone` have it and would not; `other_months` keep it and
    would be due in another month.
    """

    title: str
    kind: str
    sentences: tuple[str, ...]
    things: int
    new: int
    gone: int
    other_months: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """What the new sheet changes: tasks, what holds for every visit, and whether all systems were counted or only the first."""

    general: tuple[str, ...]
    tasks: tuple[Difference, ...]
    same: int
    systems: int
    of_systems: int


@dataclass(frozen=True, slots=True)
class NextVisit:
    """A visit that would come: its day, what would be done, and how long it takes."""

    on: dt.date
    work: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Tried:
    """A site's visits of the coming year under the new sheet, and under the one in force."""

    pk: int
    name: str
    new: tuple[NextVisit, ...]
    old: tuple[NextVisit, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """What keeps the sheet from taking hold, and the place of the task that it is about (None: the sheet as a whole)."""

    text: str
    number: int | None


@dataclass(frozen=True, slots=True)
class LookOver:
    """A sheet that is being written, before it takes hold: what is wrong, or what it says and changes."""

    version: int
    seen: str
    faults: tuple[Fault, ...]
    sheet: SheetRead | None
    comparison: Comparison | None
    was_changed: bool
    sites: tuple[tuple[int, str], ...]
    tried: Tried | None

    @property
    def is_first(self) -> bool:
        """Whether there is no sheet in force to compare it with."""
        return not self.seen
