"""A sheet as an office keeps it: its title, its headings, several sheets, merged, hidden and worked-out cells; nothing left out."""

import io
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from openpyxl import Workbook

from fleet.rules.spreadsheets import blanks
from fleet.sheets import Problem, own
from fleet.sheets.own import NO_HEADINGS, OwnSheet
from fleet.sheets.shape import Merged, Shape
from tests.paths import FIXTURES

HEADINGS = ["Name", "Model", "Ser #"]


def saved(tmp_path: Path, book: Workbook, **stored: str) -> Path:
    """A workbook on disk; `stored` are values that a spreadsheet program keeps with the formulas of its first sheet."""
    whole, path = io.BytesIO(), tmp_path / "Units.xlsx"
    book.save(whole)
    with zipfile.ZipFile(whole) as before, zipfile.ZipFile(path, "w") as after:
        for name in before.namelist():
            text = before.read(name)
            if name == "xl/worksheets/sheet1.xml":
                for place, value in stored.items():
                    begin = text.index(f'<c r="{place}"'.encode())
                    end = text.index(b"<v", begin)
                    text = text[:end] + f"<v>{value}</v>".encode() + text[text.index(b"</c>", end) :]
            after.writestr(name, text)
    return path


def csv_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "units.csv"
    path.write_text(text, encoding="utf-8")
    return path


def read(path: Path, **how: object) -> list[tuple[int, dict[str, str]]]:
    sheet = str(how.get("sheet", ""))
    return list(own.own_rows(path, OwnSheet("units", shape=own.shape_of(path, "units", sheet), **how)))


def test_rows_are_read_below_title_rows_by_their_headings(tmp_path):
    path = csv_file(tmp_path, "Our units,,\n,,\nName,Model,Ser #\nAnn,HC36,S1\n,,\nBob,HC36,S2\n")
    assert read(path) == [(4, dict(zip(HEADINGS, ["Ann", "HC36", "S1"], strict=True))),
                          (6, dict(zip(HEADINGS, ["Bob", "HC36", "S2"], strict=True)))]  # fmt: skip


@pytest.mark.parametrize(
    ("row", "first"),
    [(1, {"Our units": "Name", "column 2": "Model", "column 3": "Ser #"}), (2, {"Name": "Ann", "Model": "HC36", "Ser #": "S1"}),
     (NO_HEADINGS, {"column 1": "Our units"})],
)  # fmt: skip
def test_somebody_may_say_which_row_has_the_headings_or_that_none_has(tmp_path, row, first):
    path = csv_file(tmp_path, "Our units,,\nName,Model,Ser #\nAnn,HC36,S1\n")
    assert read(path, heading_row=row)[0][1] == first


def test_a_row_of_headings_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(Problem, match="the headings of the columns"):
        read(csv_file(tmp_path, "Name,Ser #\nAnn,S1\n"), heading_row=9)


def test_a_cell_beyond_the_headings_has_a_column_of_its_own_from_its_row_on(tmp_path):
    path = csv_file(tmp_path, "Name,Ser #\nAnn,S1\nBob,S2,see file\n")
    assert read(path) == [
        (2, {"Name": "Ann", "Ser #": "S1"}),
        (3, {"Name": "Bob", "Ser #": "S2", "column 3": "see file"}),
    ]


def test_blank_and_equal_headings_are_told_apart(tmp_path):
    path = csv_file(tmp_path, "Name,,Ser #,Ser #\nAnn,x,S1,S2\n")
    assert read(path) == [(2, {"Name": "Ann", "column 2": "x", "Ser #": "S1", "Ser # (2)": "S2"})]


@pytest.mark.parametrize(
    ("cell", "text"),
    [('"=""04101"""', "04101"), ("'=1", blanks.NO_STORED_VALUE), ("'+1", "+1"), ("=A2", blanks.NO_STORED_VALUE), ("=", "="), ("a\x07b", "a b"), ('"a\nb"', "a\nb"),
     (f"{'x' * 5001}", blanks.TOO_LONG)],
)  # fmt: skip
def test_a_cell_is_its_text_or_a_mark_and_never_blank_in_silence(tmp_path, cell, text):
    assert read(csv_file(tmp_path, f"Name,Ser #\nAnn,{cell}\n"))[0][1].get("Ser #", "") == text


