"""A list as a file: every row, in the order shown, and nothing in it that a spreadsheet would run."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.http import FileResponse, StreamingHttpResponse
from openpyxl import load_workbook

from fleet.elements.cells import Cell, Column
from fleet.web import export

COLUMNS = (Column("customer", "Customer"), Column("day", "Day", "day"), Column("left", "Days left", "number"))
ON = dt.date(2026, 3, 2)


def csv_rows(*values, columns=COLUMNS):
    response = export.respond(
        "csv", name="list", on=ON, columns=columns, rows=[tuple(map(Cell, row)) for row in values]
    )
    assert isinstance(response, StreamingHttpResponse)
    body = b"".join(response).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(body, newline="")))


def sheet(*values, columns=COLUMNS):
    response = export.respond(
        "xlsx", name="list", on=ON, columns=columns, rows=[tuple(map(Cell, row)) for row in values]
    )
    assert isinstance(response, FileResponse)
    body = b"".join(response)
    response.file_to_stream.close()
    return load_workbook(io.BytesIO(body)).active


def xlsx_rows(*values, columns=COLUMNS):
    return [[(cell.value, cell.data_type) for cell in row] for row in sheet(*values, columns=columns).iter_rows()]


def test_a_csv_has_the_names_of_the_columns_and_plain_days():
    assert csv_rows(("Renée Sørby", dt.date(2026, 3, 8), 6), ("", None, -2)) == [
        ["customer", "day", "left"],
        ["Renée Sørby", "2026-03-08", "6"],
        ["", "", "-2"],
    ]


def test_a_csv_tells_a_spreadsheet_that_it_is_utf_8():
    response = export.respond("csv", name="list", on=ON, columns=COLUMNS, rows=[])
    assert b"".join(response).startswith(b"\xef\xbb\xbf")
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert response["Content-Disposition"] == 'attachment; filename="list-2026-03-02.csv"'


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1-207-555-0100", "-5", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1+1", '=HYPERLINK("http://x","y")'],
)
def test_a_text_is_never_taken_for_a_formula(text):
    assert csv_rows((text, None, None))[1][0] == f"'{text}"
    ((value, kind), *_) = xlsx_rows((text, None, None))[1]
    assert kind == "s"
    assert value.replace("\r", "").replace("\n", "").strip() == text.replace("\r", "").replace("\n", "").strip()


def test_a_text_with_commas_quotes_and_lines_stays_one_cell():
    assert csv_rows(('Home, "the old one"\nrear', None, None))[1][0] == 'Home, "the old one"\nrear'


def test_numbers_below_nothing_stay_numbers():
    columns = (*COLUMNS, Column("cost", "Cost", "money"))
    assert csv_rows(("a", None, -3, Decimal("-2.50")), columns=columns)[1] == ["a", "", "-3", "-2.50"]
    assert xlsx_rows(("a", None, -3, Decimal("-2.50")), columns=columns)[1][2:] == [(-3, "n"), (-2.5, "n")]


def test_a_workbook_has_the_names_of_the_columns_days_and_numbers():
    names, first = xlsx_rows(("Renée Sørby", dt.date(2026, 3, 8), 6))
    assert [value for value, _ in names] == ["customer", "day", "left"]
    assert [kind for _, kind in first] == ["s", "d", "n"]
    assert (first[0][0], first[1][0].date(), first[2][0]) == ("Renée Sørby", dt.date(2026, 3, 8), 6)


SHAPES = (
    Column("day", "Day", "day"),
    Column("month", "Month", "month"),
    Column("at", "At", "moment"),
    Column("cost", "Cost", "money"),
)
OF_EACH = (dt.date(2026, 3, 8), dt.date(2026, 12, 1), dt.datetime(2026, 3, 2, 17, 5, tzinfo=dt.UTC), Decimal("1234.50"))


def test_days_months_moments_and_money_of_a_workbook_are_no_texts_and_look_like_what_they_are():
    cells = next(sheet(OF_EACH, columns=SHAPES).iter_rows(min_row=2))
    assert [cell.data_type for cell in cells] == ["d", "d", "d", "n"]
    assert [str(cell.value) for cell in cells] == [
        "2026-03-08 00:00:00",
        "2026-12-01 00:00:00",
        "2026-03-02 17:05:00",
        "1234.5",
    ]
    assert [cell.number_format for cell in cells] == [
        "mmm d, yyyy",
        "mmmm yyyy",
        "mmm d, yyyy h:mm AM/PM",
        '"$"#,##0.00;-"$"#,##0.00',
    ]


def test_a_csv_writes_them_as_iso_8601_and_plain_figures():
    assert csv_rows(OF_EACH, columns=SHAPES)[1] == ["2026-03-08", "2026-12", "2026-03-02 17:05", "1234.50"]


def test_a_workbook_may_have_more_columns_than_the_alphabet_has_letters():
    columns = tuple(Column(f"c{number}", f"C {number}", "day" if number == 27 else "text") for number in range(30))
    found = sheet(tuple(str(number) for number in range(30)), columns=columns)
    assert [found.cell(2, place).value for place in (1, 26, 27, 30)] == ["0", "25", "26", "29"]
    assert [found.column_dimensions[name].width for name in ("Z", "AA", "AB", "AC")] == [24, 24, 14, 24]


def test_what_a_workbook_cannot_hold_does_not_break_it():
    ((bell, _), *_), ((long, _), *_) = xlsx_rows(("a\x07b\x00c", None, None), ("x" * 40_000, None, None))[1:]
    assert bell == "abc"
    assert len(long) == 32_767


def test_rows_are_read_as_they_are_sent():
    read = []

    def rows():
        for number in range(1000):
            read.append(number)
            yield (Cell(f"customer {number}"), Cell(None), Cell(number))

    response = export.respond("csv", name="list", on=ON, columns=COLUMNS, rows=rows())
    parts = iter(response)
    for _ in range(4):
        next(parts)
    assert len(read) < 10
