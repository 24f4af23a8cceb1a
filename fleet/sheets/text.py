"""The lines of a CSV file: UTF-8 with or without its mark, or Windows-1252; commas, or semicolons or tabs where the header has them."""

import codecs
import csv
import io
from collections.abc import Generator, Iterator
from typing import BinaryIO

from fleet.sheets.table import LONGEST_CELL, MOST_COLUMNS, Line, Table

_CHUNK = 1 << 16
# A line longer than a row of the widest table with cells of the greatest length is no row; it is not read to its end.
_LONGEST_LINE = 4 * LONGEST_CELL * 10
_SIGNS = ",;\t"
_TOP = 20  # lines, in which the signs that cut the columns are looked for
_NOT_TEXT = {
    b"\xff\xfe": "a CSV file saved as UTF-8, not as UTF-16",
    b"\xfe\xff": "a CSV file saved as UTF-8, not as UTF-16",
    b"\xd0\xcf\x11\xe0": "a CSV or XLSX file; save an older or a protected workbook as .xlsx without a password",
    b"%PDF": "a CSV or XLSX file, not a PDF",
    b"{\\rtf": "a CSV or XLSX file, not a document",
}


def lines(file: BinaryIO, start: bytes, table: Table) -> Generator[Line]:
    """The records of a CSV file with their numbers."""
    for sign, wanted in _NOT_TEXT.items():
        if start.startswith(sign):
            raise table.refuse(0, "", wanted)
    encoding = _encoding(file, table)
    file.seek(0)
    # newline="" leaves line ends inside quotes to the csv module.
    decoded = io.TextIOWrapper(file, encoding=encoding, newline="")
    row = 0
    try:
        top = _top(decoded, table)
        reader = csv.reader(_joined(top, decoded, table), delimiter=_delimiter(top[-1]), strict=True)
        for row, cells in enumerate(reader, 1):
            yield row, cells
    except csv.Error as wrong:
        raise table.refuse(
            row + 1, "", f"quotes that close and cells of at most {LONGEST_CELL:,} characters ({wrong})"
        ) from wrong
    finally:
        decoded.detach()


def _encoding(file: BinaryIO, table: Table) -> str:
    """Whether it is UTF-8 or Windows-1252, by reading through the file once: text in the second is hardly ever valid as the first."""
    file.seek(0)
    utf8 = codecs.getincrementaldecoder("utf-8")()
    seen_utf8, row = False, 1
    try:
        while chunk := file.read(_CHUNK):
            if b"\x00" in chunk:
                row += chunk[: chunk.index(b"\x00")].count(b"\n")
                raise table.refuse(row, "", "a CSV or XLSX file; this has NUL bytes, as programs and pictures do")
            decoded = utf8.decode(chunk)
            seen_utf8 = seen_utf8 or not decoded.isascii()
            row += chunk.count(b"\n")
        utf8.decode(b"", final=True)
    except UnicodeDecodeError as wrong:
        at = wrong.object[: wrong.start]
        if seen_utf8 or not at.isascii() or wrong.reason == "unexpected end of data":
            raise table.refuse(row + at.count(b"\n"), "", "UTF-8 throughout; the file is damaged here") from wrong
        return _windows(file, table)
    return "utf-8-sig"


def _windows(file: BinaryIO, table: Table) -> str:
    file.seek(0)
    row = 1
    while chunk := file.read(_CHUNK):
        try:
            chunk.decode("cp1252")
        except UnicodeDecodeError as wrong:
            row += chunk[: wrong.start].count(b"\n")
            raise table.refuse(row, "", "text in UTF-8 or Windows-1252") from wrong
        row += chunk.count(b"\n")
    return "cp1252"


def _line(decoded: io.TextIOWrapper, table: Table, row: int) -> str:
    line = decoded.readline(_LONGEST_LINE)
    if len(line) == _LONGEST_LINE and not line.endswith("\n"):
        raise table.refuse(
            row, "", f"cells of at most {LONGEST_CELL:,} characters; this line is far longer than a row can be"
        )
    return line


def _top(decoded: io.TextIOWrapper, table: Table) -> list[str]:
    """The first lines down to the one that is cut into columns: a title above it is not."""
    top = [_line(decoded, table, 1)]
    while top[-1] and len(top) < _TOP and not any(sign in top[-1] for sign in _SIGNS):
        top.append(_line(decoded, table, len(top) + 1))
    return top


def _joined(top: list[str], decoded: io.TextIOWrapper, table: Table) -> Iterator[str]:
    yield from filter(None, top)
    number = len(top) + 1
    while line := _line(decoded, table, number):
        yield line
        number += 1


def _delimiter(header: str) -> str:
    """Choose the sign that cuts the header into the most columns; a comma unless another clearly does."""
    counts = {sign: min(header.count(sign), MOST_COLUMNS) for sign in _SIGNS}
    best = max(counts, key=lambda sign: counts[sign])
    return best if counts[best] > counts[","] else ","
