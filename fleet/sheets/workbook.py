"""The lines of a sheet of an XLSX workbook, read as a stream: dates as ISO days, numbers as they are shown.

openpyxl reads the workbook's frame and styles. Cells, and the texts that they share, are taken from the XML piece by piece
here: openpyxl would keep all of them in memory, and fill every gap that a cell's address claims.
"""

import datetime as dt
import math
import re
import tempfile
import warnings
import zipfile
from array import array
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, BinaryIO, cast
from xml.etree.ElementTree import Element, XMLPullParser

from openpyxl.packaging.manifest import Manifest
from openpyxl.reader.excel import ExcelReader
from openpyxl.styles.numbers import BUILTIN_FORMATS, BUILTIN_FORMATS_MAX_SIZE
from openpyxl.styles.stylesheet import apply_stylesheet
from openpyxl.utils.cell import coordinate_to_tuple
from openpyxl.utils.datetime import from_excel
from openpyxl.xml.constants import SHARED_STRINGS, SHEET_MAIN_NS, XLSM, XLSX, XLTM

from fleet.rules.spreadsheets import blanks
from fleet.sheets.problems import Problem
from fleet.sheets.table import MOST_COLUMNS, Line, Table

_CHUNK = 1 << 16
_MOST_PARTS = 2_000
_LARGEST_SHEET = 1 << 29  # the XML of a million rows stays below it
_LARGEST_PART = 1 << 24
_LARGEST_FRAME = 1 << 26  # all parts together that are neither sheets nor texts
_LARGEST_RATIO = 200  # sheets shrink to a tenth or a thirtieth; what shrinks more is made to burst
_LONGEST_CELL = 1 << 20  # of XML: the text of a cell with all its type faces
_WIDEST_ROW = 16_384  # of a spreadsheet
_EXACT_BELOW = 10**15  # a spreadsheet keeps fifteen digits of a number

_ROW, _CELL, _STRING, _VALUE, _FORMULA, _INLINE, _RUN, _TEXT = (
    f"{{{SHEET_MAIN_NS}}}{name}" for name in ("row", "c", "si", "v", "f", "is", "r", "t")
)
_ZEROS = re.compile("0{2,}")


def lines(file: BinaryIO, table: Table) -> Generator[Line]:
    """The rows of a sheet with their numbers."""
    with opened(file, table) as archive:
        yield from _lines(file, archive, table)


@contextmanager
def opened(file: BinaryIO, table: Table) -> Iterator[zipfile.ZipFile]:
    """A workbook's parts, once they are known to stay within bounds; whatever fails meanwhile is told as a damaged file."""
    try:
        with _Parts(file, table) as archive:
            yield archive
    except Problem:
        raise
    except Exception as wrong:  # a damaged workbook makes the libraries fail in every way there is
        wanted = f"an XLSX workbook that can be read; this one is damaged ({type(wrong).__name__})"
        raise table.refuse(0, "", wanted) from wrong


class _Parts(zipfile.ZipFile):
    """A workbook's parts: each refused, whatever its name, where more would be read of it than any workbook needs.

    What a part says of its size is held against the bounds when it is opened, and no more than that is ever read of it.
    """

    def __init__(self, file: BinaryIO, table: Table) -> None:
        super().__init__(file)
        self._table, self._frame = table, 0
        names = self.namelist()
        if len(names) > _MOST_PARTS or len(set(names)) < len(names):
            raise table.refuse(0, "", "a plain workbook; this file has too many parts, or one part twice")

    def open(self, name: Any, *how: Any, **named: Any) -> Any:
        """Open a part that stays within bounds."""
        part = name if isinstance(name, zipfile.ZipInfo) else self.getinfo(name)
        is_large = part.filename.startswith("xl/worksheets/") or part.filename.endswith("sharedStrings.xml")
        if not is_large:
            self._frame += part.file_size
        most = min(_LARGEST_SHEET if is_large else _LARGEST_PART, max(1 << 20, part.compress_size * _LARGEST_RATIO))
        if part.file_size > most or self._frame > _LARGEST_FRAME:
            wanted = f"a workbook that stays within bounds when it is unpacked; {part.filename[:100]!r} would not"
            raise self._table.refuse(0, "", wanted)
        return super().open(name, *how, **named)


