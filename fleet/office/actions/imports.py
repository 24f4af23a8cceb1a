"""The import page: a file is brought, somebody is asked what it takes to read it, and it is checked or taken in the background.

Each answer moves the file to its next step (`models.office.IMPORT_STEPS`); a step that has nothing to ask is passed over. All
that is said stands in its row, so somebody may go back to any step, or go on another day. Taking goes through the same loading
as on the command line (`loading.installs`, `loading.history`). What a job does with it, and how far that is, stands with the job.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any, BinaryIO

from django.db import transaction

from fleet import models
from fleet.later import later
from fleet.models.jobs import ENDED
from fleet.office.actions import import_columns, import_confirm, import_files, import_take, import_values, jobs
from fleet.office.actions.import_kinds import KINDS
from fleet.office.actions.import_rows import plan_of
from fleet.refusals import Conflict, Refused
from fleet.rules.spreadsheets import headings
from fleet.rules.spreadsheets.cells import Meaning
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.places import Address
from fleet.rules.spreadsheets.plan import Plan, as_json
from fleet.sheets import Problem

KEPT_FOR = dt.timedelta(days=30)
# What is read while the person who brought it waits for the page; anything larger is read in the background.
READ_AT_ONCE = 200_000
# An upload that broke off leaves a file that no row names; one that is under way is younger than this.
BROKEN_OFF = dt.timedelta(days=1)

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


def bring(*, file: BinaryIO, name: str, kind: str, by: models.User, on: dt.date) -> models.Import:
    """Keep a file that somebody brought, and read what its columns are."""
    stored = import_files.keep(file)
    try:
        with transaction.atomic():
            imported = models.Import.objects.create(kind=kind, name=_base_name(name), stored=stored, by=by)
            _go_on(imported, on=on)
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
            _go_on(other, on=on)
    except BaseException:
        import_files.remove(stored)
        raise
    return other


# -- what a file is read by, step after step


def read(
    *,
    imported: int,
    on: dt.date,
    tell: Tell = lambda done, of: None,
    finishing: Callable[[], AbstractContextManager[None]] = transaction.atomic,
) -> None:
    """Read through a file up to the next step at which there is something to ask."""
    row = _waiting(imported, "reading")
    try:
        _advance(row, on=on, tell=lambda done: tell(min(done, row.row_count or done), row.row_count))
        row.state = "asking"
    except Problem as problem:
        row.state, row.report = "refused", {"problems": [[problem.row, problem.column, problem.wanted]], "count": 1}
    with finishing():
        row.save(update_fields=_ANSWERS)
        if row.state == "asking" and row.step == "ready":
            # Nothing is left to ask: what would come of it is what they want to see.
            _begin(row, correcting=row.correcting, checking=True)


def _advance(row: models.Import, *, on: dt.date, tell: Callable[[int], None]) -> None:
    if row.step == "sheet":
        import_columns.begin(row)
    if row.step == "columns" and not row.sheet:
        import_columns.look_through(row, tell=tell)
    if row.step == "values" and not import_values.survey(row, on=on, tell=tell):
        row.step = "confirm"
    if row.step == "confirm" and not import_confirm.survey(row, on=on, tell=tell) and row.step == "confirm":
        row.step = "ready"


def _go_on(row: models.Import, *, on: dt.date) -> None:
    """Read on to the next question: at once, or in the background where that takes longer than somebody would wait."""
    row.state, row.report, row.job = "reading", {}, None
    _drop_problems(row)
    row.save(update_fields=[*_ANSWERS, "problems_stored", "job", "by"])
    if import_files.path_of(row.stored).stat().st_size > READ_AT_ONCE:
        _put_off("read_import", row)
    else:
        read(imported=row.pk, on=on)
        row.refresh_from_db()


def choose_sheet(*, imported: models.Import, sheet: str, heading_row: int, by: models.User, on: dt.date) -> None:
    """Say which sheet is read and which of its rows names the columns."""
    with transaction.atomic():
        row = _open(imported)
        if sheet not in [top["sheet"] for top in row.tops]:
            raise Refused("Choose one of the sheets of this file.", "sheet")
        row.sheet_name, row.heading_row = sheet, heading_row
        row.step, row.sheet, row.columns, row.plan, row.by = "columns", [], {}, {}, by
        _go_on(row, on=on)


def match(
    *,
    imported: models.Import,
    columns: Mapping[str, str],
    given: Mapping[str, str] | None = None,
    ways: Mapping[str, Way] | None = None,
    by: models.User,
    on: dt.date,
) -> None:
    """Say which of our columns each of theirs is (those not named are left out), and how those that they lack are filled.

    It is remembered for sheets with the same headings.
    """
    with transaction.atomic():
        row = _open(imported)
        kind = KINDS[row.kind]
        theirs = [column["heading"] for column in row.sheet]
        row.columns = {heading: name for heading, name in columns.items() if name and heading in theirs}
        matched = list(row.columns.values())
        row.plan |= {
            "given": {name: value for name, value in (given or {}).items() if name in kind.names},
            "ways": {
                name: way for name, way in (ways or {}).items() if (name, way) in kind.ways and name not in matched
            },
        }
        if missing := import_columns.missing(row):
            raise Refused(f"Each row needs {', '.join(map(headings.title, missing))}: say where it comes from.")
        once = [name for name in matched if name not in (headings.NOTE, "notes")]
        if len(set(once)) < len(once) or not set(matched) <= set(kind.targets):
            raise Refused("Match each of our columns with one of theirs.")
        import_columns.remember(row)
        row.plan["confirmed"] = []  # what it was said of may be read otherwise now
        row.step, row.by = "values", by
        _go_on(row, on=on)


@dataclass(frozen=True, slots=True)
class Values:
    """What somebody says of what cannot be read: by column and text; of all other texts of a column; of how days are written."""

    meanings: Mapping[str, Mapping[str, Meaning]] = field(default_factory=dict)
    rest: Mapping[str, Meaning] = field(default_factory=dict)
    orders: Mapping[str, Order] = field(default_factory=dict)


def say_values(*, imported: models.Import, values: Values, by: models.User, on: dt.date) -> None:
    """Say what each text means that cannot be read, and remember it for the next file that has it."""
    with transaction.atomic():
        row = _open(imported)
        if row.step not in ("values", "confirm", "ready"):
            raise Refused("Match its columns first.")
        said = as_json(Plan(row.columns, meanings=values.meanings, rest=values.rest, orders=values.orders))
        row.plan |= {name: said[name] for name in ("meanings", "rest", "orders")}
        for one in row.findings["values"]["unread"]:
            one["known"] = one["text"] in values.meanings.get(one["column"], {})
        if import_values.is_open(row):
            raise Refused("Say what each of these means.")
        models.ValueMemory.objects.bulk_create(
            [
                models.ValueMemory(kind=row.kind, column=column, text=text, act=meaning.act, value=meaning.value)
                for column, many in values.meanings.items()
                for text, meaning in many.items()
            ],
            update_conflicts=True,
            unique_fields=["kind", "column", "text"],
            update_fields=["act", "value"],
        )
        import_columns.remember(row)
        row.step, row.by = "confirm", by
        _go_on(row, on=on)


@dataclass(frozen=True, slots=True)
class Twin:
    """What somebody says of serials that are the same or read alike: all are taken as they are, or one row, or one on file."""

    choice: str  # "as they are", "row 12" or "unit 7"
    serials: Mapping[int, str] = field(default_factory=dict)  # by row, as it should be


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What somebody says to what they are shown before a file is taken, by what each question is known by."""

    addresses: Mapping[str, Address] = field(default_factory=dict)  # by text, where they were put right
    names: Mapping[str, str] = field(default_factory=dict)  # the one name; blank: different customers
    facts: Mapping[str, str] = field(default_factory=dict)
    twins: Mapping[str, Twin] = field(default_factory=dict)
    keys: frozenset[str] = frozenset()  # what they said yes to


