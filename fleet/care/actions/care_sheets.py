"""The care sheet in force, read from a file or a table."""

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
from fleet.facts.terms import to_document
from fleet.log import Log
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
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as wrong:
        raise tables.BadTable([Fault(path.name, wrong.strerror or str(wrong))]) from wrong
    return load_table(read_table(content, name=path.name), name=path.name, by=by, on=on)


def read_table(content: bytes, *, name: str) -> dict[str, Any]:
    """Read the table that a file holds; raises rules.tables.BadTable naming the file."""
    try:
        if len(content) > LARGEST_FILE:
            raise ValueError(f"at most {LARGEST_FILE:,} bytes are wanted")
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError as wrong:
        raise tables.BadTable([Fault(name, "a TOML file in UTF-8 is wanted")]) from wrong
    except (ValueError, RecursionError) as wrong:
        raise tables.BadTable([Fault(name, str(wrong))]) from wrong


def load_table(table: Mapping[str, Any], *, name: str = "", by: models.User | None = None, on: dt.date) -> Taken:
    """Put a care sheet in force that is given as a table; all dues are worked out again.

    Where it does not say since when our upkeep is on file, the day of the sheet before it stays in force.
    """
    sheet = read(table, name or str(table.get("code", "")), on=on)
    document = to_document(dict(table))
    digest = hashlib.sha256(document.encode()).hexdigest()
    with transaction.atomic():
        stored = models.CareSheet.objects.select_for_update().filter(code=sheet.code).first()
        if stored is not None and stored.in_force and stored.digest == digest:
            return Taken(sheet.code, changed=False)
        _put_in_force(stored, sheet, document, digest, by=by)
        refresh.refresh_all(on=on)
    return Taken(sheet.code, changed=True)


def read(table: Mapping[str, Any], name: str, *, on: dt.date) -> caresheet.CareSheet:
    """Read a care sheet as of today; raises rules.tables.BadTable with every fault, each naming the file and its key."""
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


def begin_record(*, load: models.Load, by: models.User | None, on: dt.date) -> None:
    """Have our record of maintenance begin on a day: what fell due before counts as done. Whoever calls works the dues out."""
    row = models.CareSheet.objects.select_for_update().get(in_force=True)
    log = Log(by=by)
    log.note(load, row, "upkeep_on_file_from", row.upkeep_on_file_from, on)
    row.upkeep_on_file_from = on
    row.save(update_fields=["upkeep_on_file_from"])
    log.write()
