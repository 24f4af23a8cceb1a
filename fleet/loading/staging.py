"""Rows of a file staged in a database of their own on disk, so that they can be put in order however many there are."""

import sqlite3
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import Any

from django.conf import settings


class Stage:
    """A table `staged` of the file's rows in plain text, blanks as NULL, and the units that a load touches."""

    def __init__(self, columns: Sequence[str], *, between: Callable[[], None] = lambda: None) -> None:
        self.columns = tuple(columns)
        self._between = between

    def __enter__(self) -> "Stage":
        self._folder = tempfile.TemporaryDirectory(prefix="load-", dir=settings.DATA_DIR)
        self._rows = sqlite3.connect(f"{self._folder.name}/stage.sqlite3", isolation_level=None)
        # Nobody else reads it and it is thrown away, so nothing is spent on surviving a crash.
        for pragma in ("journal_mode = OFF", "synchronous = OFF", "locking_mode = EXCLUSIVE", "cache_size = -4000"):
            self.run(f"PRAGMA {pragma}")
        self.run("BEGIN")
        self.run(f"CREATE TABLE staged (n INTEGER PRIMARY KEY, row INTEGER, {', '.join(self.columns)})")
        self.run("CREATE TABLE touched (unit INTEGER PRIMARY KEY)")
        self.run("CREATE TABLE same (row INTEGER PRIMARY KEY)")
        return self

    def __exit__(self, *_: object) -> None:
        self._rows.close()
        self._folder.cleanup()

    def add(self, rows: Iterable[tuple[int, dict[str, str]]]) -> None:
        """Stage rows, each with its number in the file; a column that a row does not have is blank."""
        marks = ", ".join("?" * (len(self.columns) + 1))
        lines = ((number, *(cells.get(column) or None for column in self.columns)) for number, cells in rows)
        self.run_many(f"INSERT INTO staged (row, {', '.join(self.columns)}) VALUES ({marks})", lines)

    def run(self, statement: str, values: Sequence[Any] = ()) -> None:
        """Run one statement."""
        self._rows.execute(statement, values)

    def run_many(self, statement: str, values: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each of many sets of values."""
        self._rows.executemany(statement, values)

    def select(self, statement: str, values: Sequence[Any] = ()) -> Iterator[tuple[Any, ...]]:
        """The rows of a query, one by one."""
        return iter(self._rows.execute(statement, values))

    def in_chunks(self, statement: str, size: int) -> Iterator[list[tuple[Any, ...]]]:
        """The rows of a query, so many at a time; before each lot, whoever waits may call a halt."""
        rows = self.select(statement)
        while chunk := list(islice(rows, size)):
            self._between()
            yield chunk

    def touch(self, units: Iterable[int]) -> None:
        """Remember units whose facts, or whose site's facts, changed."""
        self.run_many("INSERT OR IGNORE INTO touched VALUES (?)", ((unit,) for unit in units))

    def touched(self) -> Iterator[int]:
        """Each touched unit, once."""
        return (unit for (unit,) in self.select("SELECT unit FROM touched ORDER BY unit"))

    def note_same(self, row: int) -> None:
        """Remember a row that brought nothing new."""
        self.run("INSERT OR IGNORE INTO same VALUES (?)", [row])

    def same_spans(self, most: int) -> list[tuple[int, int]]:
        """The rows that brought nothing new, those that follow one another as one span: so many spans at most."""
        spans: list[tuple[int, int]] = []
        for (row,) in self.select("SELECT row FROM same ORDER BY row"):
            if spans and spans[-1][1] == row - 1:
                spans[-1] = (spans[-1][0], row)
            elif len(spans) == most:
                break
            else:
                spans.append((row, row))
        return spans

    def touched_count(self) -> int:
        """How many units are touched."""
        ((count,),) = self.select("SELECT COUNT(*) FROM touched")
        return int(count)