def _no_declarations(text: bytes, table: Table) -> None:
    """Refuse XML that declares entities, as a workbook never does, or that could hide them in another encoding."""
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text or b"\x00" in text[:4] or text[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise table.refuse(0, "", "a workbook whose XML declares nothing of its own")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a workbook: its name, whether it shows, and which part of the file holds it."""

    name: str
    is_visible: bool
    part: str


def sheets(file: BinaryIO, table: Table) -> list[Sheet]:
    """The sheets of a workbook, in its order."""
    with opened(file, table) as archive:
        return sheets_in(file, archive, table)


def sheets_in(file: BinaryIO, archive: zipfile.ZipFile, table: Table) -> list[Sheet]:
    """The sheets of a workbook that is open."""
    return _frame(file, archive, table)[2]


def _lines(file: BinaryIO, archive: zipfile.ZipFile, table: Table) -> Generator[Line]:
    book, package, all_sheets = _frame(file, archive, table)
    sheet = chosen(all_sheets, table)
    strings = package.find(SHARED_STRINGS)
    with _Strings() as shared:
        if strings is not None:
            for element in _elements(archive, strings.PartName.lstrip("/"), _STRING, table):
                shared.append(_joined(element))
        yield from _rows(archive, sheet.part, _Cells(book, shared, reads_stored=table.marks_faults), table)


def chosen(all_sheets: list[Sheet], table: Table) -> Sheet:
    """The sheet that a table reads: the one it names, or the first that shows."""
    for sheet in all_sheets:
        if sheet.name == table.sheet or (not table.sheet and sheet.is_visible):
            return sheet
    raise table.refuse(
        0, "", f"a workbook with the sheet {table.sheet!r}" if table.sheet else "a workbook with a sheet of rows"
    )


def _frame(file: BinaryIO, archive: zipfile.ZipFile, table: Table) -> tuple[Any, Manifest, list[Sheet]]:
    """Open the workbook's frame: its styles, its parts and its sheets."""
    for name in archive.namelist():
        folder = name.rpartition("/")[0]
        if folder in ("", "xl", "xl/_rels") and not name.endswith("sharedStrings.xml"):
            _no_declarations(archive.read(name), table)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and properties that do not matter here
        reader = ExcelReader(file, read_only=True, keep_links=False)
        reader.archive.close()
        reader.archive = archive  # which reads no part beyond bounds
        reader.read_manifest()
        kinds = {part.ContentType for part in (*reader.package.Override, *reader.package.Default)}
        if kinds & {XLSM, XLTM}:
            raise table.refuse(0, "", "a workbook without macros, saved as .xlsx")
        if XLSX not in kinds:
            raise table.refuse(0, "", "a CSV or XLSX file; save other spreadsheets as .xlsx")
        reader.read_workbook()
        apply_stylesheet(reader.archive, reader.wb)
        all_sheets = [
            Sheet(sheet.name, sheet.state == "visible", relation.target)
            for sheet, relation in reader.parser.find_sheets()
            if relation.Type.endswith("/worksheet")
        ]
    return reader.wb, reader.package, all_sheets


def _elements(archive: zipfile.ZipFile, name: str, wanted: str, table: Table) -> Iterator[Element]:
    """The elements of one kind as they are finished; whatever else there is goes as soon as it is read."""
    parser: XMLPullParser[Any] = XMLPullParser(("start", "end"))
    enclosing: list[Element] = []
    inside, since, before = 0, 0, b""
    with archive.open(name) as part:
        while chunk := part.read(_CHUNK):
            _no_declarations(before + chunk, table)
            before = chunk[-16:]
            since += len(chunk)
            if since > _LONGEST_CELL:
                raise table.refuse(0, "", "cells of ordinary length; one of this workbook is far too long")
            parser.feed(chunk)
            for event, element in cast("Iterator[tuple[str, Element]]", parser.read_events()):
                if event == "start":
                    enclosing.append(element)
                    inside += element.tag == wanted
                    continue
                enclosing.pop()
                if element.tag == wanted:
                    inside -= 1
                    yield element
                elif element.tag == _CELL and len(enclosing[-1]) <= _WIDEST_ROW:
                    since = 0
                if not inside and enclosing:
                    since = 0
                    enclosing[-1].remove(element)
    parser.close()


def _rows(archive: zipfile.ZipFile, sheet: str, cells: "_Cells", table: Table) -> Generator[Line]:
    number = 0
    for row in _elements(archive, sheet, _ROW, table):
        number = int(row.get("r") or number + 1)
        texts: dict[int, str] = {}
        place = -1
        for cell in row.iterfind(_CELL):
            address = cell.get("r")
            place = coordinate_to_tuple(address)[1] - 1 if address else place + 1
            try:
                text = cells.text(cell)
            except _Unwanted as unwanted:
                table.fault(number, place, unwanted.wanted)
                text = unwanted.mark if table.marks_faults else ""
            if text:
                texts[place] = text
        width = max(texts, default=-1) + 1
        if width > 2 * MOST_COLUMNS:
            raise table.refuse(number, "", f"at most {MOST_COLUMNS} columns")
        yield number, [texts.get(place, "") for place in range(width)]


class _Unwanted(Exception):
    """A cell that holds something other than what can be taken; `mark` is what is shown of it where that is no fault."""

    def __init__(self, wanted: str, mark: str) -> None:
        super().__init__(wanted)
        self.wanted, self.mark = wanted, mark


class _Cells:
    """Turns cells into text, by the workbook's styles and shared texts; a formula only as the value stored with it, if at all."""

    def __init__(self, book: Any, shared: "_Strings", *, reads_stored: bool) -> None:
        self._book = book
        self._shared = shared
        self._reads_stored = reads_stored
        self._padded: dict[int, int] = {}

    def text(self, cell: Element) -> str:
        """A cell's text; raises _Unwanted."""
        if cell.find(_FORMULA) is not None and not (self._reads_stored and cell.findtext(_VALUE)):
            raise _Unwanted("a value, not a formula", blanks.NO_STORED_VALUE)
        kind = cell.get("t", "n")
        if kind == "inlineStr":
            inline = cell.find(_INLINE)
            return "" if inline is None else _joined(inline)
        value = cell.findtext(_VALUE)
        if not value:
            return ""
        match kind:
            case "s":
                return self._shared[int(value)]
            case "str":
                return value
            case "b":
                return "yes" if value == "1" else "no"
            case "d":
                return _day(dt.datetime.fromisoformat(value))
            case "n":
                return self._number(value, int(cell.get("s", 0)))
            case _:
                raise _Unwanted(f"a value, not the error {value[:20]}", value[:20])

    def _number(self, value: str, style: int) -> str:
        number = float(value)
        if not math.isfinite(number):
            raise _Unwanted("a number", value)
        if style in self._book._date_formats:
            try:
                return _day(from_excel(number, self._book.epoch))
            except (OverflowError, ValueError) as wrong:
                raise _Unwanted("a day", value) from wrong
        if abs(number) >= _EXACT_BELOW:
            wanted = "a text cell: of so long a number a spreadsheet keeps fifteen digits only"
            raise _Unwanted(wanted, blanks.DIGITS_LOST)
        if number.is_integer():
            return str(int(number)).zfill(self._digits(style))
        return format(Decimal(f"{number:.15g}"), "f")

    def _digits(self, style: int) -> int:
        """How many digits a style pads a number to, as a postal code's does."""
        if style not in self._padded:
            number = self._book._cell_styles[style].numFmtId
            own = self._book._number_formats
            shape = BUILTIN_FORMATS.get(number, "") if number < BUILTIN_FORMATS_MAX_SIZE else own[number - 164]
            self._padded[style] = len(shape) if _ZEROS.fullmatch(shape) else 0
        return self._padded[style]


def _joined(text: Element) -> str:
    """Join the runs of a text; how it sounds, which stands beside them in some languages, is left out."""
    runs = [text, *text.iterfind(_RUN)]
    return "".join(part.text or "" for run in runs for part in run.iterfind(_TEXT))


def _day(moment: object) -> str:
    if isinstance(moment, dt.datetime) and moment.time() == dt.time():
        return moment.date().isoformat()
    raise _Unwanted("a day without a time of day", str(moment))


class _Strings:
    """The texts that cells share: in a file, since a fleet has as many as it has serials; the latest asked for at hand."""

    AT_HAND = 4_096

    def __enter__(self) -> "_Strings":
        self._file = tempfile.TemporaryFile()
        self._ends = array("Q", [0])
        self._at_hand: dict[int, str] = {}
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def append(self, text: str) -> None:
        """Keep one more text."""
        kept = text.encode("utf-8", "surrogatepass")
        self._file.write(kept)
        self._ends.append(self._ends[-1] + len(kept))

    def __getitem__(self, number: int) -> str:
        if number < 0:
            raise IndexError(number)
        found = self._at_hand.get(number)
        if found is None:
            start, end = self._ends[number], self._ends[number + 1]
            self._file.seek(start)
            found = self._file.read(end - start).decode("utf-8", "surrogatepass")
            if len(self._at_hand) >= self.AT_HAND:
                self._at_hand.clear()
            self._at_hand[number] = found
        return found