def confirm(*, imported: models.Import, said: Confirmed, by: models.User, on: dt.date) -> None:
    """Say how addresses, customers, facts and serials are meant that somebody has to see before the file is taken."""
    with transaction.atomic():
        row = _open(imported)
        if row.step not in ("confirm", "ready"):
            raise Refused("Say first what cannot be read.")
        _record(row, said)
        row.step, row.by = "confirm", by
        _go_on(row, on=on)


def _record(row: models.Import, said: Confirmed) -> None:
    """Set down what was confirmed, beside what was before: a long file is asked about in several rounds."""
    found, plan = row.findings["confirm"], plan_of(row)
    names, facts = dict(plan.names), dict(plan.facts)
    for one in found.get("names", ()):
        for other in one["names"]:
            names.pop(other["name"], None)
            if name := said.names.get(one["key"]):
                names[other["name"]] = name
    for one in found.get("facts", ()):
        if one["key"] in said.facts:
            customer = names.get(one["customer"], one["customer"])
            facts[customer, one["site"], one["column"]] = said.facts[one["key"]]
    left_out, serials = set(plan.left_out), dict(plan.serials)
    for one in found.get("twins", ()):
        if one["key"] in said.twins:
            _settle(one, said.twins[one["key"]], left_out, serials)
    answers = Plan(
        row.columns,
        addresses={**plan.addresses, **said.addresses},
        names=names,
        facts=facts,
        left_out=left_out,
        serials=serials,
        confirmed={*plan.confirmed, *said.keys, *said.names, *said.facts, *said.twins},
    )
    kept = as_json(answers)
    row.plan |= {name: kept[name] for name in ("addresses", "names", "facts", "left_out", "serials", "confirmed")}
    twins = {key: [twin.choice, {str(n): text for n, text in twin.serials.items()}] for key, twin in said.twins.items()}
    row.plan["twins"] = row.plan.get("twins", {}) | twins


