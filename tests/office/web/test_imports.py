"""Importing over the web: each step's page, what is refused with everything still there, and who gets the files."""

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from fleet import models, tasks
from fleet.office.actions import import_files, imports
from tests import company, sheets
from tests.pages import read_out

pytestmark = pytest.mark.django_db

THEN = dt.datetime(2026, 3, 3, 12, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def media(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    return settings.MEDIA_ROOT


@pytest.fixture
def office() -> Client:
    return company.as_role("office")


def bring(office, *rows, name: str = "units.csv", **sent: str):
    file = SimpleUploadedFile(name, sheets.as_csv(*rows).read())
    response = office.post("/import", {"kind": "installs", "file": file, **sent})
    tasks.drain()  # a sheet that is known is looked through to its end
    return response


def chosen(**changed: str) -> dict[str, str]:
    told = {f"column_{number}": sheets.MATCHING.get(heading, "-") for number, heading in enumerate(sheets.HEADINGS)}
    return told | changed


def found() -> models.Import:
    return models.Import.objects.latest("pk")


def match(office, **changed: str) -> int:
    """Match the columns; where nothing is to be asked, what would come of it is found out at once."""
    assert office.post(f"/import/{found().pk}/columns", chosen(**changed)).status_code == 302
    tasks.drain()
    return found().pk


def test_a_sheet_goes_from_the_file_to_the_record(office):
    response = bring(office, sheets.row(1), sheets.row(2))
    pk = found().pk
    assert response["Location"] == f"/import/{pk}"
    assert office.get(f"/import/{pk}")["Location"] == f"/import/{pk}/columns"
    page = office.get(f"/import/{pk}/columns").content.decode()
    assert "SB-1" in page
    assert re.search(r'<option value="customer" selected>Customer \(needed\)', page)
    assert office.post(f"/import/{pk}/columns", chosen())["Location"] == f"/import/{pk}"
    assert "Waiting its turn." in read_out(office.get(f"/import/{pk}"))
    tasks.drain()
    page = read_out(office.get(f"/import/{pk}"))
    assert "Nothing is wrong with it. Nothing was imported yet. This is what the import would do: Rows 2 New" in page
    assert "2 customers, 2 sites, 2 systems, 2 units" in page
    assert "Install date Installed on" in page
    assert "Not imported Crew car" in page
    assert not models.Unit.objects.exists()
    assert office.post(f"/import/{pk}", {"do": "take"}).status_code == 302
    tasks.drain()
    page = read_out(office.get(f"/import/{pk}"))
    assert "Imported. Rows 2 New" in page
    assert models.Unit.objects.count() == 2


def test_without_a_file_or_with_one_too_large_the_page_says_so(office, settings):
    response = office.post("/import", {"kind": "history"})
    assert response.status_code == 422
    assert "Choose a file first." in read_out(response)
    assert re.search(r'value="history"[^>]* checked', response.content.decode())
    settings.IMPORT_LARGEST = 1_000_000
    file = SimpleUploadedFile("long.csv", b"x" * 1_000_001)
    response = office.post("/import", {"kind": "installs", "file": file})
    assert response.status_code == 422
    assert "It is larger than 1 MB." in read_out(response)


def test_what_is_no_sheet_says_why(office):
    office.post("/import", {"kind": "installs", "file": SimpleUploadedFile("units.csv", b"%PDF-1.7\n%%EOF")})
    assert "a CSV or XLSX file, not a PDF" in read_out(office.get(f"/import/{found().pk}"))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"column_9": ""}, "Say what it is, or do not import it."),
        ({"column_4": "serial"}, "“Room” is already this column. Choose another."),
        ({"column_5": "-"}, "Enter what it is in all rows."),
        (
            {"column_5": "-", "way_maker": "given", "given_maker": "n/a"},
            "“n/a” was not understood as manufacturer. Enter it another way.",
        ),
        ({"column_3": "-"}, "Each row needs Kind of unit. Say where to find it."),
    ],
)
def test_a_matching_that_cannot_be_is_refused_with_every_choice_still_there(changed, said, office):
    bring(office, sheets.row(1))
    response = office.post(f"/import/{found().pk}/columns", chosen(**changed))
    assert response.status_code == 422
    assert said in read_out(response).replace("&#x27;", "'")
    assert '<option value="system" selected>' in response.content.decode()
    assert found().columns == {}


