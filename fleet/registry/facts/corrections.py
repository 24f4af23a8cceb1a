"""Which changes of the log can be undone by themselves: corrections of a fact that still says what they set."""

from typing import Any

from fleet import models
from fleet.models.facts import facts_of
from fleet.registry.facts.swaps import OF_A_SWAP
from fleet.sheets.columns import in_plain

TABLES: dict[str, Any] = {
    "customer": models.Customer,
    "site": models.Site,
    "unit": models.Unit,
    "siteuse": models.SiteUse,
    "registration": models.Registration,
}
_FACTS = {name: {*facts_of(table)} for name, table in TABLES.items()}
for _name in ("site", "siteuse"):
    _FACTS[_name].add("use")
_FACTS["registration"] = {"in_name", "serial", "fine_name", "fine_serial_key"}
_OF_A_MERGE, _MERGE_UNDONE = "merged with ", "merge undone"
_MOVED = {"system", "left_on", "joined_on", "removed_on", "removal_reason", "replaced_on", "took_over_from"}
_ELSEWHERE = {
    "registration": "Correct it among the unit’s registrations.",
    "attachment": "Correct it among what was promised for the unit.",
    "failure": "Correct the failure.",
    "maintenancerecord": "Correct it in the unit’s history.",
}


def why_not(change: models.Change, now: str | None) -> str:
    """Why a change cannot be undone by itself, and what to do instead; blank where it can.

    `now` is what the fact says by now, as the log writes it; None where what it was of is gone.
    """
    if change.field in _MOVED or change.table in ("place", "idle", "historyrow"):
        return "Undo it where you say what happened to the unit."
    if OF_A_SWAP.match(change.why):
        return "It came with a swap. Undo the swap."
    if change.why.startswith(_OF_A_MERGE):
        return "It came with a merge. Undo the merge."
    if change.why == _MERGE_UNDONE:
        return "It came with undoing a merge."
    if change.why.startswith(("sold on ", "sale undone")):
        return "It came with a sale. Undo the sale, or record it again."
    if change.field not in _FACTS.get(change.table, ()):
        return _ELSEWHERE.get(change.table, "This was no correction of a fact.")
    if now is None:
        return "It is no longer on file."
    return "" if now == change.after else "It was changed again since."


def current(change: models.Change, row: Any) -> str | None:
    """What the fact of a change says by now, of the row that it is of; None where there is no such row or fact."""
    if row is None or change.field not in _FACTS.get(change.table, ()):
        return None
    if isinstance(row, models.Site) and change.field == "use":
        first = next((use for use in row.uses.all() if use.from_on is None), None)
        return first.use if first else ""
    return in_plain(getattr(row, change.field))
