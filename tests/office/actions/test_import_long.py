"""A long sheet through every step: read in the background with progress, asked about once, taken whole, and undone."""

import csv
import io

import pytest

from fleet import models, tasks
from fleet.derived import recheck
from fleet.office.actions import (
    import_answers,
    import_course,
    import_files,
    import_undo,
    import_values,
    imports,
    jobs,
)
from fleet.rules.spreadsheets.cells import AS_ABOVE, BLANK
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from tests import company

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
TODAY = company.TODAY
ROWS = 1_200
COLUMNS = {
    "Cust. Name": "customer", "Ph.": "phone", "Address": "address", "Type": "role", "Room": "room", "Mfr": "maker", "Model": "model",
    "Ser #": "serial", "Installed": "installed_on",
}  # fmt: skip


@pytest.fixture(autouse=True)
def smaller_lots(media, monkeypatch) -> None:
    """As much smaller lots as the sheet is smaller than a real one."""
    monkeypatch.setattr(import_course, "READ_AT_ONCE", 1_000)
    monkeypatch.setattr(import_values, "LOT", 100)


def long_sheet() -> io.BytesIO:
    """Houses of four units: the first row has the customer, the others leave it blank."""
    text = io.StringIO()
    lines = csv.writer(text)
    lines.writerow(COLUMNS)
    for number in range(ROWS):
        house, place = divmod(number, 4)
        day = "n/a" if number % 100 == 7 else f"{1 + house % 9}/{1 + house % 9}/{10 + house % 14}"
        whose = (
            [f"Ann {house} Ibarra", "(207) 555-0134", f"{house} Elm St, Salt Neck, ME 4792"]
            if place == 0
            else ["", "", ""]
        )
        lines.writerow(
            [*whose, "ODU" if place == 0 else "Wall head", f"Room {place}", "Northrill", "NH-9", f"T{number:06}K", day]
        )
    return io.BytesIO(text.getvalue().encode())


def settled(found: models.Import, state: str, step: str) -> models.Import:
    tasks.drain()
    found.refresh_from_db()
    assert (found.state, found.step) == (state, step), found.report
    return found


def test_a_long_sheet_is_read_and_taken_in_the_background_with_progress_and_undone(monkeypatch):
    office = company.person("office")
    told: dict[str, list[int]] = {}
    progress = jobs.progress

    def telling(claimed, *, done, parts, at):
        told.setdefault(claimed.name, []).append(done)
        progress(claimed, done=done, parts=parts, at=at)

    monkeypatch.setattr(jobs, "progress", telling)
    found = imports.bring(file=long_sheet(), name="long.csv", kind="installs", by=office, on=TODAY)
    assert (found.state, found.job.name) == ("reading", "read_import")
    settled(found, "asking", "columns")
    ways = {"site": Way.SITE_HOME, "system": Way.SYSTEM_DAY}
    import_answers.match(imported=found, columns=COLUMNS, ways=ways, by=office, on=TODAY)
    settled(found, "asking", "values")
    asked = found.findings["values"]
    assert [(one["column"], one["count"]) for one in asked["unread"] if one["text"] == "n/a"] == [("installed_on", 12)]
    assert len(asked["unread"]) == 2  # that, and the blank customers below the first of a house
    meanings = {"installed_on": {"n/a": BLANK}, "customer": {"": AS_ABOVE}}
    values = import_answers.Values(meanings, orders={"installed_on": Order.MONTH_FIRST})
    import_answers.say_values(imported=found, values=values, by=office, on=TODAY)
    settled(found, "asking", "confirm")
    addresses = frozenset([found.findings["confirm"]["addresses"]["key"]])
    import_answers.confirm(imported=found, said=import_answers.Confirmed(keys=addresses), by=office, on=TODAY)
    settled(found, "checked", "ready")
    assert max(told["read_import"]) == ROWS
    imports.ask(imported=found, correcting=False, checking=False, by=office)
    settled(found, "taken", "ready")
    assert found.report["made"] == {"customer": ROWS // 4, "site": ROWS // 4, "system": ROWS // 4}
    assert max(told["take_import"]) == ROWS
    assert (models.Unit.objects.count(), models.Unit.objects.filter(installed_on=None).count()) == (ROWS, 12)
    assert not list(recheck.differences(on=TODAY))
    assert not list(import_files.all_stored())
    import_undo.ask(imported=found, why="wrong file", by=office)
    settled(found, "undone", "ready")
    assert not models.Unit.objects.exists()
    assert not models.Customer.objects.exists()
