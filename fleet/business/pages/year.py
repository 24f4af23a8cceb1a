"""The year ahead: three bands of money and the hours they ask for, month by month, drawn and in tables."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fleet.elements.cells import Table

CHOICES = (12, 24, 36)
BANDS = ("contracted", "renewals", "on offer")
TITLES = {"contracted": "Contracted", "renewals": "Renewals", "on offer": "Work to sell"}

# A drawing: how high a strip is, and where the month's names stand below it.
HIGH, HEAD, FOOT = 80, 20, 18
# How much of a month's place its bar takes.
SHARE = 72


@dataclass(frozen=True, slots=True)
class Bar:
    """One month in a strip: where it stands and how wide it is, in percent; how high; what it stands for; and in words."""

    sort: str
    x: str
    width: str
    y: int
    height: int
    words: str


@dataclass(frozen=True, slots=True)
class Line:
    """Hours on hand in a month: a line across its place."""

    x1: str
    x2: str
    y: int


@dataclass(frozen=True, slots=True)
class Tick:
    """A month's name below the strips, in percent; `year` where a year begins."""

    x: str
    name: str


@dataclass(frozen=True, slots=True)
class Strip:
    """The bars of one band, or of the hours, all on one scale whose top is said."""

    name: str
    title: str
    total: str
    top: str
    bars: tuple[Bar, ...]
    lines: tuple[Line, ...] = ()
    ticks: tuple[Tick, ...] = ()

    @property
    def head(self) -> int:
        """Where the top of the scale lies."""
        return HEAD

    @property
    def base(self) -> int:
        """Where the bars stand."""
        return HEAD + HIGH

    @property
    def tick(self) -> int:
        """Where the months' names stand."""
        return HEAD + HIGH + FOOT - 3

    @property
    def tall(self) -> int:
        """How tall the whole strip is."""
        return HEAD + HIGH + (FOOT if self.ticks else 6)


@dataclass(frozen=True, slots=True)
class Drawing:
    """The strips one below the other: never one upon the other, so that no band looks like part of another."""

    strips: tuple[Strip, ...]


@dataclass(frozen=True, slots=True)
class Ahead:
    """One month's figures."""

    first: dt.date
    money: Mapping[str, Decimal]
    minutes: Mapping[str, Decimal]
    hours_due: Decimal
    hours_overdue: Decimal
    hours_on_hand: Decimal | None
    beyond: "Visits"
    booked: "Visits"


@dataclass(frozen=True, slots=True)
class Visits:
    """How many visits there are, and what they come to by the list."""

    count: int
    price: Decimal


def percent(part: float, whole: int) -> str:
    """Write a place as a drawing has it.

    >>> percent(1, 12)
    '8.33%'
    """
    return f"{100 * part / whole:.2f}%"


def bars(
    sort: str,
    values: Sequence[Decimal],
    top: Decimal,
    words: Sequence[str],
) -> tuple[Bar, ...]:
    """Draw values as bars; what is something is at least a pixel high."""
    drawn = []
    for place, value in enumerate(values):
        high = max(1, int(value / top * HIGH)) if value and top else 0
        x = percent(place + (100 - SHARE) / 200, len(values))
        drawn.append(Bar(sort, x, percent(SHARE / 100, len(values)), HEAD + HIGH - high, high, words[place]))
    return tuple(drawn)


def ticks(months: Sequence[dt.date]) -> tuple[Tick, ...]:
    """The names of the months below: all of a year, of more years every third or sixth, each January by its year."""
    step = {12: 1, 24: 3}.get(len(months), 6)
    return tuple(
        Tick(percent(place + 0.5, len(months)), f"{month:%Y}" if month.month == 1 else f"{month:%b}")
        for place, month in enumerate(months)
        if (month.month - 1) % step == 0
    )


def nice(top: Decimal) -> Decimal:
    """Round a scale's top up to a figure that can be said.

    >>> nice(Decimal("6935")), nice(Decimal("101.25")), nice(Decimal(0))
    (Decimal('7000'), Decimal('120'), Decimal('1'))
    """
    if top <= 0:
        return Decimal(1)
    size = Decimal(10) ** (len(str(int(top))) - 1)
    for step in ("1", "1.2", "1.5", "2", "2.5", "3", "4", "5", "6", "7", "8", "10"):
        if size * Decimal(step) >= top:
            return (size * Decimal(step)).quantize(Decimal(1)) if size > 1 else size * Decimal(step)
    return top


@dataclass(frozen=True, slots=True)
class YearPage:
    """The owner's first page; empty (`worked_out` blank) until it was worked out for the first time.

    Its sentences and totals are of the whole months after the running one, which has a sentence of its own.
    """

    months: int
    worked_out: str
    waiting: bool
    sentences: tuple[str, ...] = ()
    running: str = ""
    drawing: Drawing | None = None
    by_month: Table | None = None
    each: Table | None = None
    others: tuple[str, ...] = ()
    offers: Table | None = None
    without_sheet: bool = False
    nothing: bool = False

    @property
    def choices(self) -> tuple[int, ...]:
        """How far one may look."""
        return CHOICES
