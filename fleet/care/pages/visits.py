"""Visits to book: the plan of the coming weeks, its load, one site's visits, and the sheet that goes along."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.care.pages.stops import Stop
from fleet.rules.dates import in_words
from fleet.rules.wording.care import BOOKED

UNPAID = "does not cover the drive"


@dataclass(frozen=True, slots=True)
class Month:
    """The load of a month, in minutes: booked, still to book, and on hand (from its first day asked for, and as entered or not)."""

    first: dt.date
    booked: int
    planned: int
    on_hand: int | None
    entered: bool
    most: int = 1

    @property
    def name(self) -> str:
        """The month in words."""
        return f"{self.first:%B %Y}"

    @property
    def over(self) -> bool:
        """Whether more is asked for than is on hand."""
        return self.on_hand is not None and self.booked + self.planned > self.on_hand

    @property
    def short(self) -> int:
        """How many minutes more are needed than are on hand."""
        return max(0, self.booked + self.planned - (self.on_hand or 0))

    @property
    def booked_width(self) -> float:
        """How much of the drawing is booked, in hundredths."""
        return round(100 * self.booked / self.most, 2)

    @property
    def planned_width(self) -> float:
        """How much of the drawing is to be booked."""
        return round(100 * self.planned / self.most, 2)

    @property
    def mark(self) -> float:
        """Where the hours on hand end."""
        return round(100 * (self.on_hand or 0) / self.most, 2)


@dataclass(frozen=True, slots=True)
class Task:
    """One piece of work that a visit may do: between which days, and whether it is ticked to begin with."""

    unit: int
    code: str
    title: str
    of: str
    first: dt.date
    last: dt.date | None
    stands: str
    ticked: bool
    booked_on: dt.date | None = None

    @property
    def key(self) -> str:
        """What tells it from the others."""
        return f"{self.unit}:{self.code}"

    @property
    def words(self) -> str:
        """The work with what it is for and the days that are fine."""
        days = (
            f"from {in_words(self.first)}" if self.last is None else f"{in_words(self.first)} to {in_words(self.last)}"
        )
        until = "overdue" if self.last is None else days
        booked = f"; booked for {in_words(self.booked_on)}" if self.booked_on is not None else ""
        return f"{self.title}, {self.of} ({until}{booked})"


@dataclass(frozen=True, slots=True)
class Does:
    """What a day does: how long the visit is, what it brings, which windows it breaks, and to the load of day and month."""

    day: dt.date
    minutes: int
    price: Decimal
    breaks: tuple[str, ...]
    worked: bool
    day_before: int
    day_limit: int
    month: str
    month_before: int
    month_after: int
    month_on_hand: int | None
    leaves: str
    leaves_before: int
    leaves_after: int
    unpaid: str

    @property
    def day_after(self) -> int:
        """The minutes of the day with this visit."""
        return self.day_before + self.minutes

    @property
    def asks_why(self) -> bool:
        """Whether somebody has to say why it is that day."""
        return bool(self.breaks) or not self.worked


@dataclass(frozen=True, slots=True)
class Booked:
    """A visit that was booked."""

    pk: int
    on: dt.date
    state: str
    technician: str
    minutes: int
    price: Decimal
    note: str
    why: str
    work: tuple[str, ...]
    write_up: int | None = None
    arrives: str = ""

    @property
    def state_words(self) -> str:
        """What became of it, in a word."""
        return BOOKED[self.state]


@dataclass(frozen=True, slots=True)
class Sold:
    """An agreement's year: how many visits were sold, made and are booked."""

    name: str
    first: dt.date
    last: dt.date
    sold: int
    made: int
    booked: int

    @property
    def words(self) -> str:
        """The agreement year's visits sold, made and booked, in a sentence."""
        beyond = self.made + self.booked - self.sold
        more = f"; {beyond} more than the agreement includes, so decide who pays" if beyond > 0 else ""
        return (
            f"{self.name}, {in_words(self.first)} to {in_words(self.last)}: {self.sold} {'visit' if self.sold == 1 else 'visits'} sold, "
            f"{self.made} made, {self.booked} booked{more}."
        )


@dataclass(frozen=True, slots=True)
class SiteVisits:
    """One site's visits: booked, planned, and what there is to book."""

    site: int
    name: str
    customer: str
    phone: str
    address: str
    on: dt.date
    planned: tuple[dt.date, ...]
    day: dt.date
    tasks: tuple[Task, ...]
    technicians: tuple[tuple[int, str], ...]
    booked: tuple[Booked, ...]
    past: tuple[Booked, ...]
    sold: tuple[Sold, ...]
    promised: bool
    drive_minutes: int | None
    calls: tuple[tuple[int, str], ...] = ()
    room: tuple[dt.date, ...] = ()
    without_sheet: bool = False


@dataclass(frozen=True, slots=True)
class BookingPage:
    """One booked visit, with what may be changed of it."""

    booking: Booked
    site: int
    name: str
    customer: str
    phone: str
    address: str
    tasks: tuple[Task, ...]
    technicians: tuple[tuple[int, str], ...]
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a technician takes along on paper."""

    stop: Stop
    technician: str
    bring: tuple[str, ...]

    @property
    def filename(self) -> str:
        """A name for the file."""
        return f"visit-{self.stop.booking}-{self.stop.on.isoformat()}.pdf"
