"""The demo company's files: their days are written relative to the day of loading, so that it is alive whenever that is."""

import csv
import datetime as dt
import io
import re
from pathlib import Path
from typing import NamedTuple

from fleet.rules.dates import add_months


class Login(NamedTuple):
    """Somebody of the demo company, who has the role that the username says."""

    username: str
    first_name: str
    last_name: str
    password: str


# Everybody may know these: they stand in a company that does not exist.
LOGINS = (
    Login("office", "Wren", "Halloran", "front-desk-tidewrack"),
    Login("technician", "Jules", "Ouellet", "ladder-and-tub"),
    Login("owner", "Marit", "Aasen", "sunday-evening-ledger"),
)

# A company and a town that do not exist.
COMPANY = {
    "name": "Quill Harbor Heating & Cooling",
    "address": "18 Ropewalk Lane\nQuill Harbor, ME 04791",
    "phone": "207-555-0190",
    "license_number": "QH-2214",
}

_RELATIVE = re.compile(r"today(?:-(\d{1,3})y)?([+-]\d{1,5})?")


def resolve(cell: str, today: dt.date) -> str:
    """Turn a relative day into an ISO day; anything else stays as it is.

    >>> resolve("today-10y+20", dt.date(2026, 11, 25)), resolve("today-17", dt.date(2026, 11, 25))
    ('2016-12-15', '2026-11-08')
    """
    found = _RELATIVE.fullmatch(cell)
    if found is None:
        return cell
    # Years first, then days: February 29 less a year is February 28, and the days count from there.
    return (add_months(today, -12 * int(found[1] or 0)) + dt.timedelta(days=int(found[2] or 0))).isoformat()


def resolved(path: Path, today: dt.date) -> str:
    """A demo CSV with every day a fixed one."""
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        columns = list(reader.fieldnames or ())
        out = io.StringIO()
        writer = csv.DictWriter(out, columns, lineterminator="\n")
        writer.writeheader()
        for row in reader:
            writer.writerow(
                {column: resolve(cell, today) if _holds_days(column) else cell for column, cell in row.items()}
            )
    return out.getvalue()


def _holds_days(column: str) -> bool:
    return column.endswith("_on") or column in ("day", "not_before")