def test_all_that_is_not_matched_is_left_out_in_one_tick(office):
    bring(office, sheets.row(1))
    assert office.post(f"/import/{found().pk}/columns", chosen(column_9="", rest="-")).status_code == 302
    assert found().columns == sheets.MATCHING
    assert office.post(f"/import/{found().pk}/stop").status_code == 302
    assert office.post(f"/import/{found().pk}/columns", chosen(column_9="", rest="note")).status_code == 302
    assert found().columns == sheets.MATCHING | {"Crew car": "note"}


def test_what_a_file_does_not_have_is_given_for_all_its_rows(office):
    bring(office, sheets.row(1))
    page = office.get(f"/import/{found().pk}/columns").content.decode()
    assert "Facts that are the same for all rows" in page
    match(office, column_2="-", way_system="day", given_region="Maine", given_use="rental")
    assert found().plan["given"] == {"region": "US-ME", "use": "rental"}
    assert found().plan["ways"] == {"system": "day"}
    page = read_out(office.get(f"/import/{found().pk}"))
    assert "System units installed at one site on the same day are one system" in page
    assert "State, in all rows Maine" in page


def test_days_that_could_be_months_are_asked_about_with_their_rows(office):
    bring(office, sheets.row(1, "3/8/2021"), sheets.row(2, "4/13/2021"))
    pk = match(office)
    assert office.get(f"/import/{pk}")["Location"] == f"/import/{pk}/values"
    response = office.get(f"/import/{pk}/values")
    page = read_out(response)
    assert "Installed" not in page.partition("Dates that could be two days")[0]
    assert re.search("month first: 3/8/2021 is March 8, 2021", page)
    assert re.search("day first: 3/8/2021 is August 3, 2021", page)
    assert "In row 2. 1 other date can only be month first." in page
    assert re.search('value="month first"[^>]* checked', response.content.decode())
    assert office.post(f"/import/{pk}/values").status_code == 422
    assert office.post(f"/import/{pk}/values", {"order_installed_on": "day first"}).status_code == 302
    tasks.drain()
    office.post(f"/import/{pk}", {"do": "take"})
    tasks.drain()
    assert models.Unit.objects.get(serial="SB-1").installed_on == company.day("2021-08-03")


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({}, "Say what it means."),
        ({"means_0": "value"}, "Enter what it means."),
        ({"means_0": "value", "value_0": "3/8/21"}, "Enter a date such as March 8, 2024"),
        ({"means_0": "value", "value_0": "3/13/2042"}, "no later than today."),
        ({"value_0": "soon"}, "Enter a date such as"),
    ],
)
def test_a_meaning_that_cannot_be_is_refused_and_nothing_typed_is_lost(sent, said, office):
    bring(office, sheets.row(1, "n/a"), sheets.row(2, role="Indoor"))
    pk = match(office)
    response = office.post(f"/import/{pk}/values", {"means_1": "value:head"} | sent)
    assert response.status_code == 422
    assert said in read_out(response)
    assert 'value="value:head" selected' in response.content.decode()
    if sent.get("value_0"):
        assert f'value="{sent["value_0"]}"' in response.content.decode()
    assert not models.ValueMemory.objects.exists()


def test_what_is_written_beside_a_text_is_what_it_means(office):
    bring(office, sheets.row(1, "n/a"), sheets.row(2, role="Indoor"))
    pk = match(office)
    page = office.get(f"/import/{pk}/values")
    assert "Install date n/a row 2" in read_out(page).replace(" Install date: n/a", " n/a")
    assert (
        office.post(f"/import/{pk}/values", {"value_0": "March 8, 2019", "means_1": "value:wall head"}).status_code
        == 302
    )
    tasks.drain()
    office.post(f"/import/{pk}", {"do": "take"})
    tasks.drain()
    assert models.Unit.objects.get(serial="SB-1").installed_on == company.day("2019-03-08")
    assert models.Unit.objects.get(serial="SB-2").style == "wall"


