"""From the lines of a sheet to rows by column: what holds for every kind of file."""

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator

from fleet.sheets.problems import Problem, Problems

LONGEST_CELL = 5_000
MOST_COLUMNS = 200
MOST_ROWS = 1_000_000

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")

Line = tuple[int, list[str]]


class Table:
    """One file being read: its name, the columns that it may have, and what was found wrong."""

    # Of a workbook: which sheet is read (blank: the first that shows), and whether a cell without a value of its own is a mark
    # instead of a fault.
    sheet = ""
    marks_faults = False

    def __init__(self, file: str, columns: Collection[str] | None, problems: Problems | None) -> None:
        self.file = file
        self.columns = columns
        self.problems = problems
        self.header: list[str] = []

    def refuse(self, row: int, column: str, wanted: str) -> Problem:
        """Make the problem that ends the reading, for raising."""
        return Problem(self.file, row, column, wanted)

    def fault(self, row: int, place: int, wanted: str) -> None:
        """Note what is wrong with the cell at a place of a row, or end the reading with it."""
        column = self.header[place] if place < len(self.header) else f"number {place + 1}"
        problem = self.refuse(row, column, wanted)
        if self.problems is None:
            raise problem
        self.problems.add(problem)

    def rows(self, lines: Iterable[Line]) -> Iterator[tuple[int, dict[str, str]]]:
        """Read the header, then give each line that is not blank as its cells by column."""
        steps = iter(lines)
        top, steps = self._top(steps)
        self.header = self._header(top)
        missing = dict.fromkeys(set(self.columns or ()) - set(self.header), "")
        count, width = 0, len(self.header)
        for row, line in steps:
            cells = self._cells(row, line)
            if not any(cells):
                continue
            count += 1
            if count > MOST_ROWS:
                raise self.refuse(row, "", f"at most {MOST_ROWS:,} rows; cut the file into several")
            for place in range(width, len(cells)):
                if cells[place]:
                    self.fault(row, place, "no cell beyond the columns that the header names")
            yield row, missing | dict(zip(self.header, cells + [""] * (width - len(cells)), strict=False))

    def _top(self, lines: Iterator[Line]) -> tuple[Line, Iterator[Line]]:
        """The line that names the columns, and those below it: the first that holds anything."""
        return next((line for line in lines if any(line[1])), (1, [])), lines

    def _header(self, line: Line) -> list[str]:
        row, cells = line
        names = [self._clean(row, place, cell).casefold() for place, cell in enumerate(cells)]
        while names and not names[-1]:
            names.pop()
        if not names:
            raise self.refuse(1, "", "a header row that names the columns")
        if len(names) > MOST_COLUMNS:
            raise self.refuse(1, "", f"at most {MOST_COLUMNS} columns")
        faults = Problems(self.file)
        for place, name in enumerate(names, 1):
            if not name:
                faults.note(1, f"number {place}", "a name for the column")
            elif names.index(name) < place - 1:
                faults.note(1, name, "each column once")
            elif self.columns is not None and name not in self.columns:
                faults.note(1, name[:100], f"only known columns: {', '.join(self.columns)}")
        self._stop_at(faults.shown())
        return names

    def _stop_at(self, faults: list[Problem]) -> None:
        """End the reading if the header has faults: without it there is nothing to go on with."""
        if not faults:
            return
        if self.problems is None:
            raise faults[0]
        for fault in faults[:-1]:
            self.problems.add(fault)
        raise faults[-1]

    def _cells(self, row: int, line: list[str]) -> list[str]:
        together = "".join(line)
        # Nearly every row: nothing in it that needs a closer look.
        if "=" not in together and len(together) <= LONGEST_CELL and together.isascii() and together.isprintable():
            return [cell.strip() for cell in line]
        return [self._clean(row, place, cell) if cell else "" for place, cell in enumerate(line)]

    def _clean(self, row: int, place: int, cell: str) -> str:
        if len(cell) > LONGEST_CELL:
            self.fault(row, place, f"at most {LONGEST_CELL:,} characters in a cell, not {len(cell):,}")
            return ""
        if not cell.isascii():
            cell = unicodedata.normalize("NFC", cell)
        cell = cell.strip()
        if not cell.isprintable() and _CONTROL.search(cell):
            self.fault(row, place, "plain text without control characters")
            return ""
        if cell.startswith("="):
            self.fault(row, place, "a value, not a formula")
            return ""
        return cell
