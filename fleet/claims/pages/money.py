"""The owner's money of failures in a period: where each dollar stands, drawn, in sentences and in tables."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.elements.cells import Table
from fleet.elements.chart import Bar


@dataclass(frozen=True, slots=True)
class Named(Table):
    """One table of the page, with its name in files' addresses."""

    name: str
    title: str


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One place where dollars stand: how many there, how many on top of the cost, and how many rows they add up."""

    figure: str
    words: str
    amount: Decimal
    above: Decimal
    rows: int


@dataclass(frozen=True, slots=True)
class MoneyPage:
    """The whole page, of failures from a first to a last day."""

    since: dt.date
    until: dt.date
    on: dt.date
    sentences: tuple[str, ...]
    labor: str
    figures: tuple[FigureLine, ...]
    by_payer: tuple[Bar, ...]
    by_age: tuple[Bar, ...]
    tables: tuple[Named, ...]

    @property
    def cost(self) -> Decimal:
        """What the failures cost: all figures together."""
        return sum((line.amount for line in self.figures), Decimal(0))

    @property
    def above(self) -> Decimal:
        """What comes on top of the cost."""
        return sum((line.above for line in self.figures), Decimal(0))

    def table(self, name: str) -> Named | None:
        """Find a table by its name."""
        return next((table for table in self.tables if table.name == name), None)
