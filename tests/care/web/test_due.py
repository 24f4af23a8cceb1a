"""What is due, on screen: listed, recorded in one step and otherwise, taken back, and printed. Asked on March 2, 2026."""

import csv
import datetime as dt
import io

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from fleet import models
from fleet.care.actions import bookings, care_sheets
from fleet.care.queries.due_states import in_state
from fleet.derived import recheck
from fleet.facts.care import care_sheet, due_of
from fleet.rules.care import State
from tests import company
from tests.caring import entry
from tests.pages import shown, words

pytestmark = pytest.mark.django_db

TODAY = company.TODAY
SHEET = {
    "code": "ours-1",
    "task": [
        entry("coil", title="Clean the coil", checked_on=dt.date(2026, 1, 1), cautions=["Power off first."], dirt="coil"),
        entry("check", title="Check the volts", per="system", checked_on=dt.date(2026, 1, 1)),
        entry(
            "wash", title="Wash the filter", by="owner", every_months=1, early_days=7, late_days=14,
            checked_on=dt.date(2026, 1, 1), cautions=["Let it dry in the shade."],
        ),
    ],
}  # fmt: skip


@pytest.fixture
def unit():
    """Put in on February 1, 2025: its yearly tasks were due on February 1, 2026 and are not late until March 4."""
    made = company.unit("SB-1", room="Den", started_on="2025-02-01", installed_on="2025-02-01")
    care_sheets.load_table(SHEET, on=TODAY)
    return made


@pytest.fixture(params=["office", "technician"])
def client(request, unit):
    return company.as_role(request.param)


def listed(client, asked: str = "") -> list[list[object]]:
    response = client.get(f"/due?{asked}")
    assert response.status_code == 200
    return shown(response.context["listing"])


def test_the_list_says_what_is_due_on_what_and_where_it_stands(client):
    day = dt.date(2026, 2, 1)
    assert listed(client) == [
        ["SB-1", "Check the volts", day, "due now, by March 3, 2026", None, "Odile Marsh", "Home", 20],
        ["SB-1", "Clean the coil", day, "due now, by March 3, 2026", None, "Odile Marsh", "Home", 20],
    ]
    assert "2 maintenance tasks can be done now." in words(client.get("/due"))


@pytest.mark.parametrize(
    ("asked", "rows"),
    [
        pytest.param("whose=owner", [["Wash the filter"]], id="the owner's"),
        pytest.param("whose=both", [["Check the volts"], ["Clean the coil"], ["Wash the filter"]], id="both"),
        pytest.param("whose=both&state=no+record", [["Wash the filter"]], id="no record"),
        pytest.param("task=coil", [["Clean the coil"]], id="one task"),
        pytest.param("state=late", [], id="late"),
        pytest.param("state=due+or+late&text=odile", [["Check the volts"], ["Clean the coil"]], id="a customer"),
        pytest.param("month=2026-03", [], id="another month"),
        pytest.param("text=SB-2", [], id="another serial"),
        pytest.param("state=nonsense&sort=nonsense&page=9", [["Check the volts"], ["Clean the coil"]], id="nonsense"),
    ],
)
def test_it_is_narrowed(client, asked, rows):
    assert sorted([row[1]] for row in listed(client, asked)) == rows


def test_it_is_added_up_by_site_task_and_month(client):
    day = dt.date(2026, 2, 1)
    company.unit("SB-2", room="Loft", started_on="2023-02-01", installed_on="2023-02-01", site="Lake")
    company.worked_out()
    late = dt.date(2024, 2, 1)
    sums = [2, 2, late, 40], [2, None, day, 40]
    assert [row[:-1] for row in listed(client, "listed=by+site")] == [
        ["Lake", "Odile Marsh", *sums[0]],
        ["Home", "Odile Marsh", *sums[1]],
    ]
    assert [row[:-1] for row in listed(client, "listed=by+task&sort=-task")] == [
        ["Clean the coil", "technician", 2, 1, late, 40],
        ["Check the volts", "technician", 2, 1, late, 40],
    ]
    months = [[company.day("2024-02-01"), *sums[0]], [company.day("2026-02-01"), *sums[1]]]
    assert [row[:-1] for row in listed(client, "listed=by+month")] == months
    assert [row[:-1] for row in listed(client, "listed=by+month&sort=-first_on")] == months[::-1]
    assert [row[:-1] for row in listed(client, "listed=by+month&sort=minutes")] == months


