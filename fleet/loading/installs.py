"""Taking an installs file: the customers, sites, systems and units that a contractor has in a spreadsheet."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fleet import models
from fleet.loading import install_units
from fleet.loading.fact_columns import columns_of
from fleet.loading.former import Former
from fleet.loading.install_levels import LEVELS, take_level
from fleet.loading.loading import Bringing, Cells, Columns, Loading, Report
from fleet.models.facts import facts_of
from fleet.rules import words
from fleet.sheets import columns

__all__ = ["Report", "Taken", "load", "load_rows", "load_system"]

KEYS = ("maker_key", "model_key", "serial_key")
REQUIRED = ("customer", "site", "system", "role", "maker", "model")


def load(
    path: Path | str,
    *,
    by: models.User | None,
    on: dt.date,
    correct: bool = False,
    check: bool = False,
    name: str | None = None,
    bringing: Bringing | None = None,
) -> Report:
    """Take a file whole, or raise BadFile and change nothing; `check` only reports what would come of it."""
    loading = _loading(by=by, on=on, correct=correct, bringing=bringing)
    return loading.take(loading.file(path, name), _Check(loading).row, _apply, dry=check)


def load_rows(
    rows: Sequence[Mapping[str, str]],
    *,
    by: models.User | None = None,
    on: dt.date,
    correct: bool = False,
    check: bool = False,
) -> Report:
    """Take rows as `load` takes those of a file."""
    loading = _loading(by=by, on=on, correct=correct)
    return loading.take(loading.given(rows), _Check(loading).row, _apply, dry=check)


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of rows that are all of one system: which it is on file, and the load of whatever was new."""

    report: Report
    system: int
    load: int | None


def load_system(rows: Sequence[Mapping[str, str]], *, by: models.User | None, on: dt.date) -> Taken:
    """Take rows of one system; a file may know it by names that it had before, so what it is on file is told."""
    found: list[tuple[int, int | None]] = []

    def apply(loading: Loading) -> None:
        _apply(loading)
        ((system,),) = loading.stage.find("SELECT id FROM system_ids")
        found.append((system, loading.load.pk if loading.count["added"] else None))

    loading = _loading(by=by, on=on, correct=False)
    report = loading.take(loading.given(rows), _Check(loading).row, apply, dry=False)
    return Taken(report, *found[-1])


def columns_on(on: dt.date) -> Columns:
    """Say how each column is read; facts are never later than that day."""
    customer, site, system, unit = (
        {name: column for name, column in columns_of(table, last=on).items() if facts_of(table)[name].in_files}
        for table in (models.Customer, models.Site, models.System, models.Unit)
    )
    return {
        "customer": customer.pop("name"),
        **customer,
        "site": site.pop("name"),
        **site,
        "use": columns.choice(words.USES),
        "system": system.pop("name"),
        **unit,
        "registered_on": columns.day(last=on),
        "registration_number": columns.text(120),
        "registration_accepted_late": columns.yes_no(),
        "attached": columns.codes(),
    }


def _loading(*, by: models.User | None, on: dt.date, correct: bool, bringing: Bringing | None = None) -> Loading:
    return Loading("installs", columns_on(on), KEYS, by=by, on=on, correct=correct, bringing=bringing)


class _Check:
    """Checks what one row says as a whole."""

    def __init__(self, loading: Loading) -> None:
        self._note = loading.problems.note
        self._codes = set(models.Terms.objects.values_list("code", flat=True))

    def row(self, number: int, cells: Cells) -> bool:
        """Note what is missing or unknown; add what the unit is known by."""
        missing = [name for name in REQUIRED if name not in cells]
        for name in missing:
            self._note(number, name, "a value")
        if "serial" not in cells and "room" not in cells:
            self._note(number, "serial", "a serial, or a room while the label cannot be read")
        for name in ("maker", "model", "serial"):
            if name in cells:
                cells[f"{name}_key"] = words.key(cells[name])
                if not 0 < len(cells[f"{name}_key"]) <= 120:  # folding makes a few letters two
                    self._note(number, name, "something other than spaces and hyphens, of at most 120 letters")
        for code in cells.get("attached", "").split(";"):
            if code and code not in self._codes:
                self._note(number, "attached", f"codes of terms on file; {code!r} is not one")
        if cells.get("installed_by", "").casefold() == "us":
            cells["installed_by"] = "us"
        return not missing


def _apply(loading: Loading) -> None:
    """Take the levels from the outside in, then the units."""
    former = Former()
    for level in LEVELS:
        take_level(level, loading, former)
    install_units.take(loading, former)
