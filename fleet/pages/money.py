"""The owner's money of claims: what came back, what is out, and what was lost; drawn, in sentences and in tables."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.pages.lists import Column, Line, Row, lines_of, shown_of

# How wide a bar is drawn at most, in its own units.
WIDE = 1000

RECOVERY_COLUMNS = (
    Column("claims", "Claims", "number"),
    Column("claimable", "Could be claimed", "money"),
    Column("recovered", "Came back", "money"),
    Column("out", "Is out", "money"),
    Column("lost", "Will not come", "money"),
    Column("percent", "Came back, %", "number"),
)
PAYER_COLUMNS = (Column("payer", "Payer"), *RECOVERY_COLUMNS)
MAKER_COLUMNS = (Column("maker", "Maker of the unit"), *RECOVERY_COLUMNS)
AGE_COLUMNS = (
    Column("days", "Out for"),
    Column("claims", "Claims", "number"),
    Column("amount", "Is out", "money"),
)
DENIED_COLUMNS = (
    Column("claim", "Claim"),
    Column("payer", "Payer"),
    Column("maker", "Maker of the unit"),
    Column("component", "Component", "word"),
    Column("serial", "Unit", "serial"),
    Column("state", "State", "state"),
    Column("asked", "Asked for", "money"),
    Column("lost", "Will not come", "money"),
    Column("why", "Why"),
)
MISSED_COLUMNS = (
    Column("serial", "Unit", "serial"),
    Column("customer", "Customer"),
    Column("site", "Site"),
    Column("component", "Component", "word"),
    Column("failed_on", "Failed on", "day"),
    Column("payer", "Would have paid", shown=False),
    Column("pays_for", "For", shown=False),
    Column("registered_on", "Registered", "day", shown=False),
    Column("deadline", "The limit was", "day", shown=False),
    Column("why", "How that came"),
    Column("amount", "Cost us", "money"),
)

TABLES = {
    "payer": PAYER_COLUMNS,
    "maker": MAKER_COLUMNS,
    "age": AGE_COLUMNS,
    "denied": DENIED_COLUMNS,
    "missed": MISSED_COLUMNS,
}


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


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the page: its name in files' addresses, its columns, its first rows, and how many it has in all."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    count: int

    @property
    def shown(self) -> tuple[Column, ...]:
        """The columns that the screen shows."""
        return shown_of(self.columns)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Each row's cells beside their columns and shapes."""
        return lines_of(self.columns, self.rows)


@dataclass(frozen=True, slots=True)
class MoneyPage:
    """The whole page; `unclaimed` counts failures that a payer may owe for and that nobody claimed, or as many as were counted."""

    since: dt.date
    on: dt.date
    sentences: tuple[str, ...]
    unclaimed: int
    more_unclaimed: bool
    labor: str
    by_payer: tuple[Bar, ...]
    by_maker: tuple[Bar, ...]
    by_age: tuple[Bar, ...]
    tables: tuple[Table, ...]

    def table(self, name: str) -> Table | None:
        """Find a table by its name."""
        return next((table for table in self.tables if table.name == name), None)
