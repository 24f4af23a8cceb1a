"""A sheet as an office keeps it: which row names its columns, and its rows by those headings, with nothing left out in silence."""

import re
from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path

from fleet import sheets
from fleet.rules.spreadsheets import blanks, headings
from fleet.sheets import shape, workbook
from fleet.sheets.safe import unguarded
from fleet.sheets.shape import Shape
from fleet.sheets.table import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Line, Table

LONGEST_HEADING = 200
# People write a title above the columns: the name of the list, the day it was printed. So far down the headings are looked for.
TITLE_LINES = 20
NO_HEADINGS = -1

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
# What some programs write so that a spreadsheet keeps the zeros of a number.
_QUOTED = re.compile(r'="([^"]*)"')


class OwnSheet(Table):
    """A sheet by its own headings: blank ones are named by their place, equal ones told apart.

    `heading_row` is the number of the row that names the columns: 0 leaves it to be guessed, NO_HEADINGS says that none does.
    """

    marks_faults = True

    def __init__(self, file: str, *, sheet: str = "", heading_row: int = 0, shape: Shape | None = None) -> None:
        super().__init__(file, None, None)
        self.sheet = sheet
        self.heading_row = heading_row
        self.is_sure = True
        self.shape = shape or Shape()
        self._names: list[str] = []

    def fault(self, row: int, place: int, wanted: str) -> None:
        """No cell is a fault here: what has no value is a mark."""

    def rows(self, lines: Iterable[Line]) -> Iterator[tuple[int, dict[str, str]]]:
        """Each row that is not blank, by the headings of all columns that any row so far has filled."""
        _, (row, heading_cells), below = self.parted(shape.filled(lines, self.shape.merged))
        self.heading_row = row or NO_HEADINGS
        self._name(_without_last_blanks([_heading(self.text(cell)) for cell in heading_cells]))
        count = 0
        for number, line in below:
            cells = _without_last_blanks([self.text(cell) for cell in line])
            if not cells:
                continue
            count += 1
            if count > MOST_ROWS:
                raise self.refuse(number, "", f"at most {MOST_ROWS:,} rows; cut the file into several")
            if len(cells) > len(self.header):
                self._name(self._names + [""] * (len(cells) - len(self._names)))
            yield number, dict(zip(self.header, cells, strict=False))

    def parted(self, lines: Iterator[Line]) -> tuple[list[Line], Line, Iterator[Line]]:
        """Part a sheet into its title, which may be empty, the line that names the columns, and the lines below it."""
        if self.heading_row == NO_HEADINGS:
            return [], (0, []), lines
        first = list(islice(lines, TITLE_LINES))
        if self.heading_row:
            place = next((place for place, (number, _) in enumerate(first) if number == self.heading_row), None)
            if place is None:
                raise self.refuse(self.heading_row, "", "the headings of the columns")
        else:
            guess = headings.header_row([[self.text(cell) for cell in cells] for _, cells in first])
            place, self.is_sure = guess.place, guess.is_sure
        if not first:
            raise self.refuse(1, "", "a header row that names the columns")
        return first[:place], first[place], chain(first[place + 1 :], lines)

    def text(self, cell: str) -> str:
        """A cell's text as it is meant."""
        if not cell:
            return ""
        if len(cell) > LONGEST_CELL:
            return blanks.TOO_LONG
        if not cell.isprintable():
            cell = _CONTROL.sub(" ", cell)
        cell = cell.strip()
        if quoted := _QUOTED.fullmatch(cell):
            return quoted[1].strip()
        if cell.startswith("'"):
            cell = unguarded(cell)
        return blanks.NO_STORED_VALUE if cell.startswith("=") and len(cell) > 1 else cell

    def _name(self, names: list[str]) -> None:
        if len(names) > MOST_COLUMNS:
            raise self.refuse(1, "", f"at most {MOST_COLUMNS} columns")
        self._names = names
        self.header = _told_apart(names)


@dataclass(frozen=True, slots=True)
class Top:
    """How a sheet begins: its first lines, the row that most likely names its columns, and whether its words say so."""

    sheet: str
    is_visible: bool
    lines: tuple[Line, ...]
    heading_row: int
    is_sure: bool


def tops(path: Path, name: str) -> list[Top]:
    """How each sheet of a file begins; a CSV file has one, without a name."""
    with path.open("rb") as file:
        is_workbook = file.read(2) == b"PK"
        all_sheets = (
            workbook.sheets(file, OwnSheet(name)) if is_workbook else [workbook.Sheet("", is_visible=True, part="")]
        )
    return [_top(path, name, sheet) for sheet in all_sheets]


def _top(path: Path, name: str, sheet: workbook.Sheet) -> Top:
    table = OwnSheet(name, sheet=sheet.name)
    with closing(sheets.lines(path, table)) as lines:
        first = [(number, [table.text(cell) for cell in cells]) for number, cells in islice(lines, TITLE_LINES)]
    guess = headings.header_row([cells for _, cells in first])
    return Top(sheet.name, sheet.is_visible, tuple(first), first[guess.place][0] if first else 0, guess.is_sure)


def shape_of(path: Path, name: str, sheet: str) -> Shape:
    """The shape of a sheet of a workbook; a CSV file has none."""
    with path.open("rb") as file:
        return shape.of(file, OwnSheet(name, sheet=sheet)) if file.read(2) == b"PK" else Shape()


def own_rows(path: Path, table: OwnSheet) -> Generator[tuple[int, dict[str, str]]]:
    """The rows of a file by its own headings."""
    with closing(sheets.lines(path, table)) as lines:
        yield from table.rows(lines)


def _without_last_blanks(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _heading(text: str) -> str:
    return " ".join(text.split())[:LONGEST_HEADING]


def _told_apart(names: Sequence[str]) -> list[str]:
    """Each column by a heading that no other has."""
    names_apart: list[str] = []
    taken = {name.casefold() for name in names if name}
    seen: set[str] = set()
    for place, name in enumerate(names, 1):
        heading, number = name or f"column {place}", 2
        while heading.casefold() in seen or (heading.casefold() in taken and heading != name):
            heading, number = f"{name or f'column {place}'} ({number})", number + 1
        seen.add(heading.casefold())
        names_apart.append(heading)
    return names_apart
