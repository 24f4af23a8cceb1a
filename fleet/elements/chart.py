"""A drawing of lines over time: fractions of its width and height, from which a screen and a paper draw the same."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

Spot = tuple[float, float]

# The height of a drawing on screen, without the words under it, and the square that its lines are given in.
TALL = 240
SQUARE = 1000


@dataclass(frozen=True, slots=True)
class Tick:
    """A value that stands beside an axis, and where: a fraction from the left, or from the bottom."""

    at: float
    words: str

    @property
    def x(self) -> str:
        """Where it stands across, in percent."""
        return f"{self.at * 100:.2f}%"

    @property
    def y(self) -> str:
        """Where it stands down a screen."""
        return f"{(1 - self.at) * TALL:.1f}"

    @property
    def anchor(self) -> str:
        """Which end of its words stands there, so that none leaves the drawing."""
        return "start" if self.at < 0.02 else "end" if self.at > 0.98 else "middle"


@dataclass(frozen=True, slots=True)
class Line:
    """One line, known apart by the pattern of its dashes, which goes by its number."""

    name: str
    spots: tuple[Spot, ...]
    number: int = 0

    @property
    def path(self) -> str:
        """The line as a drawing writes it."""
        return "M" + "L".join(f"{x * SQUARE:.1f} {(1 - y) * SQUARE:.1f}" for x, y in self.spots)

    @property
    def last(self) -> Tick:
        """Where it ends, from the bottom."""
        return Tick(self.spots[-1][1], self.name)


@dataclass(frozen=True, slots=True)
class Chart:
    """Lines over an axis of years; `around` is the edge of the band that an interval makes, if there is one."""

    title: str
    words: str
    x: tuple[Tick, ...]
    y: tuple[Tick, ...]
    lines: tuple[Line, ...]
    around: tuple[Spot, ...] = ()

    @property
    def band(self) -> str:
        """The band as a drawing writes it."""
        return f"{Line('', self.around).path}Z" if self.around else ""


def steps(most: float, about: int = 5) -> tuple[float, ...]:
    """Round values from zero to the first at or above the most.

    >>> steps(10), steps(37_500)
    ((0.0, 2.0, 4.0, 6.0, 8.0, 10.0), (0.0, 10000.0, 20000.0, 30000.0, 40000.0))
    """
    if most <= 0:
        return (0.0, 1.0)
    rough = most / about
    ten = 10.0 ** math.floor(math.log10(rough))
    step = next(ten * one for one in (1, 2, 5, 10) if ten * one >= rough * 0.999)
    return tuple(step * number for number in range(math.ceil(most / step - 1e-9) + 1))


def stairs(spots: Sequence[Spot], until: float) -> Iterable[Spot]:
    """Walk a curve that keeps its height until it steps, and on to the right."""
    height = spots[0][1]
    for x, y in spots:
        yield x, height
        yield x, y
        height = y
    if spots[-1][0] < until:
        yield until, height


# How wide a bar is drawn at most, in its own units.
WIDE = 1000


def percent(width: int) -> str:
    """Write a width as a drawing has it.

    >>> percent(194), percent(WIDE)
    ('19.4%', '100.0%')
    """
    return f"{width * 100 / WIDE:.1f}%"


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a bar: what it stands for (came, out, lost), where it begins and how wide it is."""

    sort: str
    x: int
    width: int

    @property
    def at(self) -> str:
        """Where it begins, in percent, so that a narrow screen keeps the pattern as it is."""
        return percent(self.x)

    @property
    def wide(self) -> str:
        """How wide it is, in percent."""
        return percent(self.width)


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar, with its name and what it says in words."""

    name: str
    words: str
    pieces: tuple[Piece, ...]
    whole: int

    @property
    def around(self) -> str:
        """How wide the outline is, in percent."""
        return percent(self.whole)


def bar(name: str, words: str, amounts: tuple[tuple[str, Decimal], ...], whole: Decimal, longest: Decimal) -> Bar:
    """Draw amounts after one another, against the longest bar of its figure; `whole` is the outline around them."""

    def wide(amount: Decimal) -> int:
        return int(amount * WIDE / longest) if longest > 0 else 0

    pieces, x = [], 0
    for sort, amount in amounts:
        width = min(wide(amount), WIDE - x)
        if amount > 0:
            # Something that is there is seen, however little it is.
            pieces.append(Piece(sort, x, max(width, 3)))
            x += max(width, 3)
    return Bar(name, words, tuple(pieces), max(min(wide(whole), WIDE), x))
