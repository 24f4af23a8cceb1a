"""Sheets as people have them, for the tests of importing."""

import csv
import io
from collections.abc import Sequence

from openpyxl import Workbook

from fleet import models
from fleet.office.actions import import_files

HEADINGS = (
    "Client",
    "Job site",
    "System",
    "Kind of unit",
    "Room",
    "Brand",
    "Model #",
    "Serial #",
    "Install date",
    "Crew car",
)
# A fact that is checked only as the file is taken: whether such terms are on file.
WITH_TERMS = "Crew car"
MATCHING = {
    "Client": "customer",
    "Job site": "site",
    "System": "system",
    "Kind of unit": "role",
    "Room": "room",
    "Brand": "maker",
    "Model #": "model",
    "Serial #": "serial",
    "Install date": "installed_on",
}


def row(number: int, installed: str = "3/14/2021", *, car: str = "blue", **changed: str) -> list[str]:
    """One unit's line; what differs is named by our column."""
    line = [f"Odile Marsh {number}", "Home", "1", "head", "Den", "Northrill", "NW-9", f"SB-{number}", installed, car]
    for name, value in changed.items():
        line[list(MATCHING.values()).index(name)] = value
    return line


def as_csv(*rows: Sequence[str], headings: Sequence[str] = HEADINGS) -> io.BytesIO:
    text = io.StringIO()
    csv.writer(text).writerows([headings, *rows])
    return io.BytesIO(text.getvalue().encode())


def as_xlsx(*rows: Sequence[object], headings: Sequence[str] = HEADINGS) -> io.BytesIO:
    book = Workbook()
    for line in (headings, *rows):
        book.active.append(list(line))
    out = io.BytesIO()
    book.save(out)
    out.seek(0)
    return out


def asking() -> models.Import:
    """A file that came and is asked about, looked over last."""
    column = {"heading": "Client", "samples": ["Odile"], "filled": 1, "hidden": False}
    top = {"sheet": "", "is_visible": True, "lines": [[1, ["Client"]]], "heading_row": 1, "is_sure": True}
    values = {"unread": [], "others": [], "days": [], "read_as": [], "empty": {"count": 0, "rows": [], "texts": []}}
    return models.Import.objects.create(
        kind="installs",
        name="units.csv",
        state="asking",
        step="confirm",
        stored=import_files.keep(io.BytesIO(b"Client\nOdile\n")),
        tops=[top],
        sheet=[column],
        findings={"values": values, "confirm": {}},
    )
