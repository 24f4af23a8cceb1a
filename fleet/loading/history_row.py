"""One row of a history file."""

import datetime as dt
from dataclasses import dataclass

from fleet.loading.loading import Cells

NAMES_THE_UNIT = {"maker", "model", "serial", "reference"}


@dataclass(slots=True, eq=False)
class Row:
    """One row: its number in the file, its cells, and the folded names of its unit (blank where the serial is enough).

    `unit` is the unit's own key where a screen tells of it, which then needs no name.
    """

    number: int
    cells: Cells
    serial_key: str
    maker_key: str
    model_key: str
    unit: int | None = None

    @property
    def plate(self) -> tuple[str, str, str]:
        """What names the unit, folded: maker, model and serial."""
        return self.maker_key, self.model_key, self.serial_key

    @property
    def kind(self) -> str:
        """What kind of thing it tells."""
        return self.cells["kind"]

    @property
    def day(self) -> dt.date:
        """The day it tells of."""
        return dt.date.fromisoformat(self.cells["day"])

    @property
    def reference(self) -> str:
        """What makes it safe to load twice, blank if it has none."""
        return self.cells.get("reference", "")

    @property
    def content(self) -> Cells:
        """What it tells, but for which unit it tells it of."""
        return {name: cell for name, cell in self.cells.items() if name not in NAMES_THE_UNIT}
