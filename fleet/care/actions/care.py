"""The care sheet in force, and what is told of upkeep: a task done or skipped, and the dirt that was seen."""

import datetime as dt
import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.facts.care import care_sheet
from fleet.facts.terms import to_document
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.rules import caresheet, tables
from fleet.rules.tables import Fault

LARGEST_FILE = 1_000_000


@dataclass(frozen=True, slots=True)
class Taken:
    """The code of the care sheet that is now in force, and whether that is anything new."""

    code: str
    changed: bool


def load_file(path: Path | str, *, by: models.User | None, on: dt.date) -> Taken:
    """Put a care sheet in force from its file; raises rules.tables.BadTable naming file and key."""
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise ValueError(f"at most {LARGEST_FILE:,} bytes are wanted")
        table = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as wrong:
        raise tables.BadTable([Fault(path.name, "a TOML file in UTF-8 is wanted")]) from wrong
    except (OSError, ValueError, RecursionError) as wrong:
        raise tables.BadTable([Fault(path.name, getattr(wrong, "strerror", None) or str(wrong))]) from wrong
    return load_table(table, name=path.name, by=by, on=on)


def load_table(table: Mapping[str, Any], *, name: str = "", by: models.User | None = None, on: dt.date) -> Taken:
    """Put a care sheet in force that is given as a table; all dues are worked out again.

    Where it does not say since when our upkeep is on file, the day of the sheet before it stays in force.
    """
    sheet = _read(table, name or str(table.get("code", "")), on=on)
    document = to_document(dict(table))
    digest = hashlib.sha256(document.encode()).hexdigest()
    with transaction.atomic():
        stored = models.CareSheet.objects.select_for_update().filter(code=sheet.code).first()
        if stored is not None and stored.in_force and stored.digest == digest:
            return Taken(sheet.code, changed=False)
        _put_in_force(stored, sheet, document, digest, by=by)
        refresh.refresh_all(on=on)
    return Taken(sheet.code, changed=True)


def _read(table: Mapping[str, Any], name: str, *, on: dt.date) -> caresheet.CareSheet:
    try:
        sheet = caresheet.read(table)
    except tables.BadTable as refused:
        raise tables.BadTable([Fault(f"{name}: {fault.where}", fault.wanted) for fault in refused.faults]) from refused
    faults = [
        Fault(f"{name}: task {task.code}: checked_on", f"{task.checked_on} is later than today, {on}")
        for task in sheet.tasks
        if task.checked_on > on
    ]
    if sheet.upkeep_on_file_from is not None and sheet.upkeep_on_file_from > on:
        faults.append(Fault(f"{name}: upkeep_on_file_from", f"{sheet.upkeep_on_file_from} is later than today, {on}"))
    if faults:
        raise tables.BadTable(faults)
    return sheet


def _put_in_force(
    stored: models.CareSheet | None, sheet: caresheet.CareSheet, document: str, digest: str, *, by: models.User | None
) -> None:
    load = models.Load.objects.create(kind="care sheet", name=sheet.code[:255], row_count=len(sheet.tasks), by=by)
    log = Log(by=by)
    began = models.CareSheet.objects.filter(in_force=True).values_list("upkeep_on_file_from", flat=True).first()
    begins = sheet.upkeep_on_file_from or began
    for other in models.CareSheet.objects.filter(in_force=True).exclude(code=sheet.code):
        log.note(load, other, "in_force", "yes", "no")
        other.in_force = False
        other.save(update_fields=["in_force"])
    row = stored or models.CareSheet(code=sheet.code)
    if stored is not None:
        log.note(load, row, "digest", row.digest, digest)
    row.document, row.digest, row.in_force, row.load = document, digest, True, load
    row.upkeep_on_file_from = begins
    row.save()
    if begins != began:
        log.note(load, row, "upkeep_on_file_from", began, begins)
    log.write()


