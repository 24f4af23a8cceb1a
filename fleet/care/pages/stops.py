"""Today's stops, and what a technician has to know at one: whom to see, what is due on what, what happened last time."""

import datetime as dt
from collections import Counter, defaultdict
from dataclasses import dataclass
from urllib.parse import quote

from fleet.elements.pieces import UnitLink


@dataclass(frozen=True, slots=True)
class Ask:
    """One piece of work on one thing: whether it is asked for now (booked, due or late), and where it stands."""

    unit: int
    task: str
    title: str
    of: str
    by: str
    open: bool
    booked: bool
    state: str
    stands: str
    last_done: dt.date | None
    minutes: int
    cautions: tuple[str, ...]
    changes_filter: bool = False

    @property
    def key(self) -> str:
        """What tells it from all others of its site."""
        return f"{self.unit}:{self.task}"


@dataclass(frozen=True, slots=True)
class Broken:
    """A failure that waits for its repair, and who would pay for what."""

    pk: int
    words: str
    pays: str


@dataclass(frozen=True, slots=True)
class OfUnit:
    """One unit at a stop: what is asked of it, what happened last time, what was measured, what is broken."""

    unit: UnitLink
    system: str
    role: str
    access: str
    notes: str
    asks: tuple[Ask, ...]
    last: str
    readings: tuple[str, ...]
    broken: tuple[Broken, ...]
    covered: str = ""
    beware: str = ""
    filter: str = ""

    @property
    def name(self) -> str:
        """What people call it: its room, or what it is."""
        return self.unit.room or f"{self.unit.what} {self.unit.serial}".strip()

    @property
    def open(self) -> tuple[Ask, ...]:
        """What is asked for now."""
        return tuple(ask for ask in self.asks if ask.open)

    @property
    def cautions(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What to beware of at the work that is asked for now, each task once."""
        return tuple({ask.title: ask.cautions for ask in self.open if ask.cautions}.items())

    @property
    def rest(self) -> tuple[Ask, ...]:
        """What is not, and may be done all the same."""
        return tuple(ask for ask in self.asks if not ask.open)


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody to reach about a site."""

    name: str
    role: str
    phone: str
    reach: str


@dataclass(frozen=True, slots=True)
class Stop:
    """One site on one day, booked or not; `not_started`: the systems whose start-up is not on file."""

    site: int
    name: str
    customer: str
    phone: str
    address: str
    gate_code: str
    people: tuple[Person, ...]
    on: dt.date
    units: tuple[OfUnit, ...]
    last: str
    booking: int | None = None
    technician: str = ""
    mine: bool = False
    minutes: int = 0
    drive_minutes: int | None = None
    note: str = ""
    why: str = ""
    arrives: str = ""
    calls: tuple[tuple[int, str], ...] = ()
    parts: tuple[str, ...] = ()
    not_started: tuple[tuple[int, str], ...] = ()
    without_sheet: bool = False

    @property
    def map_link(self) -> str:
        """The address as a phone hands it to whatever map program it has; blank where none is on file."""
        return f"geo:0,0?q={quote(self.address, safe='')}" if self.address else ""

    @property
    def bring(self) -> tuple[str, ...]:
        """What this house needs in the truck: parts that arrived for a call, and filters that are due, by their sizes."""
        of_size: dict[str, list[str]] = defaultdict(list)
        for unit in self.units:
            if unit.filter:
                of_size[unit.filter].append(unit.name)
        filters = (
            f"{'filter' if len(names) == 1 else f'{len(names)} filters'} {size} for {', '.join(names)}"
            for size, names in of_size.items()
        )
        return (*self.parts, *filters)

    @property
    def work(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What is asked for in all: each task with the things that it is for."""
        things: dict[str, list[str]] = defaultdict(list)
        for unit in self.units:
            for ask in unit.open:
                things[ask.title].append(f"{unit.name} ({ask.of})" if ask.of else unit.name)
        return tuple((title, tuple(names)) for title, names in things.items())

    @property
    def alike(self) -> tuple[tuple[str, str, int], ...]:
        """The tasks asked for of more than one thing: code, title, of how many."""
        asks = [ask for unit in self.units for ask in unit.open]
        counts = Counter((ask.task, ask.title) for ask in asks)
        return tuple((task, title, count) for (task, title), count in counts.items() if count > 1)

    @property
    def cautions(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What to beware of, task by task, each once."""
        asks = [ask for unit in self.units for ask in unit.open]
        return tuple({ask.title: ask.cautions for ask in asks if ask.cautions}.items())

    @property
    def broken(self) -> tuple[tuple[OfUnit, Broken], ...]:
        """Every failure that waits for its repair, with its unit."""
        return tuple((unit, one) for unit in self.units for one in unit.broken)

    @property
    def rooms(self) -> tuple[str, ...]:
        """The units something is asked of."""
        return tuple(unit.name for unit in self.units if unit.open)


@dataclass(frozen=True, slots=True)
class TodayPage:
    """The stops of a day and of the next, and those of days gone by that nobody wrote up."""

    on: dt.date
    whose: str
    sentence: str
    open: tuple[Stop, ...]
    today: tuple[Stop, ...]
    tomorrow: tuple[Stop, ...]
    done: tuple[tuple[int, str], ...] = ()
