"""What is due: a site's maintenance with what to record; a unit's part of it."""

import datetime as dt
from dataclasses import dataclass

from fleet.rules.company import Company


@dataclass(frozen=True, slots=True)
class Line:
    """One due as a page shows it: what is to be done, to what, and where it stands."""

    unit: int
    task: str
    title: str
    by: str
    of: str
    serial: str
    due_on: dt.date
    opens_on: dt.date
    last_done: dt.date | None
    state: str
    stands: str
    why: str
    minutes: int
    cautions: tuple[str, ...]

    @property
    def matters(self) -> bool:
        """Whether somebody should do something about it now."""
        return self.state in ("due", "late", "no record")


@dataclass(frozen=True, slots=True)
class SystemCare:
    """What one system is due, the nearest first, and what it takes to know the rest."""

    pk: int
    name: str
    ours: tuple[Line, ...]
    owners: tuple[Line, ...]
    missing: tuple[str, ...] = ()

    @property
    def now(self) -> tuple[Line, ...]:
        """What of ours may be done now."""
        return tuple(line for line in self.ours if line.matters)

    @property
    def later(self) -> tuple[Line, ...]:
        """What of ours is to come, or was put off."""
        return tuple(line for line in self.ours if not line.matters)

    @property
    def lines(self) -> tuple[Line, ...]:
        """All of it."""
        return (*self.ours, *self.owners)


@dataclass(frozen=True, slots=True)
class SiteCare:
    """Everything that a site is due."""

    pk: int
    name: str
    customer_pk: int
    customer: str
    phone: str
    address: str
    on: dt.date
    sentences: tuple[str, ...]
    systems: tuple[SystemCare, ...]
    without_sheet: bool = False

    @property
    def cautions(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What to beware of, task by task, each once."""
        lines = [line for system in self.systems for line in system.lines]
        return tuple({line.title: line.cautions for line in lines if line.cautions}.items())


@dataclass(frozen=True, slots=True)
class Short:
    """What a page of a site or a unit says of it in a few lines."""

    sentences: tuple[str, ...]
    lines: tuple[Line, ...]
    without_sheet: bool = False

    @property
    def now(self) -> tuple[Line, ...]:
        """What of ours may be done now, what is late first."""
        ours = (line for line in self.lines if line.by == "technician" and line.state in ("late", "due"))
        return tuple(sorted(ours, key=lambda line: (line.state != "late", line.due_on)))


@dataclass(frozen=True, slots=True)
class Recorded:
    """What somebody recorded just now and may take back."""

    pk: int
    words: str


@dataclass(frozen=True, slots=True)
class Job:
    """One task to record on one unit, as its form shows it."""

    unit: int
    site: int
    name: str
    where: str
    task: str
    title: str
    by: str
    grades: bool
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wash:
    """One of the owner's tasks on the wall card: how often, on what, from which day, and what to mind."""

    title: str
    every: str
    whats: tuple[tuple[str, str, str], ...]
    how: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WallCard:
    """What hangs on the customer's wall: what to wash, how and when; and what we come for."""

    pk: int
    title: str
    customer: str
    sender: Company
    written_on: str
    washes: tuple[Wash, ...]
    ours: tuple[tuple[str, str], ...]
    months: tuple[str, ...]

    @property
    def filename(self) -> str:
        """A name for the file."""
        return f"wall-card-{self.pk}.pdf"
