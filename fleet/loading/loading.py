"""What loading any file has in common: check every cell, set the rows down, apply them in one transaction, or refuse."""

import contextlib
import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self, TypeVar

from django.db import IntegrityError, transaction
from django.db import models as django

from fleet import models, sheets
from fleet.derived import refresh as kept
from fleet.loading.staging import Stage
from fleet.log import Log
from fleet.sheets import BadFile, Problem, Problems
from fleet.sheets.columns import Column, Wanted, in_plain

BATCH = 2_000

Thing = TypeVar("Thing")

Columns = Mapping[str, Column]
Cells = dict[str, str]
Rows = Iterable[tuple[int, Cells]]


@dataclass(frozen=True, slots=True)
class Report:
    """What came of a file: things added, blanks filled and facts corrected, and of its rows those that brought nothing new."""

    added: int
    filled: int
    corrected: int
    unchanged: int
    rows: int


# Checks a row whose cells are each in order, and adds what it is known by; False leaves it out.
Check = Callable[[int, Cells], bool]


class Bringing:
    """How a file comes in: a command's as this says; the import page says otherwise (`fleet.actions.import_take`).

    Whatever is told how far the load is may raise: then nothing is taken.
    """

    # What somebody says to have facts corrected.
    CORRECTING = "--correct"

    def problems(self, name: str) -> Problems:
        """Give what gathers the problems of a file of this name."""
        return Problems(name)

    def rows(self, path: Path, columns: Columns, problems: Problems) -> Rows:
        """Give the rows of the file by our columns."""
        return sheets.rows(path, columns=columns, name=problems.file, problems=problems)

    def checked(self, rows: int) -> None:
        """Hear that so many rows were read and checked."""

    def taking(self, done: int = 0, of: int = 0) -> None:
        """Hear, every few thousand rows, that they are being taken; at last, of how many units the coverage is worked out."""

    def whole(self) -> AbstractContextManager[None]:
        """Hold the transaction in which the rows are taken, for whoever writes something else with them."""
        return contextlib.nullcontext()

    def seen(self, load: models.Load | None) -> None:
        """Hear of a load whose rows and changes all stand; those of a check are forgotten next."""

    def ended(self, report: "Report") -> None:
        """Hear, inside the transaction, what came of the file."""