@pytest.mark.parametrize("per_page", [2, 3, 50])
def test_the_sites_of_the_first_page_are_those_whose_dues_come_first(client, monkeypatch, per_page):
    # Each site has two dues of ours on one day: in 2024, twice in 2025, in 2026.
    for site, day in (("Lake", "2023-02-01"), ("Barn", "2024-01-15"), ("Mill", "2024-01-15")):
        company.unit(f"S-{site}", room="Loft", started_on=day, installed_on=day, site=site)
    company.worked_out()
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", per_page)
    found = [["Lake", 2], ["Barn", 2], ["Mill", 2], ["Home", 2]]
    response = client.get("/due?listed=by+site")
    rows = shown(response.context["listing"])
    assert [[row[0], row[2]] for row in rows] == found[:per_page]
    assert response.context["listing"].count == 4


def test_it_goes_out_as_a_file_with_everything_that_it_knows(client):
    response = client.get("/due?as=csv&sort=-task")
    lines = list(csv.reader(io.StringIO(b"".join(response.streaming_content).decode("utf-8-sig"))))
    assert lines[0][:6] == ["serial", "maker", "model", "room", "task", "due_on"]
    assert lines[1][:6] == ["SB-1", "Northrill", "NH-9", "Den", "Clean the coil", "2026-02-01"]
    assert len(lines) == 3


@pytest.mark.parametrize(("sort", "step"), [("last_done", 1), ("-last_done", -1)])
def test_what_was_last_done_on_one_day_stands_by_due_day_then_unit_then_task(client, sort, step):
    # Put on file after SB-1, so that neither keys nor the order in which rows are worked out are that of the list.
    company.unit("SB-2", room="Loft", started_on="2025-01-15", installed_on="2025-01-15", site="Lake")
    company.unit("SB-3", room="Attic", started_on="2025-02-01", installed_on="2025-02-01", site="Barn")
    company.worked_out()
    response = client.get(f"/due?as=csv&sort={sort}")
    lines = csv.DictReader(io.StringIO(b"".join(response.streaming_content).decode("utf-8-sig")))
    assert [(line["serial"], line["task"]) for line in lines] == [
        ("SB-2", "Check the volts"),
        ("SB-2", "Clean the coil"),
        ("SB-1", "Check the volts"),
        ("SB-1", "Clean the coil"),
        ("SB-3", "Check the volts"),
        ("SB-3", "Clean the coil"),
    ][::step]


@pytest.mark.parametrize("address", ["/due", "/due?listed=by+site", "/due?listed=by+task", "/due?listed=by+month"])
def test_as_many_queries_for_five_sites_as_for_one(client, address):
    counts = []
    for more in (0, 4):
        for number in range(more):
            company.unit(f"SC-{number}", room="Den", started_on="2025-02-01", site=f"Site {number}")
        company.worked_out()
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        counts.append(len(asked))
    assert counts[0] == counts[1]


@pytest.mark.parametrize("more", ["unit", "site_care", "site"])
def test_a_page_of_care_asks_as_often_for_five_units_as_for_one(client, unit, more):
    address = {"unit": f"/units/{unit.pk}", "site": f"/sites/{unit.system.site_id}"}.get(
        more, f"/sites/{unit.system.site_id}/care"
    )
    counts = []
    for number in (0, 4):
        for place in range(number):
            company.unit(f"SD-{place}", room=f"Room {place}", started_on="2025-02-01")
        company.worked_out()
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        counts.append(len(asked))
    assert counts[0] == counts[1]


@pytest.mark.parametrize(
    "day", ["2025-01-31", "2026-01-01", "2026-01-02", "2026-03-03", "2026-03-04", "2026-03-05", "2027-06-01"]
)
def test_the_list_chooses_the_states_that_the_rules_give(unit, day):
    """The database is asked for a state; whatever the day, it must choose what the rules say of each due."""
    on = dt.date.fromisoformat(day)
    for number, last in enumerate(("2025-12-31", "2026-01-01", "2026-01-02", "2026-02-03")):
        other = company.unit(f"SE-{number}", room=f"Room {number}", started_on="2024-01-01")
        models.MaintenanceRecord.objects.create(unit=other, done_on=dt.date.fromisoformat(last), task="wash")
    models.MaintenanceRecord.objects.create(
        unit=unit, done_on=TODAY, task="coil", skipped=True, skip_reason="other", not_before=dt.date(2026, 3, 4)
    )
    company.worked_out()
    sheet = care_sheet()
    rows = {row.pk: due_of(row, sheet).state(on) for row in models.DueRow.objects.select_related("unit")}
    assert len(rows) == 11
    for state in State:
        chosen = models.DueRow.objects.filter(in_state(state, sheet, on=on)).values_list("pk", flat=True)
        assert set(chosen) == {pk for pk, found in rows.items() if found is state}, state


