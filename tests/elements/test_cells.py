"""Cells as values: what a column takes from a row, and which of them the screen shows."""

import datetime as dt
from types import SimpleNamespace

import pytest

from fleet.elements.cells import Cell, Column, Link, Row, Table

DAY = dt.date(2024, 3, 8)
OF = SimpleNamespace(name="SB-1", site=SimpleNamespace(name="Home", customer=None))


@pytest.mark.parametrize(
    ("column", "row", "cell"),
    [
        pytest.param(Column("name", "Name"), OF, Cell("SB-1"), id="what is called so"),
        pytest.param(Column("site", "Site", value="site.name"), OF, Cell("Home"), id="along a path"),
        pytest.param(Column("c", "C", value="site.customer.name"), OF, Cell(None), id="where the path ends"),
        pytest.param(Column("day", "Day", "day"), {"day": DAY}, Cell(DAY), id="of a sum's row"),
        pytest.param(Column("n", "N", value=lambda row: len(row.name)), OF, Cell(4), id="a value worked out"),
        pytest.param(Column("u", "U", value=lambda row: Cell(row.name, Link("unit", 7))), OF,
                     Cell("SB-1", Link("unit", 7)), id="a link"),
    ],
)  # fmt: skip
def test_a_column_has_a_cell_for_each_row(column, row, cell):
    assert column.cell(row) == cell


COLUMNS = (Column("unit", "Unit", "serial"), Column("phone", "Phone", shown=False), Column("day", "Day", "day"))
TABLE = Table(COLUMNS, (Row((Cell("Den", shape="text"), Cell("555"), Cell(DAY)), OF),), 12)


def test_a_screen_shows_fewer_columns_than_a_file_has():
    assert [column.name for column in TABLE.shown] == ["unit", "day"]
    (line,) = TABLE.lines
    assert [(cell.title, cell.words, cell.shape) for cell in line.cells] == [
        ("Unit", "Den", "text"),
        ("Day", "Mar 8, 2024", "day"),
    ]
    assert line.of is OF


def test_a_table_without_some_columns_has_the_others_and_counts_as_many_rows():
    short = TABLE.without("phone", "day")
    assert [column.name for column in short.columns] == ["unit"]
    assert (short.rows, short.count) == ((Row((Cell("Den", shape="text"),), OF),), 12)
