"""What a workbook says of a sheet besides its cells: the columns that do not show, and the cells that are merged into one."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import BinaryIO

from openpyxl.utils.cell import range_boundaries

from fleet.sheets import workbook
from fleet.sheets.table import MOST_COLUMNS, Line, Table

_CHUNK = 1 << 16
# What stands before and behind the rows of a sheet; more of it is not looked at.
_MOST = 1 << 22
_ROWS_BEGIN = re.compile(rb"<(?:\w+:)?sheetData[\s/>]")
_ROWS_END = re.compile(rb"</(?:\w+:)?sheetData\s*>|<(?:\w+:)?sheetData\s*/>")
_COLUMN = re.compile(rb"<(?:\w+:)?col\s([^>]*)>")
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]{1,3}[0-9]{1,7}:[A-Z]{1,3}[0-9]{1,7})"')
_LONGEST_TAG = 64


@dataclass(frozen=True, slots=True)
class Merged:
    """Cells of a column that are one: which column, counted from 0, the row that has the text, and the last."""

    column: int
    first_row: int
    last_row: int


@dataclass(frozen=True, slots=True)
class Shape:
    """The columns of a sheet that do not show, counted from 0, and its cells that are one over several rows."""

    hidden: frozenset[int] = frozenset()
    merged: tuple[Merged, ...] = ()


def of(file: BinaryIO, table: Table) -> Shape:
    """The shape of the sheet that a table reads."""
    with workbook.opened(file, table) as archive:
        sheet = workbook.chosen(workbook.sheets_in(file, archive, table), table)
        with archive.open(sheet.part) as part:
            before, behind = _around_rows(iter(lambda: part.read(_CHUNK), b""))
    return Shape(frozenset(_hidden(before)), tuple(sorted(_merged(behind), key=lambda one: one.first_row)))


def _around_rows(chunks: Iterator[bytes]) -> tuple[bytes, bytes]:
    before, behind, last = b"", b"", b""
    is_before, is_behind = True, False
    for chunk in chunks:
        if is_before:
            before += chunk
            if begin := _ROWS_BEGIN.search(before):
                last, before, is_before = before[begin.start() :], before[: begin.start()], False
            elif len(before) > _MOST:
                break
        elif is_behind:
            behind += chunk
            if len(behind) > _MOST:
                break
        else:
            last = last[-_LONGEST_TAG:] + chunk
        if not is_before and not is_behind and (end := _ROWS_END.search(last)):
            behind, is_behind = last[end.end() :], True
    return before, behind


def _hidden(before: bytes) -> Iterator[int]:
    for column in _COLUMN.finditer(before):
        said = dict(re.findall(rb'(\w+)="([^"]*)"', column[1]))
        if said.get(b"hidden") in (b"1", b"true"):
            yield from range(int(said[b"min"]) - 1, min(int(said[b"max"]), MOST_COLUMNS))


def _merged(behind: bytes) -> Iterator[Merged]:
    """Of cells that are merged over several columns too, the first column has the text: it is of no other."""
    for one in _MERGED.finditer(behind):
        column, first, _, last = range_boundaries(one[1].decode())
        if column and first and last and last > first:
            yield Merged(column - 1, first, last)


def filled(lines: Iterable[Line], merged: Sequence[Merged]) -> Iterator[Line]:
    """Lines whose merged cells have their text in each of their rows, as one sees it."""
    coming, open_now = list(reversed(merged)), list[tuple[Merged, str]]()
    for number, cells in lines:
        open_now = [(one, text) for one, text in open_now if one.last_row >= number]
        for one, text in open_now:
            cells.extend([""] * (one.column + 1 - len(cells)))
            cells[one.column] = cells[one.column] or text
        while coming and coming[-1].first_row <= number:
            one = coming.pop()
            if one.first_row == number and one.column < len(cells) and cells[one.column]:
                open_now.append((one, cells[one.column]))
        yield number, cells
