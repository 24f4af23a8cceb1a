"""A reading that nobody can mean is refused in words, also where it is too long to be cut to three places."""

import pytest

from fleet.claims.actions import failure_rows
from fleet.sheets.columns import ParseError


@pytest.mark.parametrize("told", [{}, {"reading": "nonesuch"}])
@pytest.mark.parametrize("cell", ["1e30", "-1e30", "1E+400", "1e-400", "NaN", "9" * 5_000, "1.2345", ""])
def test_no_such_number(told, cell):
    with pytest.raises(ParseError, match="a number with at most three places"):
        failure_rows.reading_columns(told)["value"].plain(cell)
