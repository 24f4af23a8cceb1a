"""The one door for every file: parse every cell, check every row, stage them on disk, apply them in one transaction, or refuse.

What differs from one kind of file to another is a `Loader`. Commands, the import page, jobs and screens all load through it.
"""

import contextlib
import dataclasses
import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from django.db import IntegrityError, transaction
from django.db import models as django

from fleet import models, sheets
from fleet.derived import refresh
from fleet.loading.staging import Stage
from fleet.loading.whose import Whose
from fleet.log import Log
from fleet.sheets import BadFile, Problem, Problems
from fleet.sheets.columns import Column, ParseError, in_plain

BATCH = 2_000
# Of rows that brought nothing new, so many spans are told.
SPANS_SHOWN = 50
# What a file of installs makes besides units.
MADE = ("customer", "site", "system")

Thing = TypeVar("Thing")

Columns = Mapping[str, Column]
Cells = dict[str, str]
Rows = Iterable[tuple[int, Cells]]
# Checks a row whose cells are each in order, and adds what it is known by; False leaves it out.
Check = Callable[[int, Cells], bool]


@dataclass(frozen=True, slots=True)
class Report:
    """What came of a file: things added, blanks filled and facts corrected, and of its rows those that brought nothing new.

    `same` are the first of those, as spans of rows; `made` are the customers, sites and systems that are new; `joined` are the
    sites that came to a customer on file by the name alone, at a street that was none of theirs.
    """

    added: int
    filled: int
    corrected: int
    unchanged: int
    rows: int
    same: tuple[tuple[int, int], ...] = dataclasses.field(default=(), compare=False)
    made: Mapping[str, int] = dataclasses.field(default_factory=dict, compare=False)
    joined: tuple[str, ...] = dataclasses.field(default=(), compare=False)


class Hooks:
    """What a load asks and tells whoever runs it; the defaults are those of a command. A hook that raises ends the load."""

    # How somebody has facts corrected, and says that another customer of a name is meant, for the texts of problems.
    correct_option = "--correct"
    apart_option = "--apart"
    # Another company, whose work it is where a row names nobody; blank: ours.
    done_by = ""
    # Whom somebody said that rows mean which name a customer on file at a street that is none of theirs.
    whose = Whose()

    def problems(self, name: str) -> Problems:
        """Where the problems of a file of this name are noted."""
        return Problems(name)

    def parse(self, path: Path, columns: Columns, problems: Problems) -> Rows:
        """The rows of the file by our columns."""
        return sheets.rows(path, columns=columns, name=problems.file, problems=problems)

    def checked(self, rows: int) -> None:
        """So many rows were parsed and checked."""

    def applying(self, done: int = 0, of: int = 0) -> None:
        """Called every few thousand rows; at last, of how many units the derived rows are worked out, and how many are done."""

    def transaction(self) -> AbstractContextManager[None]:
        """Surrounds the transaction in which the rows are applied, for whoever writes something else with them."""
        return contextlib.nullcontext()

    def before_derived(self, load: models.Load) -> None:
        """All rows of this load stand, and nothing is worked out of them yet; for whoever changes what that hangs on."""

    def applied(self, load: models.Load | None) -> None:
        """All rows and changes of this load stand; those of a check are rolled back next."""

    def ended(self, report: Report) -> None:
        """What came of the file, still inside the transaction."""


@dataclass(frozen=True, slots=True)
class Loader:
    """One kind of file: its columns and those that every row needs, how a row is checked as a whole, how all are applied.

    `keys` are further columns of the stage, which the check adds to a row to be known and ordered by.
    """

    kind: str
    required: tuple[str, ...]
    columns_on: Callable[[dt.date], Columns]
    check: Callable[["Loading"], Check]
    apply: Callable[["Loading"], None]
    keys: tuple[str, ...] = ()

    def load(
        self,
        path: Path | str,
        *,
        by: models.User | None,
        on: dt.date,
        correct: bool = False,
        check: bool = False,
        name: str | None = None,
        hooks: Hooks | None = None,
    ) -> Report:
        """Load a file whole, or raise BadFile and change nothing; `check` only reports what would come of it."""
        loading = Loading(self, by=by, on=on, correct=correct, hooks=hooks)
        return loading.run(loading.file(path, name), dry=check)

    def load_rows(
        self,
        rows: Sequence[Mapping[str, str]],
        *,
        by: models.User | None = None,
        on: dt.date,
        correct: bool = False,
        check: bool = False,
        hooks: Hooks | None = None,
    ) -> Report:
        """Load rows that stand in no file, in the same way; they are numbered as in a file, whose header is row 1."""
        loading = Loading(self, by=by, on=on, correct=correct, hooks=hooks)
        return loading.run(loading.given(rows), dry=check)


