"""What a page says, and where it is tried, for the tests of screens."""

import re

import pytest
from django.http import HttpResponse

from fleet.elements.cells import Table
from fleet.elements.formats import Value

# Layout hangs on the size and contrast on the scheme, each by itself: two of the four pairs show both of each. The pages
# that everybody sees are tried in all four (test_frame).
each_screen_and_scheme = pytest.mark.parametrize(("screen", "scheme"), [("desk", "light"), ("phone", "dark")])


def words(response: HttpResponse) -> str:
    """A page's markup with every run of space as one."""
    return " ".join(response.content.decode().split())


def read_out(response: HttpResponse) -> str:
    """What a page says without its markup."""
    return " ".join(re.sub(r"<[^>]*>", " ", response.content.decode()).split())


def shown(table: Table) -> list[list[Value]]:
    """The values of a table's rows, in the columns that its screen shows."""
    return [
        [cell.value for column, cell in zip(table.columns, row.cells, strict=True) if column.shown]
        for row in table.rows
    ]
