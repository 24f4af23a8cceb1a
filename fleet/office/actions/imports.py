"""The import page: a file is brought, somebody is asked what it takes to read it, and it is checked or taken in the background.

A step that has nothing to ask is passed over. All that is said (`import_answers`) stands in the file's row, so somebody may go
back to any step, or go on another day. Taking goes through the same loading as on the command line (`loading.installs`,
`loading.history`). What a job does with it, and how far that is, stands with the job.
"""

import datetime as dt
from pathlib import PurePosixPath, PureWindowsPath
from typing import BinaryIO

from django.db import transaction

from fleet import models
from fleet.facts.company import company
from fleet.office.actions import import_files, import_take, jobs
from fleet.office.actions.import_course import begin, go_on, is_under_way, open_row, waiting
from fleet.refusals import Conflict, Refused

KEPT_FOR = dt.timedelta(days=30)
# An upload that broke off leaves a file that no row names; one that is under way is younger than this.
BROKEN_OFF = dt.timedelta(days=1)


def bring(*, file: BinaryIO, name: str, kind: str, by: models.User, on: dt.date) -> models.Import:
    """Keep a file that somebody brought, and read what its columns are."""
    stored = import_files.keep(file)
    try:
        with transaction.atomic():
            imported = models.Import.objects.create(kind=kind, name=_base_name(name), stored=stored, by=by)
            go_on(imported, on=on)
    except BaseException:
        import_files.remove(stored)
        raise
    return imported


def bring_sheet(*, imported: models.Import, sheet: str, by: models.User, on: dt.date) -> models.Import:
    """Bring another sheet of a workbook that was brought, as a file of its own."""
    top = next((top for top in imported.tops if top["sheet"] == sheet), None)
    if top is None or not imported.stored or not import_files.path_of(imported.stored).exists():
        raise Refused("The workbook is no longer on file. Upload it again.")
    stored = import_files.copy(imported.stored)
    try:
        with transaction.atomic():
            other = models.Import.objects.create(
                kind=imported.kind,
                name=imported.name,
                stored=stored,
                by=by,
                tops=imported.tops,
                step="columns",
                sheet_name=sheet,
                heading_row=top["heading_row"],
            )
            go_on(other, on=on)
    except BaseException:
        import_files.remove(stored)
        raise
    return other


def ask(
    *,
    imported: models.Import,
    correcting: bool,
    checking: bool,
    begins_record: bool = False,
    done_by: str = "",
    by: models.User,
) -> models.Job:
    """Have the file checked or taken in the background.

    `begins_record`: our record of maintenance is to begin with it. `done_by`: another company, which did the work of the rows that
    name nobody.
    """
    row = open_row(imported)
    if row.step != "ready":
        raise Refused("Answer its questions first.")
    done_by = done_by.strip()
    if done_by and _is_one_of_us(done_by):
        raise Refused(
            f"{done_by} is one of us: choose “Our company”, or enter the other company's name.", "other_company"
        )
    with transaction.atomic():
        changed = models.Import.objects.filter(pk=row.pk, state=imported.state, job=imported.job)
        # Of two people who press at once, one has it begun.
        if not changed.update(state="waiting"):
            raise Conflict("Somebody else just started it.")
        row.by = by
        row.plan |= {"begins_record": begins_record and not checking, "done_by": done_by}
        return begin(row, correcting=correcting, checking=checking)


def _is_one_of_us(name: str) -> bool:
    """Whether a name is our company's or that of one of our people, whose work would else be taken for another company's."""
    names = [company().name, *(person.get_full_name() for person in models.User.objects.all())]
    return name.casefold() in {"us", *(known.casefold() for known in names if known)}


def take(*, imported: int, on: dt.date, watch: import_take.Watch) -> None:
    """Check or take the file, and record what came of it; the database holds all of it or nothing."""
    import_take.take(waiting(imported, "waiting"), on=on, watch=watch)


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
        if row.state in ("taken", "undone") or is_under_way(row):
            raise Conflict("It was imported meanwhile, or is being worked on. Open it again.")
        row.delete()
        transaction.on_commit(lambda: import_files.remove(row.stored, row.problems_stored))


def drop_old(*, at: dt.datetime) -> None:
    """Remove the files that nobody came back for, and those that are taken or that no import names."""
    over = ("taken", "undone")
    done = models.Import.objects.filter(state__in=over, at__lt=at - BROKEN_OFF) | models.Import.objects.filter(
        at__lt=at - KEPT_FOR
    )
    for row in done.exclude(stored="", problems_stored="").select_related("job"):
        if not is_under_way(row):
            models.Import.objects.filter(pk=row.pk).update(stored="", problems_stored="")
            import_files.remove(row.stored, row.problems_stored)
    named = {name for names in models.Import.objects.values_list("stored", "problems_stored") for name in names}
    for name, written in list(import_files.all_stored()):
        if name not in named and written < (at - BROKEN_OFF).timestamp():
            import_files.remove(name)


def _base_name(name: str) -> str:
    """A file's name without any folder and anything that cannot be printed, at most 255 characters."""
    last = "".join(letter for letter in PurePosixPath(PureWindowsPath(name).name).name if letter.isprintable())
    return last.strip()[-255:] or "file"
