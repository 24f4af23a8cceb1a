"""The history file: what failed, what was done, and what became of units and sites, in the order of days."""

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from fleet import models
from fleet.loading import failure_facts
from fleet.loading.history import batch
from fleet.loading.loading import Cells, Columns, Loader, Loading, Report
from fleet.rules import words
from fleet.sheets import columns

__all__ = ["LOADER", "load", "load_row", "load_rows"]

# Within a day: first what decides which unit is where, then what happened to it.
KINDS = (
    "exchanged", "moved", "removed", "idle", "back in use", "sold", "failure", "maintenance", "skipped", "registered",
    "accepted late", "attached", "notified",
)  # fmt: skip
REQUIRED = ("serial", "day", "kind")
_REQUIRED = {
    "skipped": ("task",),
    "exchanged": ("under_warranty",),
    "attached": ("terms",),
}
# Columns that would say something else, or nothing, with any other kind.
_ONLY = {
    ("component", "cause"): ("failure", "exchanged", "removed"),
    ("repaired_on", "part_taken_on", "new_part_number"): ("failure",),
    ("task", "dirt_wheel", "dirt_coil"): ("maintenance", "skipped"),
    ("not_before",): ("skipped",),
    ("new_model", "new_serial", "under_warranty", "still_matched"): ("exchanged",),
    ("to_site", "to_system"): ("moved",),
    ("terms",): ("registered", "accepted late", "attached", "notified"),
}
KINDS_WITH = {name: kinds for names, kinds in _ONLY.items() for name in names}


def columns_on(on: dt.date) -> Columns:
    """How each column is read; facts are never later than that day, plans may be."""
    day, name = columns.day(last=on), columns.text(120)
    of_failure = failure_facts.columns_on(on)
    return {
        "maker": name,
        "model": name,
        "serial": name,
        "day": day,
        "kind": columns.choice(KINDS),
        "component": columns.choice(words.COMPONENTS),
        "cause": of_failure["cause"],
        "task": name,
        "dirt_wheel": columns.whole(3),
        "dirt_coil": columns.whole(3),
        "repaired_on": of_failure["repaired_on"],
        "part_taken_on": of_failure["part_taken_on"],
        "not_before": columns.day(of="no later than"),
        "part_number": of_failure["part_number"],
        "new_part_number": of_failure["new_part_number"],
        "new_model": name,
        "new_serial": name,
        "under_warranty": columns.yes_no(),
        "still_matched": columns.choice(words.STILL_MATCHED),
        "to_site": columns.text(200),
        "to_system": name,
        "terms": columns.text(80),
        "number": name,
        "parts_cost": of_failure["parts_cost"],
        "labor_minutes": of_failure["labor_minutes"],
        "technician": of_failure["technician"],
        "reference": name,
        "notes": of_failure["notes"],
    }


class _Check:
    """Checks what one row says as a whole."""

    def __init__(self, loading: Loading, *, unit: int | None = None) -> None:
        self._unit = unit
        self._note = loading.problems.note
        self._codes = set(models.Terms.objects.values_list("code", flat=True))

    def __call__(self, number: int, cells: Cells) -> bool:
        """Note what is missing or out of place; add what the row is known and ordered by."""
        kind = cells.get("kind", "")
        known_by = () if self._unit else ("serial",)
        missing = [name for name in (*known_by, "day", "kind", *_REQUIRED.get(kind, ())) if name not in cells]
        for name in missing:
            self._note(number, name, "yes or no" if name == "under_warranty" else "a value")
        if missing:
            return False
        self._out_of_place(number, cells, kind)
        if "terms" in cells and cells["terms"] not in self._codes:
            self._note(number, "terms", f"the code of terms on file; {cells['terms']!r} is not one")
        for name in ("maker", "model", "serial", "new_model", "new_serial"):
            if name in cells and not 0 < len(words.key(cells[name])) <= 120:  # folding makes a few letters two
                self._note(number, name, "something other than spaces and hyphens, of at most 120 letters")
        self._add_keys(cells, kind)
        if self._unit:
            cells["unit"] = str(self._unit)
        return True

    def _out_of_place(self, number: int, cells: Cells, kind: str) -> None:
        if kind == "moved" and not cells.keys() & {"to_site", "to_system"}:
            self._note(number, "to_site", "the site or the system that it moved to")
        for name, kinds in KINDS_WITH.items():
            if name in cells and kind not in kinds:
                self._note(number, name, f"nothing in a row of this kind; it goes with {', '.join(kinds)}")
        if kind == "failure" and "component" not in cells and failure_facts.of_a_known_part(cells):
            self._note(number, "component", failure_facts.SAY_WHAT.removeprefix("wanted: "))
        own = dt.date.fromisoformat(cells["day"])
        days = {
            name: dt.date.fromisoformat(cells[name]) for name in (*failure_facts.DAYS, "not_before") if name in cells
        }
        for name in failure_facts.before(own, days):
            self._note(number, name, f"a day no earlier than {own}, the row's own, not {cells[name]}")

    def _add_keys(self, cells: Cells, kind: str) -> None:
        folded = {
            name: words.key(cell) if name in ("maker", "model", "serial") else cell for name, cell in cells.items()
        }
        for name in ("maker", "model", "serial"):
            cells[f"{name}_key"] = folded.get(name, "")
        cells["place_in_day"] = f"{KINDS.index(kind):02}"
        cells["fingerprint"] = hashlib.sha256(json.dumps(folded, sort_keys=True).encode()).hexdigest()


LOADER = Loader(
    "history",
    REQUIRED,
    columns_on,
    check=_Check,
    apply=batch.apply,
    keys=("maker_key", "model_key", "serial_key", "place_in_day", "fingerprint", "unit"),
)
load, load_rows = LOADER.load, LOADER.load_rows


def load_row(row: Mapping[str, str], *, unit: int, by: models.User | None, on: dt.date) -> Report:
    """Load a row of a unit by its key, which then needs no serial: a file names units by their plates, a screen shows one."""
    return replace(LOADER, check=partial(_Check, unit=unit)).load_rows([row], by=by, on=on)
