"""A sheet as people have it: read by its own headings, for somebody to match with ours, and then by that matching."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain, islice
from pathlib import Path

from fleet import sheets
from fleet.rules import datestyles
from fleet.rules.datestyles import Style
from fleet.sheets.problems import Problems
from fleet.sheets.safe import unguarded
from fleet.sheets.table import MOST_COLUMNS, Line, Table

LONGEST_HEADING = 200
# People write a title above the columns: the name of the list, the day it was printed. So far down the header is looked for.
TITLE_LINES = 20
# A line is a title if it fills less than this part of what the fullest of those lines fills.
TITLE_FILLS = 3


class OwnHeadings(Table):
    """A table by its own headings: blank ones are named by their place, equal ones told apart, and no fault is minded.

    What is wrong in a cell matters only once it is known which column of ours it is.
    """

    def __init__(self, file: str) -> None:
        super().__init__(file, None, None)

    def fault(self, row: int, place: int, wanted: str) -> None:
        """Mind no fault."""

    def _top(self, lines: Iterator[Line]) -> tuple[Line, Iterator[Line]]:
        """The line that names the columns, below any title, and those below it."""
        _, header, below = parted(lines)
        return header, below

    def _header(self, line: Line) -> list[str]:
        row, cells = line
        names = [_short(self._clean(row, place, cell)) for place, cell in enumerate(cells)]
        while names and not names[-1]:
            names.pop()
        if not names:
            raise self.refuse(1, "", "a header row that names the columns")
        if len(names) > MOST_COLUMNS:
            raise self.refuse(1, "", f"at most {MOST_COLUMNS} columns")
        return _told_apart(names)


class Matched(OwnHeadings):
    """The same table once its columns are matched: rows by our columns, days as we write them, faults noted by our columns."""

    def __init__(
        self, problems: Problems, matching: Mapping[str, str], styles: Mapping[str, Style], ours: Iterable[str]
    ) -> None:
        super().__init__(problems.file)
        self.problems = problems
        self._matching = matching
        self._styles = styles
        self._blank = dict.fromkeys(ours, "")

    def fault(self, row: int, place: int, wanted: str) -> None:
        """Note what is wrong with a cell of a matched column; what is left out may be as it likes."""
        if place < len(self.header) and (name := self._matching.get(self.header[place])):
            self._note(row, name, wanted)

    def rows(self, lines: Iterable[Line]) -> Iterator[tuple[int, dict[str, str]]]:
        """Each row by our columns."""
        for row, theirs in super().rows(lines):
            cells = dict(self._blank)
            for heading, name in self._matching.items():
                if cell := theirs.get(heading, ""):
                    cells[name] = self._text(row, name, cell)
            for name, style in self._styles.items():
                if cells[name]:
                    cells[name] = self._day(row, name, cells[name], style)
            if any(cells.values()):
                yield row, cells

    def _text(self, row: int, name: str, cell: str) -> str:
        """A cell without the sign that kept a spreadsheet from taking it for a formula."""
        text = unguarded(cell) if cell.startswith("'") else cell
        if text.startswith("="):
            self._note(row, name, "a value, not a formula")
            return ""
        return text

    def _day(self, row: int, name: str, cell: str, style: Style) -> str:
        """A day as we write it; blank where it cannot be read, which is noted."""
        day = datestyles.read(cell, style)
        if day is not None:
            return day.isoformat()
        example = datestyles.written(datestyles.EXAMPLE, style)
        why = ", with all four digits of its year" if datestyles.has_short_year(cell) else ""
        self._note(row, name, f"a day written as {example}{why}, not {cell[:60]!r}")
        return ""

    def _note(self, row: int, name: str, wanted: str) -> None:
        assert self.problems is not None
        self.problems.note(row, name, wanted)


def parted(lines: Iterator[Line]) -> tuple[list[Line], Line, Iterator[Line]]:
    """Part a sheet into its title, which may be empty, the line that names the columns, and the lines below it."""
    first = list(islice(lines, TITLE_LINES))
    filled = [sum(1 for cell in cells if cell.strip()) for _, cells in first]
    most = max(filled, default=0)
    place = next((place for place, count in enumerate(filled) if count and count * TITLE_FILLS >= most), None)
    if place is None:
        return first, (1, []), lines
    return first[:place], first[place], chain(first[place + 1 :], lines)


def own_rows(path: Path, name: str) -> Iterator[tuple[int, dict[str, str]]]:
    """The rows of a file by its own headings."""
    table = OwnHeadings(name)
    return table.rows(sheets.lines(path, table))


def _short(heading: str) -> str:
    return " ".join(heading.split())[:LONGEST_HEADING]


def _told_apart(names: list[str]) -> list[str]:
    """The headings, each unlike any other."""
    found: list[str] = []
    taken = {name.casefold() for name in names if name}
    seen: set[str] = set()
    for place, name in enumerate(names, 1):
        heading, number = name or f"column {place}", 2
        while heading.casefold() in seen or (heading.casefold() in taken and heading != name):
            heading, number = f"{name or f'column {place}'} ({number})", number + 1
        seen.add(heading.casefold())
        found.append(heading)
    return found
