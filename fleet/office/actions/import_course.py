"""How a file goes on from one question to the next, at once or in the background, and whether somebody may still answer."""

import datetime as dt
import uuid
from collections.abc import Callable
from contextlib import AbstractContextManager

from django.db import transaction

from fleet import models
from fleet.later import later
from fleet.models.jobs import ENDED
from fleet.office.actions import import_columns, import_confirm, import_files, import_values
from fleet.refusals import Conflict, Refused
from fleet.sheets import Problem

# What is read while the person who brought it waits for the page; anything larger is read in the background.
READ_AT_ONCE = 200_000

OPEN = ("asking", "checked", "refused")
Tell = Callable[[int, int | None], None]
_ANSWERS = (
    "step",
    "tops",
    "sheet_name",
    "heading_row",
    "sheet",
    "columns",
    "plan",
    "findings",
    "row_count",
    "state",
    "report",
)


def read(
    *,
    imported: int,
    on: dt.date,
    tell: Tell = lambda done, of: None,
    finishing: Callable[[], AbstractContextManager[None]] = transaction.atomic,
) -> None:
    """Read through a file up to the next step at which there is something to ask."""
    row = waiting(imported, "reading")
    try:
        _advance(row, on=on, tell=lambda done: tell(min(done, row.row_count or done), row.row_count))
        row.state = "asking"
    except Problem as problem:
        row.state, row.report = "refused", {"problems": [[problem.row, problem.column, problem.wanted]], "count": 1}
    with finishing():
        row.save(update_fields=_ANSWERS)
        if row.state == "asking" and row.step == "ready":
            # Nothing is left to ask: what would come of it is what they want to see.
            begin(row, correcting=row.correcting, checking=True)


def _advance(row: models.Import, *, on: dt.date, tell: Callable[[int], None]) -> None:
    if row.step == "sheet":
        import_columns.begin(row)
    if row.step == "columns" and not row.sheet:
        import_columns.look_through(row, tell=tell)
    if row.step == "values" and not import_values.survey(row, on=on, tell=tell):
        row.step = "confirm"
    if row.step == "confirm" and not import_confirm.survey(row, on=on, tell=tell) and row.step == "confirm":
        row.step = "ready"


def go_on(row: models.Import, *, on: dt.date) -> None:
    """Read on to the next question: at once, or in the background where that takes longer than somebody would wait."""
    row.state, row.report, row.job = "reading", {}, None
    drop_problems(row)
    row.save(update_fields=[*_ANSWERS, "problems_stored", "job", "by"])
    if import_files.path_of(row.stored).stat().st_size > READ_AT_ONCE:
        put_off("read_import", row)
    else:
        read(imported=row.pk, on=on)
        row.refresh_from_db()


def begin(row: models.Import, *, correcting: bool, checking: bool) -> models.Job:
    drop_problems(row)
    row.state, row.correcting, row.checking, row.report = "waiting", correcting, checking, {}
    row.save(update_fields=["state", "correcting", "checking", "report", "problems_stored", "by", "plan"])
    import_files.begin(row.stored)
    return put_off("take_import", row)


def put_off(name: str, row: models.Import, *, by: models.User | None = None, why: str | None = None) -> models.Job:
    """Have something done with a file in the background; `by` is whoever wants it, if not who brought the file last."""
    key = f"{name} {row.pk} {uuid.uuid4().hex}"
    reason = {} if why is None else {"why": why, "whose": by.pk if by else None}
    row.job = later(name, key=key, about=row.name, by=by or row.by, imported=row.pk, **reason)  # type: ignore[arg-type]
    models.Import.objects.filter(pk=row.pk).update(job=row.job)
    return row.job


def waiting(pk: int, state: str) -> models.Import:
    row = models.Import.objects.filter(pk=pk, state=state).select_related("by", "job").first()
    if row is None:
        raise Refused("This file is gone, or somebody finished with it. Look at the list of imports.")
    if not row.stored or not import_files.path_of(row.stored).exists():
        raise Refused("The file is no longer on file. Upload it again.")
    return row


def open_row(imported: models.Import) -> models.Import:
    """The import as it is now, if its steps are still open; else raises Conflict."""
    row = models.Import.objects.select_related("job").get(pk=imported.pk)
    if (
        not row.tops
        or not row.stored
        or not import_files.path_of(row.stored).exists()
        or not (row.state in OPEN or (row.state in ("reading", "waiting") and not is_under_way(row)))
    ):
        raise Conflict("It is being worked on, was imported, or its file was deleted. Open it again.")
    return row


def is_under_way(row: models.Import) -> bool:
    return row.state in ("reading", "waiting") and row.job is not None and row.job.state not in ENDED


def drop_problems(row: models.Import) -> None:
    gone, row.problems_stored = row.problems_stored, ""
    transaction.on_commit(lambda: import_files.remove(gone))
