"""Reading CSV and XLSX files to rows of text, row by row and in bounded memory; what is no such file is refused with a reason."""

from collections.abc import Collection, Generator, Iterator, Mapping, Sequence
from contextlib import closing
from itertools import chain
from pathlib import Path

from fleet.sheets import text, workbook
from fleet.sheets.problems import BadFile, Problem, Problems
from fleet.sheets.table import Line, Table

__all__ = ["BadFile", "Problem", "Problems", "given", "lines", "rows"]


def rows(
    path: Path | str,
    *,
    columns: Collection[str] | None = None,
    name: str | None = None,
    problems: Problems | None = None,
) -> Iterator[tuple[int, dict[str, str]]]:
    """The rows of a CSV or XLSX file that are not blank: their number in the file (the header is row 1) and their cells.

    With `columns`, any other column is refused and a missing one is blank. A fault in a cell is noted in `problems` where
    that is given, so that all can be told at once, and the cell left blank; else, like every other fault, it is raised.
    """
    table = Table(name or Path(path).name, columns, problems)
    with closing(lines(path, table)) as parsed:
        yield from table.rows(parsed)


def lines(path: Path | str, table: Table) -> Generator[Line]:
    """The lines of a CSV or XLSX file as they stand in it, for a table to read."""
    try:
        with Path(path).open("rb") as file:
            start = file.read(8)
            parsed = workbook.lines(file, table) if start.startswith(b"PK") else text.lines(file, start, table)
            with closing(parsed):
                yield from parsed
    except OSError as wrong:
        raise Problem(table.file, 0, "", f"a file that can be read ({wrong.strerror or wrong})") from wrong


def given(
    rows: Sequence[Mapping[str, str]],
    *,
    columns: Collection[str] | None = None,
    name: str = "the rows",
    problems: Problems | None = None,
) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows that stand in no file, as `rows` reads those of one."""
    header = list(dict.fromkeys(column for row in rows for column in row))
    if rows:
        lines = ((number, [row.get(column) or "" for column in header]) for number, row in enumerate(rows, 2))
        yield from Table(name, columns, problems).rows(chain([(1, header)], lines))
