"""A list as a file: every row, in the order shown, and nothing in it that a spreadsheet would run."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.http import FileResponse, StreamingHttpResponse
from openpyxl import load_workbook

from fleet.elements.lists import Cell, Column
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


def xlsx_rows(*values, columns=COLUMNS):
    response = export.respond(
        "xlsx", name="list", on=ON, columns=columns, rows=[tuple(map(Cell, row)) for row in values]
    )
    assert isinstance(response, FileResponse)
    body = b"".join(response)
    response.file_to_stream.close()
    sheet = load_workbook(io.BytesIO(body)).active
    return [[(cell.value, cell.data_type) for cell in row] for row in sheet.iter_rows()]


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


def test_a_workbook_has_titles_days_and_numbers():
    titles, first = xlsx_rows(("Renée Sørby", dt.date(2026, 3, 8), 6))
    assert [value for value, _ in titles] == ["Customer", "Day", "Days left"]
    assert [kind for _, kind in first] == ["s", "d", "n"]
    assert (first[0][0], first[1][0].date(), first[2][0]) == ("Renée Sørby", dt.date(2026, 3, 8), 6)


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