class Loading:
    """One file on its way in: its staged rows, who brought it, what was found wrong, and what has come of it so far."""

    def __init__(
        self,
        kind: str,
        columns: Columns,
        keys: Sequence[str],
        *,
        by: models.User | None,
        on: dt.date,
        correct: bool,
        bringing: Bringing | None = None,
    ) -> None:
        self.kind = kind
        self.columns = columns
        self.by = by
        self.on = on
        self.correct = correct
        self.count: Counter[str] = Counter()
        self.name = "the rows"
        self.digest = ""
        self.log = Log(by=by)
        self._load: models.Load | None = None
        self.problems = Problems(self.name)
        self._bringing = bringing or Bringing()
        self.stage = Stage((*columns, *keys), between=self._bringing.taking)

    def file(self, path: Path | str, name: str | None) -> Rows:
        """Give the rows of a file."""
        path = Path(path)
        self.name = name or path.name
        self.problems = self._bringing.problems(self.name)
        with contextlib.suppress(OSError), path.open("rb") as file:  # the reading tells what is wrong
            self.digest = hashlib.file_digest(file, "sha256").hexdigest()
        return _every(BATCH, self._bringing.rows(path, self.columns, self.problems), self._bringing.checked)

    def given(self, rows: Sequence[Mapping[str, str]]) -> Rows:
        """Give rows that are not from a file, read in the same way."""
        return sheets.given(rows, columns=self.columns, name=self.name, problems=self.problems)

    def take(self, rows: Rows, check: Check, apply: Callable[[Self], None], *, dry: bool) -> Report:
        """Take all of the rows or, by raising BadFile, none; dry: find out what would come of it, and take nothing."""
        try:
            with self.stage:
                self._stage(rows, check)
                # Only now: nobody else can write to SQLite while this goes on.
                with self._bringing.whole():
                    report = self._apply(apply, dry=dry)
                    self._bringing.ended(report)
        except IntegrityError as wrong:
            # Nothing above should let this happen, but for somebody else writing the same thing at the same moment.
            wanted = f"rows that can stand beside what is on file; the database refuses them ({wrong})"
            raise BadFile([Problem(self.name, 0, "", wanted)]) from wrong
        return report

    def _apply(self, apply: Callable[[Self], None], *, dry: bool) -> Report:
        with transaction.atomic():
            apply(self)
            self.problems.refuse_if_any()
            report = self._finish(dry=dry)
            self._bringing.seen(self._load)
            if dry:
                transaction.set_rollback(True)
        return report

    def _stage(self, rows: Rows, check: Check) -> None:
        try:
            self.stage.set_down(self._in_order(rows, check))
        except Problem as problem:
            self.problems.add(problem)
        self.problems.refuse_if_any()

    def _in_order(self, rows: Rows, check: Check) -> Rows:
        """Give the rows that are in order, cells as they are kept, and note what is wrong with the others."""
        for number, cells in rows:
            self.count["rows"] += 1
            kept = {}
            before = self.problems.count
            for name, cell in cells.items():
                if cell:
                    try:
                        kept[name] = self.columns[name].plain(cell)
                    except Wanted as wanted:
                        self.problems.note(number, name, str(wanted))
            if self.problems.count == before and check(number, kept):
                yield number, kept

    @property
    def load(self) -> models.Load:
        """The row that says where everything came from, made when the first thing comes."""
        if self._load is None:
            self._load = models.Load.objects.create(
                kind=self.kind, name=self.name[:255], digest=self.digest, correcting=self.correct, by=self.by
            )
        return self._load

    def values(self, cells: Cells, columns: Iterable[str]) -> dict[str, Any]:
        """Give what cells stand for; blanks are left out."""
        return {column: self.columns[column].value(cells[column]) for column in columns if cells.get(column)}

    def settle(
        self, thing: django.Model, told: Iterable[tuple[str, str, Any]], row: int, *, final: bool = False
    ) -> set[str]:
        """Hold what a row tells of a thing (column, field, value) against what is stored; give the fields that changed.

        A blank is filled; something else is corrected if that was asked for, else a problem. A thing without a key is still
        to be stored: nothing of it is logged. With `final`, nothing is corrected: another row of the file has settled it.
        """
        changed = set()
        for column, field, value in told:
            stored = getattr(thing, field)
            if stored == value:
                continue
            blank = stored in (None, "")
            if not blank and (final or not self.correct):
                self.contradiction(row, column, stored, value, final=final)
                continue
            if thing.pk is not None and blank:
                self.fill(thing, field, value)
            elif thing.pk is not None:
                self.change(thing, field, stored, value)
            setattr(thing, field, value)
            changed.add(field)
        return changed

    def fill(self, thing: django.Model, field: str, value: Any) -> None:
        """Log that a blank of a thing on file was filled."""
        self.count["filled"] += 1
        self.log.note(self.load, thing, field, None, value)

    def change(self, thing: django.Model, field: str, before: Any, after: Any) -> None:
        """Log that a fact of a thing on file was corrected."""
        self.count["corrected"] += 1
        self.log.note(self.load, thing, field, before, after)

    def contradiction(self, row: int, column: str, stored: Any, told: Any, *, final: bool = False) -> None:
        """Note that a row says otherwise than what is on file, showing both."""
        wanted = f"{_quoted(stored)} as on file, not {_quoted(told)}"
        if final:
            wanted = f"{_quoted(stored)} as another row says, not {_quoted(told)}"
        elif not self.correct:
            wanted += f" ({self._bringing.CORRECTING} takes the file's word)"
        self.problems.note(row, column, wanted)

    def _finish(self, *, dry: bool) -> Report:
        self.log.write()
        if self._load is not None:
            self._load.row_count = self.count["rows"]
            self._load.save(update_fields=["row_count"])
        if not dry:
            count = self.stage.touched_count()
            touched = _every(kept.CHUNK, self.stage.touched(), lambda done: self._bringing.taking(done, count))
            kept.refresh(touched, on=self.on)
        names = ("added", "filled", "corrected", "unchanged", "rows")
        return Report(*(self.count[name] for name in names))


def _every(lot: int, things: Iterable[Thing], tell: Callable[[int], None]) -> Iterator[Thing]:
    """Give things one by one, telling after every lot how many there were."""
    for number, thing in enumerate(things, 1):
        yield thing
        if not number % lot:
            tell(number)


def _quoted(value: Any) -> str:
    text = in_plain(value)
    return repr(text if len(text) <= 80 else text[:77] + "...")