def _settle(group: Any, twin: Twin, left_out: set[int], serials: dict[int, str]) -> None:
    """Leave rows out, and put serials right, as somebody says of units that are alike."""
    rows = {one["row"]: one["serial"] for one in group["rows"]}
    left_out.difference_update(rows)
    for number, serial in rows.items():
        serials.pop(number, None)
        if (right := twin.serials.get(number, serial)) != serial:
            serials[number] = right
    which, _, chosen = twin.choice.partition(" ")
    if which == "row":
        left_out.update(rows.keys() - {int(chosen)})
    elif which == "unit":
        (unit,) = [one for one in group["on_file"] if one["unit"] == int(chosen)]
        serials.update(dict.fromkeys(rows, unit["serial"]))


# -- taken


def ask(*, imported: models.Import, correcting: bool, checking: bool, by: models.User) -> models.Job:
    """Have the file checked or taken in the background."""
    row = _open(imported)
    if row.step != "ready":
        raise Refused("Answer first what is asked of it.")
    with transaction.atomic():
        changed = models.Import.objects.filter(pk=row.pk, state=imported.state, job=imported.job)
        # Of two people who press at once, one has it begun.
        if not changed.update(state="waiting"):
            raise Conflict("Somebody else has begun with it meanwhile.")
        row.by = by
        return _begin(row, correcting=correcting, checking=checking)


def _begin(row: models.Import, *, correcting: bool, checking: bool) -> models.Job:
    _drop_problems(row)
    row.state, row.correcting, row.checking, row.report = "waiting", correcting, checking, {}
    row.save(update_fields=["state", "correcting", "checking", "report", "problems_stored", "by"])
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
        if row.state in ("taken", "undone") or _is_under_way(row):
            raise Conflict("It was taken meanwhile, or is being worked on.")
        row.delete()
        transaction.on_commit(lambda: import_files.remove(row.stored, row.problems_stored))


def drop_old(*, at: dt.datetime) -> None:
    """Remove the files that nobody came back for, and those that are taken or that no import names."""
    over = ("taken", "undone")
    done = models.Import.objects.filter(state__in=over, at__lt=at - BROKEN_OFF) | models.Import.objects.filter(
        at__lt=at - KEPT_FOR
    )
    for row in done.exclude(stored="", problems_stored="").select_related("job"):
        if not _is_under_way(row):
            models.Import.objects.filter(pk=row.pk).update(stored="", problems_stored="")
            import_files.remove(row.stored, row.problems_stored)
    named = {name for names in models.Import.objects.values_list("stored", "problems_stored") for name in names}
    for name, written in list(import_files.all_stored()):
        if name not in named and written < (at - BROKEN_OFF).timestamp():
            import_files.remove(name)


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
        not row.tops
        or not row.stored
        or not (row.state in OPEN or (row.state in ("reading", "waiting") and not _is_under_way(row)))
    ):
        raise Conflict("It is being worked on, or was taken, or its file is no longer kept. Look at it again.")
    return row


def _is_under_way(row: models.Import) -> bool:
    return row.state in ("reading", "waiting") and row.job is not None and row.job.state not in ENDED


def _drop_problems(row: models.Import) -> None:
    gone, row.problems_stored = row.problems_stored, ""
    transaction.on_commit(lambda: import_files.remove(gone))


def _base_name(name: str) -> str:
    """A file's name without any folder and anything that cannot be printed, at most 255 characters."""
    last = "".join(letter for letter in PurePosixPath(PureWindowsPath(name).name).name if letter.isprintable())
    return last.strip()[-255:] or "file"
