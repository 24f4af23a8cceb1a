"""The import page: a file is brought, its columns are matched, and it is checked or taken in the background.

The file itself goes through the same loading as on the command line (`actions.installs`, `actions.history`); here is only
what a person's own sheet needs around it. An import waits while its job does something; how far that is, and whether it
was stopped or failed, stands with the job.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from pathlib import PurePosixPath, PureWindowsPath
from typing import BinaryIO

from django.db import transaction

from fleet import models
from fleet.later import later
from fleet.models.jobs import ENDED
from fleet.office.actions import import_files, import_read, import_take, jobs
from fleet.office.actions.import_kinds import KINDS
from fleet.refusals import Conflict, Refused
from fleet.rules import headings
from fleet.sheets import Problem

KEPT_FOR = dt.timedelta(days=30)
# What is read while the person who brought it waits for the page; anything larger is read in the background.
READ_AT_ONCE = 200_000
# An upload that broke off leaves a file that no row names; one that is under way is younger than this.
BROKEN_OFF = dt.timedelta(days=1)

OPEN = ("to match", "checked", "refused")
Tell = Callable[[int, int | None], None]


def bring(*, file: BinaryIO, name: str, kind: str, by: models.User) -> models.Import:
    """Keep a file that somebody brought, and read what its columns are."""
    stored = import_files.keep(file)
    try:
        with transaction.atomic():
            imported = models.Import.objects.create(kind=kind, name=_base_name(name), stored=stored, by=by)
            if import_files.path_of(stored).stat().st_size > READ_AT_ONCE:
                _put_off("read_import", imported)
    except BaseException:
        import_files.remove(stored)
        raise
    if imported.job is None:
        read(imported=imported.pk)
        imported.refresh_from_db()
    return imported


def read(
    *,
    imported: int,
    tell: Tell = lambda done, of: None,
    finishing: Callable[[], AbstractContextManager[None]] = transaction.atomic,
) -> None:
    """Read through a file that was brought, and match its columns where they are known."""
    row = _waiting(imported, "reading")
    try:
        row.sheet, row.row_count = import_read.look_through(row.stored, row.name, tell=lambda done: tell(done, None))
        row.state = "to match"
        import_read.settle(row)
    except Problem as problem:
        row.state, row.report = "refused", {"problems": [[problem.row, problem.column, problem.wanted]], "count": 1}
    with finishing():
        row.save(update_fields=["sheet", "row_count", "state", "columns", "date_styles", "report"])


def match(*, imported: models.Import, columns: Mapping[str, str], by: models.User) -> None:
    """Match their columns with ours (those not named are left out), and remember that for sheets like this."""
    row = _open(imported)
    kind = KINDS[row.kind]
    theirs = [column["heading"] for column in row.sheet]
    chosen = {heading: name for heading, name in columns.items() if name and heading in theirs}
    if missing := [name for name in kind.required if name not in chosen.values()]:
        raise Refused(f"Each row needs {', '.join(map(headings.label, missing))}: match a column with each.")
    if len(set(chosen.values())) < len(chosen) or not set(chosen.values()) <= set(kind.names):
        raise Refused("Match each of our columns with one of theirs.")
    row.columns = chosen
    with transaction.atomic():
        memory, _ = models.ColumnMemory.objects.update_or_create(
            kind=row.kind,
            heading=headings.digest(theirs),
            defaults={"columns": {headings.fold(heading): name for heading, name in chosen.items()}},
        )
        row.date_styles = import_read.fitting(row, memory.date_styles)
        row.state, row.report, row.by = "to match", {}, by
        _drop_problems(row)
        row.save(update_fields=["columns", "date_styles", "state", "report", "problems_stored", "by"])


def ask(
    *, imported: models.Import, styles: Mapping[str, str], correcting: bool, checking: bool, by: models.User
) -> models.Job:
    """Have the file checked or taken in the background; `styles` say how the days of each column are written."""
    row = _open(imported)
    if not row.columns:
        raise Refused("Match its columns first.")
    row.date_styles = import_read.fitting(row, dict(styles))
    for name, column in import_read.day_columns(row).items():
        if column["mixed"]:
            raise Refused(mixed_in(column["heading"], *column["mixed"]))
        if column["days"] and name not in row.date_styles:
            raise Refused("Say which comes first, the day or the month.", name)
    with transaction.atomic():
        _drop_problems(row)
        row.state, row.correcting, row.checking, row.report, row.by = "waiting", correcting, checking, {}, by
        changed = models.Import.objects.filter(pk=row.pk, state=imported.state, job=imported.job)
        # Of two people who press at once, one has it begun.
        if not changed.update(state=row.state):
            raise Conflict("Somebody else has begun with it meanwhile.")
        row.save(update_fields=["date_styles", "correcting", "checking", "report", "problems_stored", "by"])
        _remember_styles(row)
        import_files.begin(row.stored)
        return _put_off("take_import", row)


def take(*, imported: int, on: dt.date, watch: import_take.Watch) -> None:
    """Check or take the file, and record what came of it; the database holds all of it or nothing."""
    import_take.take(_waiting(imported, "waiting"), on=on, watch=watch)


def stop(*, imported: models.Import, by: models.User, at: dt.datetime) -> str:
    """Have its work stopped: nothing of the file is taken. Return the state of its job, or nothing if it had ended."""
    if imported.job is None or not imported.stored:
        return ""
    import_files.ask_to_stop(imported.stored)
    # On SQLite this waits until the load has heard the line above and let go of the database.
    state = jobs.ask_to_stop(job=imported.job, by=by, at=at)
    if not state:
        imported.job.refresh_from_db()
    return state or (imported.job.state if imported.job.state == "stopped" else "")


def stop_work(*, job: models.Job, by: models.User, at: dt.datetime) -> str:
    """Have any background work stopped; that on a file as `stop` does, since a load may hold the database."""
    imported = models.Import.objects.filter(job=job).select_related("job").first()
    if imported is None:
        return jobs.ask_to_stop(job=job, by=by, at=at)
    return stop(imported=imported, by=by, at=at)


def drop(*, imported: models.Import) -> None:
    """Forget a file that was not taken."""
    with transaction.atomic():
        row = models.Import.objects.select_for_update(of=("self",)).select_related("job").get(pk=imported.pk)
        if row.state == "taken" or _is_under_way(row):
            raise Conflict("It was taken meanwhile, or is being worked on.")
        row.delete()
        transaction.on_commit(lambda: import_files.remove(row.stored, row.problems_stored))


def drop_old(*, at: dt.datetime) -> None:
    """Remove the files that nobody came back for, and those that are taken or that no import names."""
    done = models.Import.objects.filter(state="taken") | models.Import.objects.filter(at__lt=at - KEPT_FOR)
    for row in done.exclude(stored="", problems_stored="").select_related("job"):
        if not _is_under_way(row):
            models.Import.objects.filter(pk=row.pk).update(stored="", problems_stored="")
            import_files.remove(row.stored, row.problems_stored)
    named = {name for names in models.Import.objects.values_list("stored", "problems_stored") for name in names}
    for name, written in list(import_files.all_stored()):
        if name not in named and written < (at - BROKEN_OFF).timestamp():
            import_files.remove(name)


def mixed_in(heading: str, row: int, cell: str, odd_row: int, odd_cell: str) -> str:
    """The sentence about a column that mixes ways of writing days."""
    return (
        f"The days of {heading!r} are not all written in one way: row {odd_row} has {odd_cell!r},"
        f" row {row} has {cell!r}. Write them all in one way, and bring the file again."
    )


def _put_off(name: str, row: models.Import) -> models.Job:
    row.job = later(name, key=f"{name} {row.pk} {uuid.uuid4().hex}", about=row.name, by=row.by, imported=row.pk)
    models.Import.objects.filter(pk=row.pk).update(job=row.job)
    return row.job


def _waiting(pk: int, state: str) -> models.Import:
    row = models.Import.objects.filter(pk=pk, state=state).select_related("by", "job").first()
    if row is None:
        raise Refused("The file is no longer there, or was dealt with in another way.")
    if not row.stored or not import_files.path_of(row.stored).exists():
        raise Refused("The file is no longer kept. Bring it again.")
    return row


def _open(imported: models.Import) -> models.Import:
    """The import as it is now, if its steps are still open; else raises Conflict."""
    row = models.Import.objects.select_related("job").get(pk=imported.pk)
    if (
        not row.sheet
        or not row.stored
        or not (row.state in OPEN or (row.state == "waiting" and not _is_under_way(row)))
    ):
        raise Conflict("It is being worked on, or was taken, or its file is no longer kept. Look at it again.")
    return row


def _is_under_way(row: models.Import) -> bool:
    return row.state in ("reading", "waiting") and row.job is not None and row.job.state not in ENDED


def _remember_styles(row: models.Import) -> None:
    heading = headings.digest(column["heading"] for column in row.sheet)
    columns = {headings.fold(heading): name for heading, name in row.columns.items()}
    models.ColumnMemory.objects.update_or_create(
        kind=row.kind, heading=heading, defaults={"columns": columns, "date_styles": row.date_styles}
    )


def _drop_problems(row: models.Import) -> None:
    gone, row.problems_stored = row.problems_stored, ""
    transaction.on_commit(lambda: import_files.remove(gone))


def _base_name(name: str) -> str:
    """A file's name without any folder and anything that cannot be printed, at most 255 characters."""
    last = "".join(letter for letter in PurePosixPath(PureWindowsPath(name).name).name if letter.isprintable())
    return last.strip()[-255:] or "file"
