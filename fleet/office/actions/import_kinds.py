"""What kinds of file the import page takes, by the loader of each: its columns, and those that every row needs, stand there."""

import datetime as dt
from dataclasses import dataclass

from fleet.loading import agreements, history, installs
from fleet.loading.loading import Columns, Loader
from fleet.office.pages import imports as pages
from fleet.rules.spreadsheets import plan as plans
from fleet.rules.spreadsheets.cells import HEADS
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.headings import ADDRESS, FIRST_NAME, LAST_NAME, NOTE


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file: what it is called and brings, and what takes it."""

    title: str
    brings: str
    things: str
    loader: Loader
    # What a column of theirs may be besides ours, and how a column that they do not have can be worked out.
    more: tuple[str, ...] = (NOTE,)
    ways: tuple[tuple[str, Way], ...] = ()

    @property
    def required(self) -> tuple[str, ...]:
        """Those of its columns that each row needs."""
        return self.loader.required

    def columns_on(self, on: dt.date) -> Columns:
        """How each of its columns is read; facts are never later than that day."""
        return self.loader.columns_on(on)

    @property
    def words(self) -> pages.Kind:
        """What a page shows of it."""
        choices = {name: words for name in self.names if (words := self.choices(name))}
        return pages.Kind(self.title, self.things, self.targets, self.required, self.ways, choices)

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its columns."""
        return tuple(self.columns_on(dt.date.max))

    @property
    def targets(self) -> tuple[str, ...]:
        """Whatever a column of theirs may be."""
        return (*self.names, *self.more)

    @property
    def days(self) -> frozenset[str]:
        """Those of its columns that hold days."""
        return frozenset(name for name, column in self.columns_on(dt.date.max).items() if column.is_day)

    def ours(self, on: dt.date) -> plans.Columns:
        """Its columns as a spreadsheet is read by them; facts are never later than that day."""
        return plans.Columns(
            {name: column.plain for name, column in self.columns_on(on).items()}, self.days, self.required
        )

    def choices(self, column: str) -> tuple[str, ...]:
        """The words of which one may stand in a column, if it has a closed list."""
        if column == "role":
            return (*self.columns_on(dt.date.max)[column].words, *HEADS)
        known = self.columns_on(dt.date.max).get(column)
        return known.words if known else ()


_KINDS = (
    Kind(
        "Installs",
        "customers, sites, systems and units",
        "units",
        installs.LOADER,
        (ADDRESS, FIRST_NAME, LAST_NAME, NOTE),
        (
            ("site", Way.SITE_HOME),
            ("site", Way.SITE_STREET),
            ("system", Way.SYSTEM_DAY),
            ("system", Way.SYSTEM_OUTDOOR),
            ("maker", Way.MAKER_MODEL),
        ),
    ),
    Kind(
        "History",
        "what failed, was done, exchanged, moved or sold",
        "rows",
        history.LOADER,
    ),
    Kind(
        "Agreements",
        "what customers have bought of maintenance",
        "agreements",
        agreements.LOADER,
        (FIRST_NAME, LAST_NAME, NOTE),
    ),
)
KINDS = {kind.loader.kind: kind for kind in _KINDS}