def record(
    unit: int,
    task: str,
    *,
    day: dt.date,
    technician: str = "",
    skipped: bool = False,
    skip_reason: str = "",
    not_before: dt.date | None = None,
    dirt_wheel: int | None = None,
    dirt_coil: int | None = None,
    minutes: int | None = None,
    notes: str = "",
    write_up: models.WriteUp | None = None,
    by: models.User | None,
    on: dt.date,
    refreshes: bool = True,
) -> models.MaintenanceRecord:
    """Record a task done or skipped on a unit. Everything its system is due moves on.

    Without a task (blank) it is what was seen: the dirt, or a note. Whoever records many at once (a write-up) asks for no refresh and calls refresh.refresh for all the units afterward.
    """
    with transaction.atomic():
        row = models.Unit.objects.select_for_update().get(pk=unit)
        seen = dirt_wheel is not None or dirt_coil is not None or bool(notes.strip())
        faults = _faults(row, task, day, skipped=skipped, skip_reason=skip_reason, not_before=not_before, on=on)
        if not task and seen and not skipped:
            faults.pop("task", None)
        if faults:
            raise Refused(faults)
        made = models.MaintenanceRecord(
            unit=row,
            done_on=day,
            task=task,
            technician=technician.strip(),
            skipped=skipped,
            skip_reason=skip_reason,
            not_before=not_before,
            dirt_wheel=dirt_wheel,
            dirt_coil=dirt_coil,
            labor_minutes=minutes,
            notes=notes.strip(),
            write_up=write_up,
        )
        check(made)
        made.save()
        log = Log(by=by)
        log.note(None, made, "done_on", None, day, why="skipped" if skipped else "done")
        log.write()
        if refreshes:
            refresh.refresh([unit], on=on)
    return made


def done(unit: int, task: str, *, technician: str = "", by: models.User, on: dt.date) -> models.MaintenanceRecord:
    """Record in one step that a task was done today; said twice, it was done once."""
    with transaction.atomic():
        models.Unit.objects.select_for_update().get(pk=unit)
        told = models.MaintenanceRecord.objects.filter(unit=unit, task=task, done_on=on, skipped=False).first()
        return told or record(unit, task, day=on, technician=technician, by=by, on=on)


def take_back(pk: int, *, by: models.User, on: dt.date) -> models.MaintenanceRecord:
    """Take back what this person recorded today."""
    with transaction.atomic():
        row = models.MaintenanceRecord.objects.select_for_update().get(pk=pk)
        told = models.Change.objects.filter(table="maintenancerecord", object_id=pk)
        mine = told.filter(field="done_on", before="", by=by, load=None, at__date__gte=on - dt.timedelta(days=1))
        if row.write_up_id is not None or not mine.exists() or told.exclude(field="done_on").exists():
            raise Refused({"day": "Only whoever recorded it takes it back here, and on the same day."})
        log = Log(by=by)
        log.note(None, row, "done_on", row.done_on, None, why=f"taken back: {row.task}")
        log.write()
        row.delete()
        refresh.refresh([row.unit_id], on=on)
        row.pk = pk
    return row


def _faults(
    unit: models.Unit,
    task: str,
    day: dt.date,
    *,
    skipped: bool,
    skip_reason: str,
    not_before: dt.date | None,
    on: dt.date,
) -> dict[str, str]:
    """The faults of a maintenance record, by field."""
    faults = {}
    sheet = care_sheet()
    if sheet is None or sheet.task(task) is None:
        faults["task"] = f"wanted: a task of the care sheet in force; {task!r} is not one"
    if day > on:
        faults["day"] = f"wanted: a day no later than today ({on.isoformat()})"
    elif unit.gone_on is not None and day > unit.gone_on:
        faults["day"] = f"wanted: a day no later than {unit.gone_on.isoformat()}, when it was {unit.gone_how}"
    elif unit.came_on is not None and day < unit.came_on:
        faults["day"] = f"wanted: a day no earlier than {unit.came_on.isoformat()}, when it came"
    if skipped and not skip_reason:
        faults["skip_reason"] = "Say why it was skipped."
    if not skipped and (skip_reason or not_before):
        faults["skip_reason"] = "Only a skipped task has a reason for it."
    if not_before is not None and not_before < day:
        faults["not_before"] = f"wanted: a day no earlier than {day.isoformat()}"
    return faults
