"""Checking or taking a file that was brought: through the one loading path, in a job that shows how far it is.

While the rows are read and checked, each lot is told to the job, which also hears there whether somebody wants it stopped.
Then the rows are taken in one transaction with the end of the job. What is told inside it would be seen by nobody, and on
SQLite nobody else can write meanwhile; so there a wish to stop is heard, and how far it is told, through files beside the stored one.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import transaction

from fleet import models
from fleet.loading.loading import Columns, Hooks, Report, Rows
from fleet.office.actions import import_files, import_record, import_rows, import_sites, jobs
from fleet.office.actions.import_kinds import KINDS
from fleet.rules.spreadsheets import headings
from fleet.sheets import BadFile, Problems
from fleet.sheets.own import OwnSheet

# How many of the facts that would be or were corrected are kept for the page; the rest are counted.
SHOWN = 200


@dataclass(frozen=True, slots=True)
class Watch:
    """The job around a load: told how far it is (raises to end it), asked whether it should end, and its last transaction."""

    progress: Callable[[int, int | None], None]
    heed: Callable[[], None]
    finishing: Callable[[], AbstractContextManager[None]]


def take(row: models.Import, *, on: dt.date, watch: Watch) -> None:
    """Check or take the file of an import."""
    # Whoever wants this try stopped, and not an earlier one, has said so to the job as well.
    import_files.begin(row.stored)
    with closing(import_files.AllProblems(row.name)) as problems:
        try:
            KINDS[row.kind].loader.load(
                import_files.path_of(row.stored),
                by=row.by,
                on=on,
                correct=row.correcting,
                check=row.checking,
                name=row.name,
                hooks=_ImportHooks(row, problems, watch, on=on),
            )
        except BadFile as refused:
            _refuse(row, refused, problems, watch)


class _ImportHooks(Hooks):
    """Reads by the matched columns, keeps every problem, and writes what came of the file with the file's rows."""

    correct_option = "“Change what is on file”"
    apart_option = "“Another customer” under Look over"

    def __init__(self, row: models.Import, problems: import_files.AllProblems, watch: Watch, *, on: dt.date) -> None:
        self._row = row
        self.done_by = row.plan.get("done_by", "")
        self.whose = import_sites.said_in(import_rows.plan_of(row))
        self._problems = problems
        self._watch = watch
        self._on = on
        self._load: models.Load | None = None
        self._changes: list[dict[str, str]] = []
        # What would be overdue where our record of maintenance may begin with this file.
        self._record: dict[str, int] | None = None

    def problems(self, name: str) -> Problems:
        return self._problems

    def parse(self, path: Path, columns: Columns, problems: Problems) -> Rows:
        return import_rows.to_load(self._row, columns, problems, on=self._on)

    def checked(self, rows: int) -> None:
        self._tell(rows)

    def applying(self, done: int = 0, of: int = 0) -> None:
        self._watch.heed()
        if import_files.is_stopped(self._row.stored):
            raise jobs.StopAsked(self._row.name)
        if of:
            import_files.say_how_far(self._row.stored, done, of)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        self._tell(self._row.row_count or 0)
        with self._watch.finishing():
            yield

    def before_derived(self, load: models.Load) -> None:
        row = self._row
        if row.plan.get("begins_record") and import_record.is_proposed(row):
            import_record.begin(load, by=row.by, on=self._on)
            row.plan |= {"record_from": self._on.isoformat()}

    def applied(self, load: models.Load | None) -> None:
        if load is None:
            return
        self._load = load
        self._changes = _corrected(load)
        if self._row.checking and import_record.is_proposed(self._row):
            self._record = import_record.overdue(load, on=self._on, heed=self.applying)

    def ended(self, report: Report) -> None:
        row = self._row
        row.report = asdict(report) | {"changes": self._changes}
        if self._record is not None:
            row.report |= {"record": self._record}
        row.state = "checked" if row.checking else "taken"
        stored = row.stored
        if not row.checking:
            row.load = self._load
            # The other sheets of a workbook may be wanted next.
            if len(row.tops) == 1:
                row.stored = ""
                transaction.on_commit(lambda: import_files.remove(stored), robust=True)
        row.save(update_fields=["report", "state", "stored", "load", "plan"])

    def _tell(self, done: int) -> None:
        of = self._row.row_count
        self._watch.progress(min(done, of) if of else done, of)


def _refuse(row: models.Import, refused: BadFile, problems: import_files.AllProblems, watch: Watch) -> None:
    """Record what is wrong, and write the file that says it row by row."""
    theirs = {name: heading for heading, name in row.columns.items()}

    def heading_of(name: str) -> str:
        return theirs.get(name) or headings.title(name)

    table = OwnSheet(row.name, sheet=row.sheet_name, heading_row=row.heading_row)
    row.problems_stored = import_files.write_back(
        row.stored, table, problems, heading_of, tell=lambda _: watch.progress(row.row_count or 0, row.row_count)
    )
    row.state = "refused"
    shown = [
        [problem.row, heading_of(problem.column) if problem.column else "", problem.wanted]
        for problem in refused.problems
    ]
    row.report = {"problems": shown, "count": refused.count}
    with watch.finishing():
        row.save(update_fields=["problems_stored", "state", "report"])


def _corrected(load: models.Load) -> list[dict[str, str]]:
    """The first facts that the load corrected, each with the name of what it is about."""
    changes = list(load.changes.exclude(before="").order_by("pk")[:SHOWN])
    named: dict[tuple[str, int], str] = {}
    for table in {change.table for change in changes}:
        keys = {change.object_id for change in changes if change.table == table}
        named |= {(table, pk): str(thing) for pk, thing in _model(table).objects.in_bulk(keys).items()}
    return [
        {
            "what": named.get((change.table, change.object_id), change.table),
            "field": change.field,
            "before": change.before[:200],
            "after": change.after[:200],
        }
        for change in changes
    ]


def _model(table: str) -> Any:
    return apps.get_model("fleet", table)
