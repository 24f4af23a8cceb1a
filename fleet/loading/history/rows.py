"""One row of a history file, and what makes two rows the same."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fleet.loading.loading import Cells, Loading

NAMES_THE_UNIT = {"maker", "model", "serial", "reference"}


@dataclass(slots=True, eq=False)
class Row:
    """One row: its number in the file, its cells, and the folded names of its unit (blank where the serial is enough).

    `unit` is the unit's own key where a screen shows the unit, which then needs no name.
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
        """The kind of fact or move."""
        return self.cells["kind"]

    @property
    def day(self) -> dt.date:
        """The day on which it happened."""
        return dt.date.fromisoformat(self.cells["day"])

    @property
    def reference(self) -> str:
        """What makes it safe to load twice, blank if it has none."""
        return self.cells.get("reference", "")

    @property
    def content(self) -> Cells:
        """Its cells without those that name the unit."""
        return {name: cell for name, cell in self.cells.items() if name not in NAMES_THE_UNIT}


def staged(chunk: Sequence[tuple[Any, ...]], loading: Loading) -> Iterator[Row]:
    """Rows of the stage as rows of history."""
    names = loading.stage.columns
    for _, number, *line in chunk:
        filled = {name: cell for name, cell in zip(names, line, strict=True) if cell is not None}
        cells = {name: cell for name, cell in filled.items() if name in loading.columns}
        serial, maker, model = (filled.get(name, "") for name in ("serial_key", "maker_key", "model_key"))
        yield Row(number, cells, serial, maker, model, int(filled["unit"]) if "unit" in filled else None)


def digest_of(reference: str, unit: int | None, cells: Mapping[str, str]) -> str:
    """What is the same for rows that are the same: a digest of the reference, or else of the unit and all else of the row."""
    if reference:
        known_by = ["reference", reference]
    else:
        content = {name: cell for name, cell in cells.items() if name not in NAMES_THE_UNIT}
        known_by = ["row", str(unit or ""), json.dumps(content, sort_keys=True)]
    return hashlib.sha256("\0".join(known_by).encode()).hexdigest()
