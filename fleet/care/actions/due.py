"""What is told of maintenance: a task done or skipped, and the dirt that was seen."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.facts.care import care_sheet
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.rules.dates import in_words


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
        known = models.MaintenanceRecord.objects.filter(unit=unit, task=task, done_on=on, skipped=False).first()
        return known or record(unit, task, day=on, technician=technician, by=by, on=on)


def undo(pk: int, *, by: models.User, on: dt.date) -> models.MaintenanceRecord:
    """Take back what this person recorded today."""
    with transaction.atomic():
        row = models.MaintenanceRecord.objects.select_for_update().get(pk=pk)
        changes = models.Change.objects.filter(table="maintenancerecord", object_id=pk)
        mine = changes.filter(field="done_on", before="", by=by, load=None, at__date__gte=on - dt.timedelta(days=1))
        if row.write_up_id is not None or not mine.exists() or changes.exclude(field="done_on").exists():
            raise Refused({"day": "Only the person who recorded it can undo it here, and only on the same day."})
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
        faults["task"] = f"wanted: a task of the care sheet in force, not {task!r}"
    if day > on:
        faults["day"] = f"wanted: {in_words(on)} or an earlier day"
    elif unit.removed_on is not None and day > unit.removed_on:
        faults["day"] = (
            f"wanted: {in_words(unit.removed_on)} or an earlier day, since it was {unit.removal_reason} then"
        )
    elif unit.replaced_on is not None and day < unit.replaced_on:
        faults["day"] = f"wanted: {in_words(unit.replaced_on)} or a later day, since it came then"
    if skipped and not skip_reason:
        faults["skip_reason"] = "Say why it was skipped."
    if not skipped and (skip_reason or not_before):
        faults["skip_reason"] = "Only a skipped task can have a reason. Clear the reason, or mark it skipped."
    if not_before is not None and not_before < day:
        faults["not_before"] = f"wanted: {in_words(day)} or a later day"
    return faults
