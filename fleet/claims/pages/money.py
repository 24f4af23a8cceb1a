"""The owner's money of claims: what came back, what is out, and what was lost; drawn, in sentences and in tables."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.chart import Bar
from fleet.elements.lists import Column, Line, Row, lines_of, shown_of

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
