"""A list as a file: CSV and XLSX, streamed, and safe to open in a spreadsheet."""

import csv
import datetime as dt
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import BinaryIO, cast

from django.http import FileResponse, HttpRequest, StreamingHttpResponse
from django.http.response import HttpResponseBase
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import Cell as SheetCell
from openpyxl.utils import get_column_letter

from fleet.elements.cells import Cell, Column
from fleet.elements.formats import Value
from fleet.sheets import safe

KINDS = ("csv", "xlsx")
_NARROW = ("day", "number", "money")
_FORMATS = {
    "day": "mmm d, yyyy",
    "month": "mmmm yyyy",
    "moment": "mmm d, yyyy h:mm AM/PM",
    "money": '"$"#,##0.00;-"$"#,##0.00',
}
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def wanted(request: HttpRequest) -> str:
    """The kind of file that the address asks for (`as=csv`); blank for a page."""
    kind = request.GET.get("as", "")
    return kind if kind in KINDS else ""


def respond(
    kind: str, *, name: str, on: dt.date, columns: Sequence[Column], rows: Iterable[Sequence[Cell]]
) -> HttpResponseBase:
    """Answer with the file; `rows` is read once, a bit at a time."""
    filename = f"{name}-{on.isoformat()}.{kind}"
    if kind == "csv":
        response: HttpResponseBase = StreamingHttpResponse(_csv(columns, rows), content_type="text/csv; charset=utf-8")
    else:
        response = FileResponse(_xlsx(name, columns, rows), content_type=XLSX)
    response["Content-Disposition"] = f'attachment; filename="{filename}"'
    return response


class _Echo:
    """A file that hands back what is written to it."""

    def write(self, text: str) -> str:
        return text


def _csv(columns: Sequence[Column], rows: Iterable[Sequence[Cell]]) -> Iterator[str]:
    """Write the header and each row; the mark at the front tells a spreadsheet that this is UTF-8."""
    writer = csv.writer(_Echo())
    yield "\ufeff"
    yield cast(str, writer.writerow([column.name for column in columns]))
    for row in rows:
        yield cast(
            str, writer.writerow([_as_text(cell.value, column) for cell, column in zip(row, columns, strict=True)])
        )


def _as_text(value: Value, column: Column) -> str:
    """Write a value as ISO 8601 and plain figures have it."""
    match value:
        case None:
            return ""
        case dt.datetime():
            return value.replace(tzinfo=None).isoformat(" ", "minutes")
        case dt.date():
            return f"{value:%Y-%m}" if column.shape == "month" else value.isoformat()
        case int() | Decimal():
            return str(value)
        case _:
            return safe.guarded(value)


def _xlsx(name: str, columns: Sequence[Column], rows: Iterable[Sequence[Cell]]) -> BinaryIO:
    """Write the workbook to a file that is gone once it is sent; rows never stand in memory together."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(name[:31])
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns, 1):
        sheet.column_dimensions[get_column_letter(place)].width = 14 if column.shape in _NARROW else 24
    sheet.append([safe.cell(sheet, column.name) for column in columns])
    for row in rows:
        sheet.append([_cell(sheet, cell.value, column) for cell, column in zip(row, columns, strict=True)])
    file = cast(BinaryIO, tempfile.TemporaryFile())  # noqa: SIM115 - the response closes it
    book.save(file)
    file.seek(0)
    return file


def _cell(sheet: object, value: Value, column: Column) -> SheetCell:
    """Make a cell that a spreadsheet reckons with: days, months and amounts are what they are, and look like it."""
    if isinstance(value, str):
        return safe.cell(sheet, value)
    if isinstance(value, dt.datetime):
        value = value.replace(tzinfo=None)
    made = WriteOnlyCell(sheet, value=value)  # type: ignore[arg-type]
    if value is not None and column.shape in _FORMATS:
        made.number_format = _FORMATS[column.shape]
    return made
