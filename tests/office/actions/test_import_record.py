"""Where our record of maintenance begins, proposed with the first import: old customers are not overdue since they were put in."""

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from fleet import models, tasks
from fleet.care.actions import care_sheets
from fleet.derived import recheck
from fleet.loading import history, installs
from tests import company, sheets, stops
from tests.pages import read_out

pytestmark = pytest.mark.django_db(transaction=True)
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def sheet(media) -> None:
    care_sheets.load_table(stops.SHEET, on=TODAY)


@pytest.fixture
def office() -> Client:
    return company.as_role("office")


def checked(office, *days: str, first: int = 1) -> models.Import:
    """A sheet of heads put in on these days, asked about until nothing is left but to import it."""
    rows = [sheets.row(number, day) for number, day in enumerate(days, first)]
    office.post("/import", {"kind": "installs", "file": SimpleUploadedFile("units.csv", sheets.as_csv(*rows).read())})
    found = models.Import.objects.latest("pk")
    told = {f"column_{number}": sheets.MATCHING.get(heading, "-") for number, heading in enumerate(sheets.HEADINGS)}
    office.post(f"/import/{found.pk}/columns", told)
    tasks.drain()
    found.refresh_from_db()
    assert found.state == "checked", (found.step, found.report)
    return found


def taken(office, found: models.Import, **sent: str) -> models.Import:
    office.post(f"/import/{found.pk}", {"do": "take", **sent})
    tasks.drain()
    found.refresh_from_db()
    assert found.state == "taken"
    return found


def overdue() -> int:
    return models.DueRow.objects.filter(by="technician", late_after__lt=TODAY).count()


def began() -> dt.date | None:
    return models.CareSheet.objects.get(in_force=True).upkeep_on_file_from


OLD = ("3/14/2018", "3/14/2019", "2/14/2026")


def test_it_is_proposed_with_what_it_does_and_how_much_would_be_overdue(office):
    found = checked(office, *OLD)
    page = office.get(f"/import/{found.pk}")
    assert re.search(r'name="begins_record"[^>]* checked', page.content.decode())
    assert "Start our maintenance record on March 2, 2026" in read_out(page)
    said = "Otherwise 4 tasks at 2 sites would be overdue today. Warranty answers do not change"
    assert said in read_out(page)
    assert not models.DueRow.objects.exists()  # a check takes nothing


def test_taken_with_it_nothing_is_overdue_and_it_is_logged(office):
    found = taken(office, checked(office, *OLD), begins_record="on")
    assert (began(), overdue()) == (TODAY, 0)
    assert (
        models.DueRow.objects.filter(by="technician", last_done=None).count()
        == models.DueRow.objects.filter(by="technician").count()
    )
    assert "Our maintenance record starts on March 2, 2026." in read_out(office.get(f"/import/{found.pk}"))
    change = models.Change.objects.get(field="upkeep_on_file_from")
    assert (change.before, change.after, change.load) == ("", "2026-03-02", found.load)
    assert not list(recheck.differences(on=TODAY))


def test_taken_without_it_as_many_are_overdue_as_it_said(office):
    taken(office, checked(office, *OLD))
    assert (began(), overdue()) == (None, 4)


def test_units_that_were_on_file_before_are_worked_out_too(office):
    row = {"customer": "Ada Quill", "site": "Home", "system": "Main", "role": "head", "style": "wall", "room": "Den"}
    installs.load_rows(
        [row | {"maker": "Northrill", "model": "NW-9", "serial": "A-1", "installed_on": "2018-03-14"}], on=TODAY
    )
    assert overdue()
    taken(office, checked(office, *OLD), begins_record="on")
    assert overdue() == 0


def test_undoing_the_import_undoes_it(office):
    found = taken(office, checked(office, *OLD), begins_record="on")
    office.post(f"/import/{found.pk}/undo", {"why": "wrong file"})
    tasks.drain()
    found.refresh_from_db()
    assert (found.state, began()) == ("undone", None)


def test_it_is_not_proposed_again_or_where_maintenance_is_on_file(office):
    taken(office, checked(office, OLD[0]))
    unit = models.Unit.objects.get()
    history.load_rows([{"serial": unit.serial, "day": "2025-03-01", "kind": "maintenance", "task": "coil"}], on=TODAY)
    found = checked(office, OLD[1], first=2)
    assert "Start our maintenance record" not in read_out(office.get(f"/import/{found.pk}"))
    models.MaintenanceRecord.objects.all().delete()
    models.CareSheet.objects.update(upkeep_on_file_from=TODAY)
    found = checked(office, OLD[2], first=3)
    assert "Start our maintenance record" not in read_out(office.get(f"/import/{found.pk}"))


def test_without_a_maintenance_sheet_nothing_is_due_and_nothing_proposed(office):
    models.CareSheet.objects.all().delete()
    found = checked(office, *OLD)
    assert "Start our maintenance record" not in read_out(office.get(f"/import/{found.pk}"))
