"""A reading that nobody can mean is refused in words, also where it is too long to be cut to three places."""

from decimal import Decimal

import pytest

from fleet.claims.actions import failure_rows
from fleet.sheets.columns import ParseError


@pytest.mark.parametrize("told", [{}, {"reading": "nonesuch"}])
@pytest.mark.parametrize("cell", ["1e30", "-1e30", "1E+400", "1e-400", "NaN", "9" * 5_000, "1.2345", ""])
def test_no_such_number(told, cell):
    with pytest.raises(ParseError, match="a number with at most three places"):
        failure_rows.reading_columns(told)["value"].plain(cell)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("75.5", "75.5"), ("75,5", "75.5"), ("0,125", "0.125"), ("-4,5", "-4.5"), ("−4.5", "-4.5"), (",5", "0.5"),
        ("1,234", "1234"), ("12,345", "12345"), ("1,234.5", "1234.5"), ("1,234,567", "1234567"), ("1,23", "1.23"),
    ],
)  # fmt: skip
def test_a_comma_is_a_point_unless_it_sets_off_thousands(cell, value):
    column = failure_rows.reading_columns({})["value"]
    assert column.value(column.plain(cell)) == Decimal(value)


@pytest.mark.parametrize("cell", ["1,2,3", "1.234,5", "1,234,5", "--4", "4-"])
def test_a_number_of_two_points_is_none(cell):
    with pytest.raises(ParseError, match="a number with at most three places"):
        failure_rows.reading_columns({})["value"].plain(cell)


@pytest.mark.parametrize(("cell", "ounces"), [("12,5", "12.50"), ("12.5", "12.50"), ("1,234", "1234.00")])
def test_a_weight_takes_a_comma_as_well(cell, ounces):
    assert failure_rows.ENTRY["ounces"].plain(cell) == ounces
