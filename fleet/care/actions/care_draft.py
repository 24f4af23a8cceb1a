"""The care sheet that is being written on the screen: begun, changed task by task, and put in force.

It is kept as the table that a file would hold, so that what a file and the screen give is read by the same rules.
"""

import datetime as dt
import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from fleet import models
from fleet.care.actions import care_sheets
from fleet.facts.terms import from_document, to_document
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.rules import tables

# The care sheet that comes with the program, to be changed to one's own.
PRODUCT = Path("fixtures/care/house.toml")
MOST_TASKS = 200
_GONE = "Nobody is writing a care sheet any more. Begin again from the sheet in force."


def begin(*, table: Mapping[str, Any], by: models.User) -> None:
    """Begin to write, from a table that is filled in already or from an empty one; raises Refused where one is being written."""
    with transaction.atomic():
        if models.CareDraft.objects.filter(pk=1).exists():
            raise Refused("A care sheet is being written already. Finish it or throw it away first.")
        now = models.CareSheet.objects.filter(in_force=True).values_list("digest", flat=True).first()
        row = models.CareDraft(pk=1, typed=_kept(table), begun_from=now or "", by=by)
        row.save(force_insert=True)
        _note(row, "", "begun", by=by)


def from_former(pk: int, *, by: models.User) -> None:
    """Begin from a sheet on file: the one in force, or a former one."""
    stored = models.CareSheet.objects.filter(pk=pk).first()
    if stored is None:
        raise Refused("That care sheet is not on file any more.")
    begin(table=from_document(stored.document), by=by)


def from_product(*, by: models.User) -> None:
    """Begin from the sheet that comes with the program."""
    begin(table=tomllib.loads((settings.BASE_DIR / PRODUCT).read_text()), by=by)


def from_file(content: bytes, *, name: str, by: models.User, on: dt.date) -> None:
    """Begin from a file, held to all that the command that loads one holds it to; raises rules.tables.BadTable."""
    table = care_sheets.read_table(content, name=name)
    care_sheets.read(table, name, on=on)
    begin(table=table, by=by)


def general(*, facts: Mapping[str, Any], version: int, by: models.User) -> None:
    """Change what holds for every visit; a fact that is None is left out of the sheet."""
    with transaction.atomic():
        row = _locked(version)
        table = read(row)
        kept = {name: value for name, value in table.items() if name not in facts}
        told = {name: value for name, value in facts.items() if value is not None}
        _save(row, told | kept, by=by)


def put_task(*, number: int | None, task: Mapping[str, Any], version: int, by: models.User) -> None:
    """Change the task at a place (from 0), or add one (None); raises Refused for a code that another task has."""
    with transaction.atomic():
        row = _locked(version)
        table = read(row)
        tasks = list(table.get("task", []))
        others = tasks if number is None else [one for place, one in enumerate(tasks) if place != number]
        if any(one.get("code") == task["code"] for one in others):
            raise Refused("Another task has that short name. Choose another one.", "code")
        if number is None:
            if len(tasks) >= MOST_TASKS:
                raise Refused(f"A care sheet holds at most {MOST_TASKS} tasks.")
            tasks.append(dict(task))
        elif number < len(tasks):
            tasks[number] = dict(task)
        else:
            raise Refused(_GONE)
        _save(row, table | {"task": tasks}, by=by)


def drop_task(*, number: int, version: int, by: models.User) -> str:
    """Take a task off the sheet; return its title."""
    with transaction.atomic():
        row = _locked(version)
        table = read(row)
        tasks = list(table.get("task", []))
        if number >= len(tasks):
            raise Refused(_GONE)
        gone = tasks.pop(number)
        _save(row, table | {"task": tasks}, by=by)
    return str(gone.get("title", ""))


def throw_away(*, by: models.User) -> bool:
    """Write no more on it; False where nobody was."""
    with transaction.atomic():
        row = models.CareDraft.objects.select_for_update().filter(pk=1).first()
        if row is None:
            return False
        _note(row, "begun", "thrown away", by=by)
        row.delete()
    return True


def put_in_force(*, version: int, seen: str, by: models.User, on: dt.date) -> care_sheets.Taken:
    """Put what was written in force; all dues are worked out again.

    `seen` is the digest of the sheet in force that it was compared with; raises Conflict where that is another by now.
    """
    with transaction.atomic():
        row = _locked(version)
        now = models.CareSheet.objects.filter(in_force=True).values_list("digest", flat=True).first() or ""
        if now != seen:
            raise Conflict("Another care sheet was put in force meanwhile. Look over what yours changes in it.")
        table = read(row)
        _keep_former(table, on=on)
        try:
            taken = care_sheets.load_table(table, by=by, on=on)
        except tables.BadTable as refused:
            raise Refused("\n".join(str(fault) for fault in refused.faults)) from refused
        _note(row, "begun", f"in force as {taken.code}", by=by)
        row.delete()
    return taken


def _keep_former(table: Mapping[str, Any], *, on: dt.date) -> None:
    """Keep what a sheet of the same name says under a name of its own, so that it can be begun from again."""
    code = str(table.get("code", ""))
    stored = models.CareSheet.objects.filter(code=code).first()
    if stored is None or stored.document == to_document(dict(table)):
        return
    first = f"{code[:60]}, until {on.isoformat()}"
    taken = set(models.CareSheet.objects.filter(code__startswith=first).values_list("code", flat=True))
    names = (first, *(f"{first} ({number})" for number in range(2, len(taken) + 3)))
    models.CareSheet.objects.create(
        code=next(name for name in names if name not in taken),
        document=stored.document,
        digest=stored.digest,
        in_force=False,
        upkeep_on_file_from=stored.upkeep_on_file_from,
        load=stored.load,
    )


def read(row: models.CareDraft) -> dict[str, Any]:
    """What was written so far, as the table that a file would hold; its keys in one order, since PostgreSQL has its own."""
    return from_document(json.dumps(row.typed, sort_keys=True))


def _kept(table: Mapping[str, Any]) -> Any:
    return json.loads(to_document(dict(table)))


def _locked(version: int) -> models.CareDraft:
    row = models.CareDraft.objects.select_for_update(of=("self",)).select_related("by").filter(pk=1).first()
    if row is None:
        raise Refused(_GONE)
    if row.version != version:
        raise Conflict(
            f"{row.by or 'Somebody'} changed this care sheet meanwhile. Look at it, and save again to have yours."
        )
    return row


def _save(row: models.CareDraft, table: Mapping[str, Any], *, by: models.User) -> None:
    row.typed, row.version, row.by = _kept(table), row.version + 1, by
    row.save()


def _note(row: models.CareDraft, before: str, after: str, *, by: models.User) -> None:
    log = Log(by=by)
    log.note(None, row, "care sheet", before, after)
    log.write()
