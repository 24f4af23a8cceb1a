"""A row of a history file whose reference was loaded before: the same again, a blank filled, or a correction."""

import datetime as dt
from typing import Any

from django.apps import apps

from fleet import models
from fleet.derived import failure_answers, lookup
from fleet.loading.history.facts import KINDS, Facts
from fleet.loading.history.moves import Moves
from fleet.loading.history.rows import Row
from fleet.loading.loading import Loading
from fleet.rules import words

# Of the kinds that change where a unit is: the field that has the day.
_DAY = {"sold": "sold_on", "removed": "removed_on", "idle": "idle_on", "back in use": "back_on"}


def merge(
    row: Row, unit: models.Unit, earlier: models.HistoryRow, moves: Moves, facts: Facts, loading: Loading
) -> bool:
    """Merge a row into the earlier one of its reference; returns whether it brought anything new."""
    voided = models.Failure.objects.exclude(voided_on=None)
    if earlier.table == "failure" and earlier.object_id is not None and voided.filter(pk=earlier.object_id).exists():
        return False  # it counts for nothing, whatever a file says of it now
    if not earlier.table:
        return False  # it was undone, and so was whatever a file says of it now
    before: dict[str, str] = earlier.content
    if earlier.unit_id != unit.pk:
        stored = f"{earlier.unit} under this reference"
        loading.problems.note(row.number, "serial", f"the unit that is on file ({stored}), not {unit}")
        return False
    fresh = {name: cell for name, cell in row.content.items() if before.get(name, "") != cell}
    if not fresh:
        return False
    against = [name for name in fresh if name in before]
    if against and (not loading.correct or "kind" in against):
        for name in against:
            loading.note_contradiction(row.number, name, before[name], fresh[name])
        return False
    if not _mend(row, earlier, fresh, moves, facts, loading):
        return False
    earlier.content = before | fresh
    earlier.save(update_fields=["content"])
    return True


def _mend(
    row: Row, earlier: models.HistoryRow, fresh: dict[str, str], moves: Moves, facts: Facts, loading: Loading
) -> bool:
    """Change what came of the earlier row; of cells that nothing but the row keeps, the log says enough."""
    thing: Any = apps.get_model("fleet", earlier.table).objects.get(pk=earlier.object_id)
    if row.kind == "moved":
        mended = _mend_move(row, thing, fresh, moves, loading)
    elif row.kind == "exchanged":
        mended = _mend_exchange(row, earlier.unit, thing, fresh, loading)
    else:
        fields = KINDS[row.kind][1] if row.kind in KINDS else {"day": _DAY[row.kind]}
        values = facts.values(row, {name: field for name, field in fields.items() if name in fresh})
        mended = {name for name, field in fields.items() if field in values}
        before = failure_answers.not_kept_yet(thing, on=loading.on) if earlier.table == "failure" else None
        changed = loading.settle(thing, [(name, fields[name], values[fields[name]]) for name in mended], row.number)
        if changed:
            thing.save(update_fields=changed)
        if changed and before is not None:
            before.save()
    if mended is None:
        return False
    for name in fresh.keys() - mended:
        if name in earlier.content:
            loading.log_corrected(earlier, name, earlier.content[name], fresh[name])
        else:
            loading.log_filled(earlier, name, fresh[name])
    return True


def _mend_move(row: Row, place: models.Place, fresh: dict[str, str], moves: Moves, loading: Loading) -> set[str] | None:
    unit = place.unit
    last = models.Place.objects.filter(unit=unit, left_on=place.joined_on).select_related("system__site").first()
    if last is None:
        return None
    if fresh.keys() & {"to_site", "to_system"}:
        system = moves.destination(row, last.system)
        if system is None:
            return None
        loading.log_corrected(place, "system", place.system_id, system.pk)
        place.system = system
        place.save(update_fields=["system"])
        if place.left_on is None:
            moves.set_system(unit, system)
    if "day" in fresh:
        if (last.joined_on or dt.date.min) >= row.day or (place.left_on or dt.date.max) <= row.day:
            loading.problems.note(row.number, "day", "a day between the moves before and after it")
            return None
        loading.log_corrected(place, "joined_on", place.joined_on, row.day)
        last.left_on = place.joined_on = row.day
        last.save(update_fields=["left_on"])
        place.save(update_fields=["joined_on"])
    return {"day", "to_site", "to_system"} & fresh.keys()


def _mend_exchange(
    row: Row, unit: models.Unit, heir: models.Unit, fresh: dict[str, str], loading: Loading
) -> set[str] | None:
    """Correct the day of an exchange and what the new unit is known by; which kind of exchange it was stays as it is."""
    if "under_warranty" in fresh or (heir.pk == unit.pk and fresh.keys() & {"new_serial", "new_model"}):
        name = "under_warranty" if "under_warranty" in fresh else "new_serial"
        loading.problems.note(row.number, name, "what was told first; another kind of exchange is another row")
        return None
    if "still_matched" in fresh and unit.role == "outdoor":
        loading.settle(unit, [("still_matched", "matched_after", row.cells["still_matched"])], row.number)
        unit.save(update_fields=["matched_after"])
    known_by = [
        (f"new_{name}", name, row.cells[f"new_{name}"]) for name in ("model", "serial") if f"new_{name}" in fresh
    ]
    loading.settle(heir, known_by, row.number)
    heir.model_key, heir.serial_key = words.key(heir.model), words.key(heir.serial)
    if "day" in fresh:
        was_on, unit.removed_on = unit.removed_on, row.day
        loading.log_corrected(unit, "removed_on", was_on, row.day)
        unit.save(update_fields=["removed_on"])
        if heir.took_over_from_id == unit.pk:
            models.Place.objects.filter(unit=heir, joined_on=was_on).update(joined_on=row.day)
            heir.replaced_on = row.day
        elif heir.pk != unit.pk and heir.installed_on == was_on:
            heir.installed_on = row.day
    if heir.pk != unit.pk:
        heir.save()
        lookup.index(units=[heir])
        loading.stage.touch([heir.pk])
    return {"day", "new_model", "new_serial", "still_matched"} & fresh.keys()
