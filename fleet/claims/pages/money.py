"""The owner's money of claims: what came back, what is out, and what was lost; drawn, in sentences and in tables."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.cells import Table
from fleet.elements.chart import Bar


@dataclass(frozen=True, slots=True)
class Named(Table):
    """One table of the page, with its name in files' addresses."""

    name: str
    title: str


@dataclass(frozen=True, slots=True)
class MoneyPage:
    """The whole page; `unclaimed` counts failures that a payer may owe for and that nobody claimed."""

    since: dt.date
    on: dt.date
    sentences: tuple[str, ...]
    unclaimed: int
    labor: str
    by_payer: tuple[Bar, ...]
    by_maker: tuple[Bar, ...]
    by_age: tuple[Bar, ...]
    tables: tuple[Named, ...]

    def table(self, name: str) -> Named | None:
        """Find a table by its name."""
        return next((table for table in self.tables if table.name == name), None)