def test_serials_alike_are_looked_over_and_one_serial_is_not_two_units(office):
    bring(office, sheets.row(1, serial="SB-12"), sheets.row(2, serial="SB-12"))
    pk = match(office)
    assert office.get(f"/import/{pk}")["Location"] == f"/import/{pk}/look-over"
    page = read_out(office.get(f"/import/{pk}/look-over"))
    assert "Row 2 SB-12 Odile Marsh 1, Home" in page
    both = {"serial_0_2": "SB-12", "serial_0_3": "SB-12"}
    assert "Choose one of these." in read_out(office.post(f"/import/{pk}/look-over", both))
    response = office.post(f"/import/{pk}/look-over", both | {"twin_0": "as they are"})
    assert "Two units cannot have the same serial. Correct the one that is wrong." in read_out(response)
    sent = both | {"twin_0": "as they are", "serial_0_3": "SB-13"}
    assert office.post(f"/import/{pk}/look-over", sent).status_code == 302
    tasks.drain()
    assert "2 customers" in read_out(office.get(f"/import/{pk}"))
    assert 'value="SB-13"' in office.get(f"/import/{pk}/look-over").content.decode()


def test_the_steps_can_be_gone_back_to_while_the_file_is_open(office):
    bring(office, sheets.row(1))
    pk = match(office)
    for step in ("sheet", "columns", "values", "look-over"):
        assert office.get(f"/import/{pk}/{step}").status_code == 200
    office.post(f"/import/{pk}", {"do": "take"})
    tasks.drain()
    for step in ("sheet", "columns", "values", "look-over"):
        assert office.get(f"/import/{pk}/{step}").status_code == 404


def test_a_check_shows_what_would_change(office):
    for room in ("Den", "Attic"):
        bring(office, sheets.row(1, room=room))
        pk = match(office)
        office.post(f"/import/{pk}", {"do": "take" if room == "Den" else "check", "correcting": "on"})
        tasks.drain()
    page = read_out(office.get(f"/import/{pk}"))
    assert "Nothing is wrong with it. Nothing was imported yet." in page
    assert "What would change" in page
    assert "Northrill NW-9 SB-1 Room Den Attic" in page
    assert models.Unit.objects.get().room == "Den"


def test_a_refused_file_is_handed_out_with_what_is_wrong(office):
    bring(office, sheets.row(1), name="our units.csv")
    pk = match(office, column_9="attached")
    page = office.get(f"/import/{pk}")
    assert "Nothing was imported: 1 thing to correct." in read_out(page)
    assert "2 Crew car codes of terms on file;" in read_out(page)
    response = office.get(f"/import/{pk}/problems")
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert response["Content-Disposition"].startswith("attachment;")
    content = b"".join(response.streaming_content).decode("utf-8-sig")
    assert content.startswith("What is wrong,Client,")
    owners = company.as_role("owner").get(f"/import/{pk}/problems")
    assert b"".join(owners.streaming_content).decode("utf-8-sig") == content
    assert company.as_role("technician").get(f"/import/{pk}/problems").status_code == 403


def test_progress_is_a_part_of_the_page_that_asks_for_itself_while_something_moves(office):
    bring(office, sheets.row(1))
    pk = match(office)
    office.post(f"/import/{pk}", {"do": "take"})
    job = models.Job.objects.latest("pk")
    models.Job.objects.filter(pk=job.pk).update(state="running", lease="a", leased_until=THEN)
    models.Import.objects.update(row_count=4)
    models.Job.objects.filter(pk=job.pk).update(parts_done=3, parts=4)
    part = office.get(f"/import/{pk}", HTTP_HX_REQUEST="true")
    assert "Checking row 3 of 4." in read_out(part)
    assert '<progress value="3" max="4"' in part.content.decode()
    assert 'hx-trigger="every 1s"' in part.content.decode()
    assert "<html" not in part.content.decode()
    models.Job.objects.filter(pk=job.pk).update(parts_done=4)
    assert "All 4 rows are checked. Importing …" in read_out(office.get(f"/import/{pk}", HTTP_HX_REQUEST="true"))
    import_files.say_how_far(found().stored, 500, 1_200)
    part = office.get(f"/import/{pk}", HTTP_HX_REQUEST="true")
    assert "Importing: coverage worked out for 500 of 1,200 units." in read_out(part)
    assert '<progress value="500" max="1200"' in part.content.decode()
    assert office.post(f"/import/{pk}/stop").status_code == 302
    page = office.get(f"/import/{pk}")
    assert "Stopping soon. Nothing is imported." in read_out(page)
    assert "/stop" not in page.content.decode()
    models.Job.objects.filter(pk=job.pk).update(state="stopped", lease="", leased_until=None, ended_at=THEN)
    page = office.get(f"/import/{pk}", HTTP_HX_REQUEST="true").content.decode()
    assert "Stopped. Nothing was imported." in page
    assert "hx-trigger" not in page
    assert 'value="take"' in page