# ------------------------------------------------------------------------------------------------- recording


def test_a_task_is_done_in_one_step_and_taken_back(client, unit):
    response = client.post(f"/units/{unit.pk}/care/done", {"task": "coil"}, follow=True)
    assert "Recorded: Clean the coil, Den. Next due March 2, 2027." in words(response)
    record = models.MaintenanceRecord.objects.get()
    assert (record.done_on, record.task) == (TODAY, "coil")
    assert list(recheck.differences(on=TODAY)) == []
    response = client.post(f"/care-records/{record.pk}/undo", follow=True)
    assert "Undone: it is due as before." in words(response)
    assert not models.MaintenanceRecord.objects.exists()
    assert list(recheck.differences(on=TODAY)) == []


def test_a_technician_is_named_for_what_they_did_and_the_office_names_nobody(unit):
    company.as_role("technician").post(f"/units/{unit.pk}/care/done", {"task": "coil"})
    company.as_role("office").post(f"/units/{unit.pk}/care/done", {"task": "wash"})
    assert dict(models.MaintenanceRecord.objects.values_list("task", "technician")) == {
        "coil": "Wynn Technician",
        "wash": "",
    }


def test_pressing_twice_records_once(client, unit):
    for _ in range(2):
        assert client.post(f"/units/{unit.pk}/care/done", {"task": "coil"}).status_code == 302
    assert models.MaintenanceRecord.objects.count() == 1


def test_it_leads_back_to_where_it_was_pressed_and_nowhere_else(client, unit):
    for here, there in ((f"/units/{unit.pk}", f"/units/{unit.pk}"), ("https://elsewhere.example/", "/sites/")):
        response = client.post(f"/units/{unit.pk}/care/done", {"task": "coil", "here": here})
        assert response["Location"].startswith(there)


def test_another_day_with_what_was_seen(client, unit):
    told = {"task": "coil", "day": "2026-02-20", "technician": "Robin Vale", "minutes": "35", "dirt_coil": "2"}
    response = client.post(f"/units/{unit.pk}/care", told, follow=True)
    assert "Recorded: Clean the coil, Den. Next due February 20, 2027." in words(response)
    record = models.MaintenanceRecord.objects.get()
    assert (record.done_on, record.technician, record.labor_minutes, record.dirt_coil, record.dirt_wheel) == (
        dt.date(2026, 2, 20), "Robin Vale", 35, 2, None,
    )  # fmt: skip
    assert list(recheck.differences(on=TODAY)) == []


def test_skipped_with_a_reason_until_a_day(client, unit):
    told = {"task": "coil", "day": "2026-03-02", "skip_reason": "customer declined", "not_before": "2026-04-01"}
    response = client.post(f"/units/{unit.pk}/care", told, follow=True)
    assert "put off until April 1, 2026" in words(response)
    assert models.MaintenanceRecord.objects.get().skipped


@pytest.mark.parametrize(
    ("told", "said"),
    [
        pytest.param({"day": "2026-03-03"}, "March 2, 2026 or an earlier day", id="tomorrow"),
        pytest.param({"day": "sometime"}, "Enter a valid date", id="no day"),
        pytest.param({"not_before": "2026-04-01"}, "Only a skipped task can have a reason", id="put off, yet done"),
        pytest.param({"minutes": "-5"}, "greater than or equal to 0", id="less than no time"),
    ],
)
def test_a_bad_form_says_why_and_keeps_what_was_typed(client, unit, told, said):
    sent = {"task": "coil", "day": "2026-03-02", "notes": "Bib & pump"} | told
    response = client.post(f"/units/{unit.pk}/care", sent)
    assert response.status_code == 422
    assert said in words(response)
    assert "Bib &amp; pump" in words(response)
    assert not models.MaintenanceRecord.objects.exists()


@pytest.mark.parametrize("task", ["", "polish"])
def test_a_task_that_is_not_there_is_not_found(client, unit, task):
    assert client.get(f"/units/{unit.pk}/care?task={task}").status_code == 404
    assert client.post(f"/units/{unit.pk}/care/done", {"task": task}).status_code == 404


def test_the_unit_and_the_site_say_what_is_due(client, unit):
    company.unit("SO-1", role="outdoor", style="", room="Yard", started_on="2025-02-01")
    company.worked_out()
    page = words(client.get(f"/units/{unit.pk}"))
    # The whole system's check stands under the outdoor unit, and is due on the head as well.
    for said in ("Clean the coil", "Check the volts</strong>, the whole system", "Wash the filter"):
        assert said in page
    assert "2 maintenance tasks can be done now." in words(client.get(f"/sites/{unit.system.site_id}"))


