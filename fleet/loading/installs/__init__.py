"""The installs file: the customers, sites, systems and units that a contractor has in a spreadsheet."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fleet import models
from fleet.loading.fact_columns import columns_of
from fleet.loading.former import Former
from fleet.loading.installs import units
from fleet.loading.installs.levels import LEVELS, apply_level
from fleet.loading.loading import Cells, Columns, Loader, Loading, Report
from fleet.loading.namesakes import tell_apart
from fleet.models.facts import facts_of
from fleet.rules import words
from fleet.sheets import columns

__all__ = ["LOADER", "Installed", "load", "load_rows", "load_system"]

REQUIRED = ("customer", "site", "system", "role", "maker", "model")


def columns_on(on: dt.date) -> Columns:
    """How each column is read; facts are never later than that day."""
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


class _Check:
    """Checks what one row says as a whole."""

    def __init__(self, loading: Loading) -> None:
        self._note = loading.problems.note
        self._codes = set(models.Terms.objects.values_list("code", flat=True))

    def __call__(self, number: int, cells: Cells) -> bool:
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


def _apply(loading: Loading, owner: int | None = None) -> None:
    """Apply the levels from the outside in, then the units."""
    former = Former()
    tell_apart(loading, former, owner=owner)
    loading.problems.refuse_if_any()
    for level in LEVELS:
        apply_level(level, loading, former)
    units.apply(loading, former)


LOADER = Loader(
    "installs", REQUIRED, columns_on, check=_Check, apply=_apply, keys=("maker_key", "model_key", "serial_key")
)
load, load_rows = LOADER.load, LOADER.load_rows


@dataclass(frozen=True, slots=True)
class Installed:
    """What came of rows that are all of one system: the key of the system, and of the load of whatever was new."""

    report: Report
    system: int
    load: int | None


def load_system(
    rows: Sequence[Mapping[str, str]],
    *,
    by: models.User | None,
    on: dt.date,
    owner: int | None = None,
    check: bool = False,
) -> Installed:
    """Load rows of one system; a row may name it by names that it had before, so the report says which system it is.

    `owner` is the key of the customer, where several may have the name: one on file, or 0 for one still to be made.
    """
    systems: list[tuple[int, int | None]] = []

    def apply(loading: Loading) -> None:
        _apply(loading, owner)
        ((system,),) = loading.stage.select("SELECT id FROM system_ids")
        systems.append((system, loading.load.pk if loading.count["added"] else None))

    report = replace(LOADER, apply=apply).load_rows(rows, by=by, on=on, check=check)
    return Installed(report, *systems[-1])