class Loading:
    """One load under way: its stage, who loads it, the problems so far, and what has come of it so far."""

    def __init__(
        self,
        loader: Loader,
        *,
        by: models.User | None,
        on: dt.date,
        correct: bool,
        hooks: Hooks | None = None,
    ) -> None:
        self.columns = loader.columns_on(on)
        self.by = by
        self.on = on
        self.correct = correct
        self.count: Counter[str] = Counter()
        self.name = "the rows"
        self.digest = ""
        self.log = Log(by=by)
        self.problems = Problems(self.name)
        self._loader = loader
        self._load: models.Load | None = None
        self._hooks = hooks or Hooks()
        self._joined: list[str] = []
        self.stage = Stage((*self.columns, *loader.keys), between=self._hooks.applying)

    def file(self, path: Path | str, name: str | None) -> Rows:
        """The rows of a file."""
        path = Path(path)
        self.name = name or path.name
        self.problems = self._hooks.problems(self.name)
        with contextlib.suppress(OSError), path.open("rb") as file:  # parsing tells what is wrong
            self.digest = hashlib.file_digest(file, "sha256").hexdigest()
        return every(BATCH, self._hooks.parse(path, self.columns, self.problems), self._hooks.checked)

    def given(self, rows: Sequence[Mapping[str, str]]) -> Rows:
        """Rows that are not from a file, parsed in the same way."""
        return sheets.given(rows, columns=self.columns, name=self.name, problems=self.problems)

    def run(self, rows: Rows, *, dry: bool) -> Report:
        """Parse, check, stage and apply all of the rows or, by raising BadFile, none; `dry` rolls back what was applied."""
        try:
            with self.stage:
                self._stage(rows)
                # Only now: nobody else can write to SQLite while this goes on.
                with self._hooks.transaction():
                    report = self._apply(dry=dry)
                    self._hooks.ended(report)
        except IntegrityError as error:
            # Nothing above should let this happen, but for somebody else writing the same thing at the same moment.
            expected = f"rows that can stand beside what is on file; the database refuses them ({error})"
            raise BadFile([Problem(self.name, 0, "", expected)]) from error
        return report

    def _stage(self, rows: Rows) -> None:
        try:
            self.stage.add(self._checked(rows))
        except Problem as problem:
            self.problems.add(problem)
        self.problems.refuse_if_any()

    def _checked(self, rows: Rows) -> Rows:
        """The rows that are in order, cells as they are stored; what is wrong with the others is noted."""
        check = self._loader.check(self)
        for number, cells in rows:
            self.count["rows"] += 1
            before = self.problems.count
            plain = self._plain(number, cells)
            if self.problems.count == before and check(number, plain):
                yield number, plain

    def _plain(self, number: int, cells: Cells) -> Cells:
        plain = {}
        for name, cell in cells.items():
            if cell:
                try:
                    plain[name] = self.columns[name].plain(cell)
                except ParseError as error:
                    self.problems.note(number, name, str(error))
        return plain

    def _apply(self, *, dry: bool) -> Report:
        with transaction.atomic():
            self._loader.apply(self)
            self.problems.refuse_if_any()
            report = self._finish(dry=dry)
            self._hooks.applied(self._load)
            if dry:
                transaction.set_rollback(True)
        return report

    def _finish(self, *, dry: bool) -> Report:
        self.log.write()
        if self._load is not None:
            self._load.row_count = self.count["rows"]
            self._load.save(update_fields=["row_count"])
        if not dry:
            if self._load is not None:
                self._hooks.before_derived(self._load)
            count = self.stage.touched_count()
            touched = every(refresh.CHUNK, self.stage.touched(), lambda done: self._hooks.applying(done, count))
            refresh.refresh(touched, on=self.on)
        names = ("added", "filled", "corrected", "unchanged", "rows")
        made = {name: self.count[name] for name in MADE if self.count[name]}
        counts = {name: self.count[name] for name in names}
        return Report(
            **counts,
            same=tuple(self.stage.same_spans(SPANS_SHOWN)),
            made=made,
            joined=tuple(dict.fromkeys(self._joined)),
        )

    # -- for whoever applies the rows

    @property
    def load(self) -> models.Load:
        """The row that says where everything came from, made when the first thing comes."""
        if self._load is None:
            self._load = models.Load.objects.create(
                kind=self._loader.kind,
                name=self.name[:255],
                digest=self.digest,
                correcting=self.correct,
                done_by=self.done_by,
                by=self.by,
            )
        return self._load

    def values(self, cells: Cells, columns: Iterable[str]) -> dict[str, Any]:
        """What cells stand for; blanks are left out."""
        return {column: self.columns[column].value(cells[column]) for column in columns if cells.get(column)}

    def settle(
        self, thing: django.Model, facts: Iterable[tuple[str, str, Any]], row: int, *, final: bool = False
    ) -> set[str]:
        """Compare a row's facts of a thing (column, field, value) with what is stored; returns the fields that changed.

        A blank is filled; something else is corrected if that was asked for, else a problem. A thing without a key is still
        to be stored: nothing of it is logged. With `final`, nothing is corrected: another row of the file has settled it.
        """
        changed = set()
        for column, field, value in facts:
            stored = getattr(thing, field)
            if stored == value:
                continue
            blank = stored in (None, "")
            if not blank and (final or not self.correct):
                self.note_contradiction(row, column, stored, value, final=final)
                continue
            if thing.pk is not None and blank:
                self.log_filled(thing, field, value)
            elif thing.pk is not None:
                self.log_corrected(thing, field, stored, value)
            setattr(thing, field, value)
            changed.add(field)
        return changed

    def log_filled(self, thing: django.Model, field: str, value: Any) -> None:
        """Log that a blank of a thing on file was filled."""
        self.count["filled"] += 1
        self.log.note(self.load, thing, field, None, value)

    def log_corrected(self, thing: django.Model, field: str, before: Any, after: Any) -> None:
        """Log that a fact of a thing on file was corrected."""
        self.count["corrected"] += 1
        self.log.note(self.load, thing, field, before, after)

    @property
    def done_by(self) -> str:
        """Another company, whose work it is where a row names nobody; blank: ours."""
        return self._hooks.done_by

    @property
    def whose(self) -> Whose:
        """Whom somebody said that rows mean which name a customer on file at a street that is none of theirs."""
        return self._hooks.whose

    @property
    def apart_option(self) -> str:
        """How somebody says that another customer of a name is meant, for the texts of problems."""
        return self._hooks.apart_option

    def note_joined(self, site: str) -> None:
        """Note that a site comes to a customer on file by the name alone."""
        self._joined.append(site)

    def same(self, row: int) -> None:
        """Note that a row brought nothing new."""
        self.count["unchanged"] += 1
        self.stage.note_same(row)

    def note_contradiction(self, row: int, column: str, stored: Any, value: Any, *, final: bool = False) -> None:
        """Note that a row says otherwise than what is on file, showing both."""
        expected = f"{_quoted(stored)} as on file, not {_quoted(value)}"
        if final:
            expected = f"{_quoted(stored)} as another row says, not {_quoted(value)}"
        elif not self.correct:
            expected += f" ({self._hooks.correct_option} takes the file's word"
            expected += (
                f"; {self._hooks.apart_option} makes it another customer of that name)" if column == "street" else ")"
            )
        self.problems.note(row, column, expected)


def every(lot: int, things: Iterable[Thing], call: Callable[[int], None]) -> Iterator[Thing]:
    """Things one by one; after every lot, `call` hears how many there were."""
    for number, thing in enumerate(things, 1):
        yield thing
        if not number % lot:
            call(number)


def _quoted(value: Any) -> str:
    text = in_plain(value)
    return repr(text if len(text) <= 80 else text[:77] + "...")