def test_without_a_care_sheet_the_page_says_how_to_get_one():
    company.unit("SB-1", started_on="2025-02-01")
    client = company.as_role("office")
    assert "No care sheet (our list of maintenance tasks) is in force yet." in words(client.get("/due"))
    assert client.get(f"/sites/{models.Site.objects.get().pk}/care").status_code == 200


# ------------------------------------------------------------------------------------------------- papers


def text_of(response) -> str:
    assert response["Content-Type"] == "application/pdf"
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages).split())


def test_the_sheet_has_every_due_and_its_cautions(client, unit):
    company.unit("", room="Loft <i>", started_on="2025-02-01")
    models.Customer.objects.update(name="Łucja <b>Žák")
    company.worked_out()
    address = f"/sites/{unit.system.site_id}/care/sheet"
    text = text_of(client.get(address))
    for said in (
        "Łucja <b>Žák",
        "Den SB-1",
        "Loft <i>",
        "Clean the coil: Power off first.",
        "Feb 1, 2026",
        "page 1 of",
    ):
        assert said in text
    assert client.get(address).content == client.get(address).content


def test_a_long_sheet_goes_on_over_pages(client, unit):
    for number in range(60):
        company.unit(f"SF-{number}", room=f"Room {number}", started_on="2025-02-01")
    company.worked_out()
    text = text_of(client.get(f"/sites/{unit.system.site_id}/care/sheet"))
    assert all(f"SF-{number}" in text for number in range(60))


def test_the_wall_card_says_what_to_wash_how_and_when(client, unit):
    text = text_of(client.get(f"/systems/{unit.system_id}/wall-card"))
    for said in (
        "Wash the filter, every month",
        "Den",
        "Let it dry in the shade.",
        "next March 2, 2026",
        "Clean the coil",
    ):
        assert said in text


def test_a_card_of_a_system_with_nothing_on_file_is_a_card_all_the_same(client):
    empty = models.System.objects.create(site=models.Site.objects.get(), name="Bare")
    assert "There is nothing here for you to wash" in text_of(client.get(f"/systems/{empty.pk}/wall-card"))


# ------------------------------------------------------------------------------------------------- what is booked


def book(unit, task="coil", on=dt.date(2026, 3, 20)):
    return bookings.book(unit.system.site_id, [(unit.pk, task)], day=on, why="Rang", by=None, on=TODAY)


def test_what_is_booked_is_shown_as_booked_and_counted_neither_as_due_nor_as_overdue(client, unit):
    """On March 10 both are overdue; the coil is booked for the 20th."""
    visit = book(unit)
    with time_machine.travel(dt.datetime(2026, 3, 10, 16, tzinfo=dt.UTC), tick=False):
        status = {row[1]: row[3] for row in listed(client)}
        assert status == {
            "Check the volts": "overdue since March 4, 2026",
            "Clean the coil": "booked for March 20, 2026",
        }
        assert [row[1] for row in listed(client, "state=late")] == ["Check the volts"]
        assert [row[1] for row in listed(client, "state=booked")] == ["Clean the coil"]
        assert "1 maintenance task has been overdue since March 4, 2026." in words(client.get("/due"))
        (row,) = listed(client, "listed=by+site")
        assert row[2:4] == [2, 1]
        page = words(client.get(f"/sites/{unit.system.site_id}/care"))
        assert "1 maintenance task is overdue. 1 task is booked." in page
        assert "booked for March 20, 2026" in page
        assert "booked for March 20, 2026" in words(client.get(f"/units/{unit.pk}"))
        # Once it is canceled, it is overdue as before.
        bookings.cancel(visit.pk, was=bookings.seen(visit), why="Customer rang", by=None, on=dt.date(2026, 3, 10))
        assert len(listed(client, "state=late")) == 2


@pytest.mark.parametrize(
    ("on", "said"),
    [
        ((2026, 2, 28), "Clean the coil: every year, next in February 2026"),
        ((2026, 3, 1), "Clean the coil: every year, due since February 2026"),
    ],
)
def test_the_wall_card_never_says_a_past_month_is_next(client, unit, on, said):
    with time_machine.travel(dt.datetime(*on, 16, tzinfo=dt.UTC), tick=False):
        assert said in text_of(client.get(f"/systems/{unit.system_id}/wall-card"))


def test_the_wall_card_says_what_is_booked(client, unit):
    book(unit)
    assert "Clean the coil: every year, booked for March 20, 2026" in text_of(
        client.get(f"/systems/{unit.system_id}/wall-card")
    )
