"""What becomes of a unit, told on a screen: moved, exchanged, taken out, idle, back in use.

It goes the way of a row of a history file, so that one set of rules says what can be.
"""

import datetime as dt
from collections.abc import Mapping

from fleet import models
from fleet.facts import matches
from fleet.loading import history
from fleet.refusals import Refused

KINDS = ("moved", "exchanged", "removed", "idle", "back in use")
CELLS = ("to_site", "to_system", "new_model", "new_serial", "under_warranty", "still_matched", "cause", "notes")


def tell(pk: int, *, kind: str, day: str, told: Mapping[str, str], by: models.User | None, on: dt.date) -> models.Unit:
    """Record what became of a unit on a day; return the unit there afterward (after an exchange, the new one)."""
    unit = models.Unit.objects.get(pk=pk)
    if kind not in KINDS:
        raise Refused({"kind": f"Choose one of {', '.join(KINDS)}."})
    row = {name: told.get(name, "").strip() for name in CELLS}
    if kind == "exchanged" and not row["still_matched"] and matches.is_asked(unit):
        raise Refused({"still_matched": "Answer yes, no or not known: coverage of the indoor units may depend on it."})
    row |= {"maker": unit.maker, "model": unit.model, "serial": unit.serial, "kind": kind, "day": day.strip()}
    # By its key, not by its plate: a unit whose label cannot be read has a life too.
    report = history.load_row(row, unit=pk, by=by, on=on)
    if not report.added:
        raise Refused({"day": "This is already on file for that day."})
    unit.refresh_from_db()
    if kind != "exchanged" or unit.removed_on is None:
        return unit
    heir = models.Unit.objects.filter(took_over_from=unit).first()
    if heir is None and row["new_serial"]:
        last = models.HistoryRow.objects.filter(unit=unit, table="unit").order_by("-pk").first()
        if last is not None and last.object_id is not None:
            heir = models.Unit.objects.filter(pk=last.object_id).first()
    return heir or unit
