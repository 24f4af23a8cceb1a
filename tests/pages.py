"""What a page says, for the tests of screens."""

import re

from django.http import HttpResponse

from fleet.elements.cells import Table
from fleet.elements.formats import Value


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
