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
from openpyxl.cell import Cell, WriteOnlyCell

from fleet.elements.lists import Column, Row, Value
from fleet.sheets import safe

KINDS = ("csv", "xlsx")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def wanted(request: HttpRequest) -> str:
    """Give the kind of file that the address asks for (`as=csv`), or nothing for a page."""
    kind = request.GET.get("as", "")
    return kind if kind in KINDS else ""


def respond(kind: str, *, name: str, on: dt.date, columns: Sequence[Column], rows: Iterable[Row]) -> HttpResponseBase:
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


def _csv(columns: Sequence[Column], rows: Iterable[Row]) -> Iterator[str]:
    """Write the header and each row; the mark at the front tells a spreadsheet that this is UTF-8."""
    writer = csv.writer(_Echo())
    yield "\ufeff"
    yield cast(str, writer.writerow([column.name for column in columns]))
    for row in rows:
        yield cast(str, writer.writerow([_as_text(cell.value) for cell in row]))


def _as_text(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, int | Decimal):
        return str(value)
    return safe.guarded(value)


def _xlsx(name: str, columns: Sequence[Column], rows: Iterable[Row]) -> BinaryIO:
    """Write the workbook to a file that is gone once it is sent; rows never stand in memory together."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(name[:31])
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns):
        sheet.column_dimensions[chr(ord("A") + place)].width = 14 if column.shape in ("day", "number", "money") else 24
    sheet.append([_cell(sheet, column.title) for column in columns])
    for row in rows:
        sheet.append([_cell(sheet, cell.value) for cell in row])
    file = cast(BinaryIO, tempfile.TemporaryFile())  # noqa: SIM115 - the response closes it
    book.save(file)
    file.seek(0)
    return file


def _cell(sheet: object, value: Value) -> Cell:
    if not isinstance(value, str):
        return WriteOnlyCell(sheet, value=value)  # type: ignore[arg-type]
    return safe.cell(sheet, value)