def test_work_that_failed_says_why(office):
    bring(office, sheets.row(1))
    pk = match(office)
    office.post(f"/import/{pk}", {"do": "take"})
    models.Job.objects.filter(state="waiting").update(why="The disk is full.")
    assert "Waiting its turn. The last try failed: The disk is full." in read_out(office.get(f"/import/{pk}"))
    models.Job.objects.filter(state="waiting").update(state="failed", ended_at=THEN)
    assert "nothing was imported. The disk is full." in read_out(office.get(f"/import/{pk}"))


def test_a_file_that_is_dropped_leaves_the_list(office):
    bring(office, sheets.row(1))
    pk = found().pk
    assert "units.csv" in read_out(office.get("/import"))
    assert office.post(f"/import/{pk}/drop")["Location"] == "/import"
    assert "units.csv is deleted." in read_out(office.get("/import"))
    assert "None yet." in read_out(office.get("/import"))
    assert office.get(f"/import/{pk}").status_code == 404


def test_the_list_says_where_each_file_stands_and_comes_as_a_file(office):
    bring(office, sheets.row(1))
    match(office)
    page = read_out(office.get("/import"))
    assert "checked, not imported yet" in page
    assert "Wynn Office" in page
    lines = b"".join(office.get("/import?as=csv").streaming_content).decode("utf-8-sig").splitlines()
    assert lines[0] == "name,kind,state,rows,by,at"
    assert len(lines) == 2


def test_queries_do_not_grow_with_rows(office):
    counts = []
    for files in (1, 4):
        for number in range(files):
            bring(office, sheets.row(number))
        pk = found().pk
        if not found().columns:
            match(office)
        tasks.drain()
        steps = ("", "/sheet", "/columns", "/values", "/look-over")
        counts.append(
            [_queries(office, address) for address in ("/import", *(f"/import/{pk}{step}" for step in steps))]
        )
    assert counts[0] == counts[1]


def _queries(office, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert office.get(address).status_code == 200
    return len(captured)


def test_a_person_who_may_not_import_is_told_so():
    technician = company.as_role("technician")
    assert technician.get("/import").status_code == 403
    assert technician.post("/import").status_code == 403


def test_somebody_else_who_began_meanwhile_is_told(office):
    bring(office, sheets.row(1))
    pk = match(office)
    row = found()
    imports.ask(imported=row, correcting=False, checking=False, by=row.by)
    response = office.post(f"/import/{pk}", {"do": "take"})
    assert response.status_code == 409
    assert models.Job.objects.filter(state="waiting").count() == 1


def test_an_import_is_undone_by_whoever_may_import_and_says_why(office):
    bring(office, sheets.row(1), sheets.row(2))
    pk = match(office)
    office.post(f"/import/{pk}", {"do": "take"})
    tasks.drain()
    assert "Undo this import" in read_out(office.get(f"/import/{pk}"))
    refused = office.post(f"/import/{pk}/undo", {"why": ""})
    assert (refused.status_code, "Say why this import is undone." in read_out(refused)) == (422, True)
    assert company.as_role("technician").post(f"/import/{pk}/undo", {"why": "wrong file"}).status_code == 403
    assert office.post(f"/import/{pk}/undo", {"why": "wrong file"})["Location"] == f"/import/{pk}"
    page = office.get(f"/import/{pk}").content.decode()
    assert "Undoing this import" in page
    assert "Stop import" not in page
    tasks.drain()
    page = read_out(office.get(f"/import/{pk}"))
    assert re.search(
        r"This import was undone on .*, by Wynn Office: wrong file\. What it brought is no longer on file\.", page
    )
    assert "Undo this import" not in page
    assert not models.Unit.objects.exists()
    assert office.post(f"/import/{pk}/undo", {"why": "again"}).status_code == 409


def test_what_depends_on_an_import_is_named_on_its_page(office):
    bring(office, sheets.row(1))
    pk = match(office)
    office.post(f"/import/{pk}", {"do": "take"})
    tasks.drain()
    models.Contact.objects.create(site=models.Site.objects.get(), name="Gate")
    office.post(f"/import/{pk}/undo", {"why": "wrong file"})
    tasks.drain()
    page = read_out(office.get(f"/import/{pk}"))
    assert "This import was not undone, and nothing was changed." in page
    assert "Later records depend on this import: 1 contact on Home." in page
    assert models.Unit.objects.count() == 1