def test_every_sheet_tells_how_it_begins_and_any_may_be_read(tmp_path):
    book = Workbook()
    book.active.title = "Read me"
    book.active.append(["Kept by Sue"])
    units = book.create_sheet("Units")
    for line in (["Our units"], HEADINGS, ["Ann", "HC36", "S1"]):
        units.append(line)
    book.create_sheet("Lists").sheet_state = "hidden"
    path = saved(tmp_path, book)
    assert [(top.sheet, top.is_visible, top.heading_row, top.is_sure) for top in own.tops(path, "units")] == [
        ("Read me", True, 1, False), ("Units", True, 2, True), ("Lists", False, 0, False),
    ]  # fmt: skip
    assert read(path, sheet="Units") == [(3, dict(zip(HEADINGS, ["Ann", "HC36", "S1"], strict=True)))]
    with pytest.raises(Problem, match="the sheet 'Old'"):
        read(path, sheet="Old")


def test_a_csv_file_is_one_sheet_without_a_name(tmp_path):
    (top,) = own.tops(csv_file(tmp_path, "Units\nName,Ser #\nAnn,S1\n"), "units")
    assert (top.sheet, top.is_visible, top.heading_row, top.is_sure) == ("", True, 2, True)
    assert top.lines[-1] == (3, ["Ann", "S1"])


def test_merged_cells_have_their_text_in_each_of_their_rows(tmp_path):
    book = Workbook()
    for line in (
        ["Our units"],
        HEADINGS,
        ["Ann", "HC36", "S1"],
        ["", "HC36", "S2"],
        ["", "HW9", "S3"],
        ["Bob", "HC36", "S4"],
    ):
        book.active.append(line)
    book.active.merge_cells("A3:A5")
    book.active.merge_cells("A1:C1")
    path = saved(tmp_path, book)
    assert own.shape_of(path, "units", "") == Shape(frozenset(), (Merged(0, 3, 5),))
    assert [row["Name"] for _, row in read(path)] == ["Ann", "Ann", "Ann", "Bob"]


def test_columns_that_do_not_show_are_known_and_read(tmp_path):
    book = Workbook()
    for line in (HEADINGS, ["Ann", "HC36", "S1"]):
        book.active.append(line)
    book.active.column_dimensions["B"].hidden = True
    path = saved(tmp_path, book)
    assert own.shape_of(path, "units", "").hidden == {1}
    assert read(path)[0][1]["Model"] == "HC36"


def test_a_formula_is_the_value_that_was_stored_with_it_and_without_one_a_mark(tmp_path):
    book = Workbook()
    for line in (HEADINGS, ["Ann", "=B3", "S1"], ["Bob", "=B4", "S2"], ["Cy", "#N/A", 1234567890123456]):
        book.active.append(line)
    path = saved(tmp_path, book, B2="36")
    assert [row["Model"] for _, row in read(path)] == ["36", blanks.NO_STORED_VALUE, "#N/A"]
    assert read(path)[2][1]["Ser #"] == blanks.DIGITS_LOST


@pytest.mark.parametrize("cut", [100, 900, 2000])
def test_a_damaged_workbook_is_refused_whatever_is_asked_of_it(tmp_path, cut):
    book = Workbook()
    book.active.append(HEADINGS)
    path = saved(tmp_path, book)
    path.write_bytes(path.read_bytes()[:-cut])
    for asks in (lambda: own.tops(path, "units"), lambda: own.shape_of(path, "units", ""), lambda: read(path)):
        with pytest.raises(Problem, match="damaged"):
            asks()


def test_the_messy_spreadsheets_are_what_their_builder_writes():
    build = FIXTURES / "spreadsheets" / "build.py"
    assert subprocess.run([sys.executable, build, "--check"], check=False).returncode == 0
