"""The record of a system's start-up: tightness, vacuum, line length and charge, once told and put right since."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from fleet import models
from fleet.care.facts.start_up import MEASURED, readings_of, text_of, unit_of
from fleet.claims.actions import failure_rows
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.actions import correct as correcting
from fleet.rules.dates import in_words
from fleet.sheets import columns
from fleet.sheets.columns import ParseError

PLATE = "plate_charge_oz"


def record(
    system: int, edits: Mapping[str, Edit], *, day: str, by: models.User | None, on: dt.date, why: str = ""
) -> bool:
    """Record what was measured at start-up, each as "500 micron"; return whether anything changed.

    `edits` are by the name of the reading, and `plate_charge_oz`. A text that is blank takes the reading off.
    """
    unknown = set(edits) - {*MEASURED, PLATE}
    if unknown:
        raise KeyError(f"not told at start-up: {sorted(unknown)}")
    with transaction.atomic():
        models.System.objects.select_for_update().get(pk=system)
        unit = unit_of(system)
        if unit is None:
            raise Refused({"": "This system has no units."})
        stored = readings_of(unit.pk)
        moved = {name: edits[name] for name in MEASURED if name in edits and edits[name].was != edits[name].now}
        on_day, faults, meanwhile = _day(day, on=on), {}, {}
        values: dict[str, dict[str, Any] | None] = {}
        for name, edit in moved.items():
            now = text_of(stored.get(name))
            if now not in (edit.was, edit.now):
                meanwhile[name] = now
                faults[name] = f"Somebody changed this in the meantime; it is now {now or 'blank'}."
                continue
            try:
                values[name] = _read(name, edit.now)
            except ParseError as wanted:
                faults[name] = f"wanted: {wanted}"
        if on_day is None and (values or stored):
            faults["day"] = f"wanted: the day of the start-up, {in_words(on)} or earlier"
        if faults:
            raise Conflict(faults, now=meanwhile) if meanwhile else Refused(faults)
        changed = on_day is not None and _write(unit, stored, values, on_day, by=by, why=why)
        if PLATE in edits and edits[PLATE].was != edits[PLATE].now:
            correcting.unit(unit.pk, {PLATE: edits[PLATE]}, by=by, on=on, why=why)
            changed = True
    return changed


def _day(text: str, *, on: dt.date) -> dt.date | None:
    column = columns.day(last=on)
    try:
        day: dt.date | None = column.value(column.plain(text.strip())) if text.strip() else None
    except ParseError:
        return None
    return day


def _read(name: str, text: str) -> dict[str, Any] | None:
    """Read a value with its measure; None where it is blank."""
    if not text.strip():
        return None
    value, _, measure = text.strip().partition(" ")
    known = failure_rows.reading_columns({"reading": name, "measure": measure.strip()})
    cells = {"value": value, "measure": measure.strip()}
    return {field: known[field].value(known[field].plain(cell)) for field, cell in cells.items()}


def _write(
    unit: models.Unit,
    stored: Mapping[str, models.Reading],
    values: Mapping[str, dict[str, Any] | None],
    day: dt.date,
    *,
    by: models.User | None,
    why: str,
) -> bool:
    log = Log(by=by)
    for name, fields in values.items():
        row = stored.get(name)
        before = text_of(row)
        if fields is None:
            if row is not None:
                log.note(None, unit, name, before, "", why=why)
                row.delete()
            continue
        row = row or models.Reading(unit=unit, reading=name, start_up=True, by=by)
        row.value, row.measure, row.on = fields["value"], fields["measure"], day
        check(row)
        row.save()
        log.note(None, unit, name, before, text_of(row), why=why)
    for name, row in stored.items():
        if name not in values and row.on != day:
            log.note(None, unit, f"day of the {name}", row.on, day, why=why)
            row.on = day
            row.save(update_fields=["on"])
    changed = bool(log)
    log.write()
    return changed
