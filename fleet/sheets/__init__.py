"""Reading CSV and XLSX files to rows of text, row by row and in bounded memory; what is no such file is refused with a reason."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import closing
from itertools import chain
from pathlib import Path

from fleet.sheets import text, workbook
from fleet.sheets.problems import Problem, Problems, Refused
from fleet.sheets.table import Table

__all__ = ["Problem", "Problems", "Refused", "given", "rows"]


def rows(
    path: Path | str,
    *,
    columns: Collection[str] | None = None,
    name: str | None = None,
    problems: Problems | None = None,
) -> Iterator[tuple[int, dict[str, str]]]:
    """Give the rows of a CSV or XLSX file that are not blank: their number in the file (the header is row 1) and their cells.

    With `columns`, any other column is refused and a missing one is blank. A fault in a cell is noted in `problems` where
    that is given, so that all can be told at once, and the cell left blank; else, like every other fault, it is raised.
    """
    path = Path(path)
    table = Table(name or path.name, columns, problems)
    try:
        with path.open("rb") as file:
            start = file.read(8)
            lines = workbook.lines(file, table) if start.startswith(b"PK") else text.lines(file, start, table)
            with closing(lines):
                yield from table.rows(lines)
    except OSError as wrong:
        raise Problem(table.file, 0, "", f"a file that can be read ({wrong.strerror or wrong})") from wrong


def given(
    told: Sequence[Mapping[str, str]],
    *,
    columns: Collection[str] | None = None,
    name: str = "the rows",
    problems: Problems | None = None,
) -> Iterator[tuple[int, dict[str, str]]]:
    """Give rows that stand in no file as `rows` would if they did."""
    header = list(dict.fromkeys(column for row in told for column in row))
    if told:
        lines = ((number, [row.get(column) or "" for column in header]) for number, row in enumerate(told, 2))
        yield from Table(name, columns, problems).rows(chain([(1, header)], lines))
