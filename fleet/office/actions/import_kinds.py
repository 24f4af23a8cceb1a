"""What kinds of file the import page takes. A further kind is one entry here and its word in models.office.IMPORT_KINDS."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from fleet.loading import agreements, history, installs
from fleet.loading.loading import Columns, Report
from fleet.office.pages import imports as pages


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file: what it is called and brings, its columns, those that each row needs, and what takes it."""

    title: str
    brings: str
    things: str
    columns_on: Callable[[dt.date], Columns]
    required: tuple[str, ...]
    load: Callable[..., Report]

    @property
    def words(self) -> pages.Kind:
        """What a page shows of it."""
        return pages.Kind(self.title, self.things, self.names, self.days, self.required)

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its columns."""
        return tuple(self.columns_on(dt.date.max))

    @property
    def days(self) -> frozenset[str]:
        """Those of its columns that hold days."""
        return frozenset(name for name, column in self.columns_on(dt.date.max).items() if column.is_day)


KINDS: dict[str, Kind] = {
    "installs": Kind(
        "Installs",
        "customers, sites, systems and units",
        "units",
        installs.columns_on,
        installs.REQUIRED,
        installs.load,
    ),
    "history": Kind(
        "History",
        "what failed, was done, exchanged, moved or sold",
        "rows",
        history.columns_on,
        history.REQUIRED,
        history.load,
    ),
    "agreements": Kind(
        "Agreements",
        "what customers have bought of maintenance",
        "agreements",
        agreements.columns_on,
        agreements.REQUIRED,
        agreements.load,
    ),
}
