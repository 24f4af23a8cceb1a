"""The files of the import page on the disk: what was brought, and the same again with a column that says what is wrong.

They lie in the media folder under random names, readable by nobody else on the computer, until they are taken or too old.
"""

import csv
import os
import secrets
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from itertools import chain, groupby
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from openpyxl import Workbook

from fleet import sheets
from fleet.refusals import Refused
from fleet.rules.spreadsheets.headings import WRONG
from fleet.sheets import Problem, Problems, safe
from fleet.sheets.own import OwnSheet
from fleet.sheets.table import Line

FOLDER = "imports"
CHUNK = 1 << 20
LOT = 2_000


def path_of(stored: str) -> Path:
    """Where a stored file is."""
    return Path(settings.MEDIA_ROOT) / stored


def keep(file: BinaryIO) -> str:
    """Keep what was brought, whole and for good, and give its name."""
    stored = _random_name()
    size = 0
    with _written(stored) as out:
        while chunk := file.read(CHUNK):
            size += len(chunk)
            if size > settings.IMPORT_LARGEST:
                raise Refused(
                    f"It is larger than {settings.IMPORT_LARGEST // 1_000_000:,} MB. Split it into several files.",
                    "file",
                )
            out.write(chunk)
    return stored


def copy(stored: str) -> str:
    """Keep a stored file once more, under a name of its own."""
    with path_of(stored).open("rb") as file:
        return keep(file)


def remove(*names: str) -> None:
    """Remove stored files, and what stands beside them."""
    for name in filter(None, names):
        path_of(name).unlink(missing_ok=True)
        begin(name)


# While a load takes its rows, nobody else can write to SQLite, and nobody sees what it writes. What must be told meanwhile
# stands in a small file beside the stored one: that somebody wants it stopped, and how far it is.
_BESIDE = (".stop", ".far")


def _stop_flag(stored: str) -> Path:
    return path_of(f"{stored}.stop")


def _how_far(stored: str) -> Path:
    return path_of(f"{stored}.far")


def begin(stored: str) -> None:
    """Forget what an earlier load of this file left beside it."""
    for suffix in _BESIDE:
        path_of(f"{stored}{suffix}").unlink(missing_ok=True)


def ask_to_stop(stored: str) -> None:
    """Leave a flag that somebody wants the load stopped."""
    with suppress(FileNotFoundError):  # the folder is gone with the last file
        _stop_flag(stored).touch(mode=0o600)


def is_stopped(stored: str) -> bool:
    """Whether somebody wants the load stopped."""
    return _stop_flag(stored).exists()


def say_how_far(stored: str, done: int, of: int) -> None:
    """Record how many units the load has worked out."""
    _how_far(stored).write_text(f"{done} {of}")


def how_far(stored: str) -> tuple[int, int]:
    """How many units the load has worked out, of how many; 0 of 0 where that is not recorded."""
    try:
        done, of = _how_far(stored).read_text().split()
        return int(done), int(of)
    except (OSError, ValueError):  # not there, or just being written
        return 0, 0


def all_stored() -> Iterator[tuple[str, float]]:
    """Every stored file, by name, with the time it was last written (seconds since 1970)."""
    folder = path_of(FOLDER)
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        if path.is_file() and path.suffix not in _BESIDE:
            yield path.relative_to(settings.MEDIA_ROOT).as_posix(), path.stat().st_mtime


class AllProblems(Problems):
    """Every problem of a file, however many, in a database of its own that is thrown away."""

    def __init__(self, file: str) -> None:
        super().__init__(file)
        self._folder = tempfile.TemporaryDirectory(prefix="problems-", dir=settings.DATA_DIR)
        self._rows = sqlite3.connect(f"{self._folder.name}/problems.sqlite3", isolation_level=None)
        self._rows.execute("PRAGMA journal_mode = OFF")
        self._rows.execute("PRAGMA synchronous = OFF")
        self._rows.execute("CREATE TABLE problem (row INTEGER, name TEXT, wanted TEXT)")
        self._rows.execute("BEGIN")

    def add(self, problem: Problem) -> None:
        """Note a problem."""
        super().add(problem)
        self._rows.execute("INSERT INTO problem VALUES (?, ?, ?)", (problem.row, problem.column, problem.wanted))

    def by_row(self, heading_of: Callable[[str], str]) -> Iterator[tuple[int, str]]:
        """The problems of each row that has any, in the order of the file; columns as `heading_of` names them."""
        lines = self._rows.execute("SELECT row, name, wanted FROM problem WHERE row > 0 ORDER BY row, rowid")
        for row, problems in groupby(lines, key=lambda line: int(line[0])):
            sentences = (f"{heading_of(name)}: {wanted}" if name else wanted for _, name, wanted in problems)
            yield row, "; ".join(dict.fromkeys(sentences))

    def close(self) -> None:
        """Throw it away."""
        self._rows.close()
        self._folder.cleanup()


def write_back(
    stored: str,
    table: OwnSheet,
    problems: AllProblems,
    heading_of: Callable[[str], str],
    *,
    tell: Callable[[int], None],
) -> str:
    """Write a sheet anew with what is wrong in the first column, and give its name; blank if it cannot be read to its end."""
    is_workbook = _is_workbook(stored)
    name = _random_name()
    lines = _with_problems(stored, table, problems.by_row(heading_of), tell)
    try:
        with _written(name) as out:
            (_workbook if is_workbook else _csv)(lines, out)
    except Problem:
        return ""
    return name


def suffix_of(stored: str) -> str:
    """The ending of a stored file's name: a workbook's or a CSV file's."""
    return ".xlsx" if _is_workbook(stored) else ".csv"


def _with_problems(
    stored: str, table: OwnSheet, problems: Iterator[tuple[int, str]], tell: Callable[[int], None]
) -> Iterator[Sequence[str]]:
    """The lines of the file, each with its problems in a first column; an older column of problems is left out."""
    row, wrong = next(problems, (0, ""))
    with closing(sheets.lines(path_of(stored), table)) as lines:
        title, header, below = table.parted(lines)
        place = header[1].index(WRONG) if WRONG in header[1] else None
        for number, cells in _steady(chain(title, [header], below)):
            while row and row < number:
                row, wrong = next(problems, (0, ""))
            said = wrong if row == number else ""
            first = WRONG if number == header[0] else said
            rest = [cell for at, cell in enumerate(cells) if at != place]
            yield [first, *rest]
            if not number % LOT:
                tell(number)


def _steady(lines: Iterator[Line]) -> Iterator[Line]:
    """The lines, with blank ones for the empty rows that a workbook leaves out."""
    expected = 1
    for number, cells in lines:
        # Not without bound: a workbook may claim any number.
        while expected < number <= expected + LOT:
            yield expected, []
            expected += 1
        yield number, cells
        expected = number + 1


def _csv(lines: Iterator[Sequence[str]], out: BinaryIO) -> None:
    """The mark at the front tells a spreadsheet that this is UTF-8."""
    out.write(b"\xef\xbb\xbf")
    writer = csv.writer(_Encoded(out))
    for line in lines:
        writer.writerow([safe.guarded(cell) for cell in line])


class _Encoded:
    """A file that takes text."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out

    def write(self, text: str) -> int:
        return self._out.write(text.encode("utf-8", "replace"))


def _workbook(lines: Iterator[Sequence[str]], out: BinaryIO) -> None:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Rows")
    sheet.freeze_panes = "B2"
    sheet.column_dimensions["A"].width = 60
    for line in lines:
        sheet.append([safe.cell(sheet, text) if text else None for text in line])
    book.save(out)


def _is_workbook(stored: str) -> bool:
    with path_of(stored).open("rb") as file:
        return file.read(2) == b"PK"


def _random_name() -> str:
    name = secrets.token_hex(16)
    return f"{FOLDER}/{name[:2]}/{name}"


@contextmanager
def _written(stored: str) -> Iterator[BinaryIO]:
    """Hold a stored file while it is written: it is there whole once this ends, and not at all if it fails."""
    path = path_of(stored)
    part = path.with_name(f"{path.name}.part")
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        with os.fdopen(os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
