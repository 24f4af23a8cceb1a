"""The calendar of deadlines: read back by a general iCalendar library, opened by its link alone, closed when revoked."""

import datetime as dt
import re

import pytest
import time_machine
from django.test import Client
from icalendar import Calendar

from fleet import models
from fleet.claims.actions import calendars as actions
from fleet.claims.pages import calendars as pages
from fleet.claims.papers import calendars as drawn
from fleet.rules.claims import State
from tests import claimed, company, rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit() -> models.Unit:
    company.on_file(claimed.PAYS)
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", customer="Odile Marsh")
    company.worked_out()
    return made


@pytest.fixture
def link() -> str:
    """The address of a link of the office's."""
    return f"/calendar/{actions.make(name='My phone', by=company.person('office'))}.ics"


def read(address: str) -> Calendar:
    response = Client().get(address)
    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert response["Cache-Control"] == "private, no-store"
    return Calendar.from_ical(response.content)


def days(found: Calendar) -> list[tuple[str, dt.date, dt.date]]:
    return [(str(one["summary"]), one["dtstart"].dt, one["dtend"].dt) for one in found.walk("VEVENT")]


def test_it_holds_a_whole_day_for_each_open_clock_with_the_day_after_as_its_end(unit, link):
    row = claimed.claim(claimed.failure(unit, repaired_on="2026-02-03", part_taken_on="2026-02-05"))
    found = read(link)
    assert found.errors == []
    assert days(found) == [
        ("Overdue: Return the old part to Northrill: sensor", dt.date(2026, 2, 26), dt.date(2026, 2, 27)),
        ("File the claim with Northrill for the sensor", dt.date(2026, 3, 20), dt.date(2026, 3, 21)),
    ]  # fmt: skip
    for event in found.walk("VEVENT"):
        assert type(event["dtstart"].dt) is dt.date  # a day, not a moment
        assert event["dtstart"].params["VALUE"] == event["dtend"].params["VALUE"] == "DATE"
        assert event["dtstamp"].dt == dt.datetime(2026, 3, 2, tzinfo=dt.UTC)
        assert event["transp"] == "TRANSPARENT"
        assert str(event["url"]) == f"http://testserver/claims/{row.pk}"


def test_it_is_called_for_the_company_once_that_has_a_name(unit, link):
    assert "Birch" not in str(read(link)["x-wr-calname"])
    models.Company.objects.create(pk=1, name="Birch & Fell Heating")
    assert str(read(link)["x-wr-calname"]).startswith("Birch & Fell Heating: ")


def test_what_is_done_leaves_it_and_keeps_the_marks_of_the_others(unit, link):
    row = claimed.claim(claimed.failure(unit, repaired_on="2026-02-03", part_taken_on="2026-02-05"))
    before = {str(one["summary"]): str(one["uid"]) for one in read(link).walk("VEVENT")}
    claimed.step(row, State.FILED, "2026-02-10", "200.00")
    after = {str(one["summary"]): str(one["uid"]) for one in read(link).walk("VEVENT")}
    assert len(before) == 2
    assert after == {summary: uid for summary, uid in before.items() if "old part" in summary}


def test_a_failure_that_nobody_claimed_stands_there_too_until_it_is_long_too_late(unit, link):
    claimed.failure(unit, "2025-11-14", repaired_on="2025-11-17")  # to be filed by January 1, 60 days ago
    claimed.failure(unit, "2025-11-13", repaired_on="2025-11-16")  # by December 31, 61 days ago
    (event,) = read(link).walk("VEVENT")
    assert event["dtstart"].dt == dt.date(2026, 1, 1)
    assert "No claim opened yet." in str(event["description"])
    assert "Worth up to $377.00." in str(event["description"])


def test_it_tells_no_customer_street_or_phone(unit, link):
    claimed.failure(unit, repaired_on="2026-02-03")
    text = Client().get(link).content.decode()
    assert "SB-1002" in text
    assert "Home" in text
    for secret in ("Odile", "Marsh", "Tar Lane", "555-0100", "200.00"):
        assert secret not in text


def test_lines_are_folded_and_whatever_was_typed_is_escaped():
    typed = 'Žofie\'s "Łodge"; north, upper\\lower\nBEGIN:VEVENT ' + "é" * 80
    page = pages.Calendar(
        "Clocks", dt.date(2026, 3, 2), (pages.Day("a@b", dt.date(2026, 3, 20), typed, (typed, "x"), "http://x/1"),)
    )
    raw = drawn.ics(page)
    assert raw == drawn.ics(page)
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert [line for line in lines if line.startswith(b"BEGIN:VEVENT")] == [b"BEGIN:VEVENT"]
    (event,) = Calendar.from_ical(raw).walk("VEVENT")
    assert str(event["summary"]) == typed
    assert str(event["description"]) == f"{typed}\nx"


def test_every_property_that_the_standard_requires_is_there_once(unit, link):
    claimed.failure(unit, repaired_on="2026-02-03")
    text = re.sub(r"\r\n[ \t]", "", Client().get(link).content.decode())
    for name in ("VERSION", "PRODID", "BEGIN:VCALENDAR", "END:VCALENDAR", "UID", "DTSTAMP", "DTSTART;VALUE=DATE"):
        assert len(re.findall(rf"^{name}\b", text, re.MULTILINE)) == 1, name
    assert "\nVERSION:2.0\r" in text
    assert re.search(r"^DTSTART;VALUE=DATE:20260320\r$", text, re.MULTILINE)
    assert re.search(r"^DTEND;VALUE=DATE:20260321\r$", text, re.MULTILINE)


# -- the link


def test_only_a_digest_of_the_secret_is_kept():
    token = actions.make(name="My phone", by=company.person("office"))
    row = models.CalendarLink.objects.get()
    assert len(token) >= 43  # 256 bits
    assert token not in str(vars(row))
    assert re.fullmatch("[0-9a-f]{64}", row.digest)


def test_an_unknown_a_revoked_and_a_stranger_s_link_open_nothing(link):
    assert Client().get(link).status_code == 200
    assert Client().get("/calendar/abc.ics").status_code == 404
    assert Client().get(link.upper().replace("/CALENDAR/", "/calendar/").replace(".ICS", ".ics")).status_code == 404
    row = models.CalendarLink.objects.get()
    for change in ({"is_active": False}, {"role": "technician"}, {"role": ""}):
        models.User.objects.filter(pk=row.person_id).update(**change)
        assert Client().get(link).status_code == 404
        models.User.objects.filter(pk=row.person_id).update(is_active=True, role="office")
    assert company.as_role("office").post(f"/calendars/{row.pk}/revoke")["Location"] == "/calendars"
    assert Client().get(link).status_code == 404


def test_nobody_revokes_another_s_link(link):
    row = models.CalendarLink.objects.get()
    assert company.as_role("owner").post(f"/calendars/{row.pk}/revoke").status_code == 404
    assert Client().get(link).status_code == 200


def test_a_link_is_made_shown_once_and_remembered_by_its_name():
    office = company.as_role("office")
    refused = office.post("/calendars", {"name": " "})
    assert refused.status_code == 422
    assert "Say for which phone or desk" in refused.content.decode()
    assert office.post("/calendars", {"name": "Desk by the <window>"})["Location"] == "/calendars"
    page = office.get("/calendars").content.decode()
    (address,) = re.findall(r"http://testserver(/calendar/[\w-]+\.ics)", page)
    assert "webcal://testserver" + address in page
    assert Client().get(address).status_code == 200
    again = office.get("/calendars").content.decode()
    assert address not in again
    assert "Desk by the &lt;window&gt;" in again
    assert "March 2, 2026" in again


def test_that_it_was_read_is_noted_once_an_hour(link):
    for at, noted in (
        ("2026-03-02T12:00:00-05:00", 12),
        ("2026-03-02T12:59:00-05:00", 12),
        ("2026-03-02T13:01:00-05:00", 13),
    ):
        with time_machine.travel(at, tick=False):
            Client().get(link)
        read_at = models.CalendarLink.objects.get().read_at
        assert read_at.astimezone(dt.timezone(dt.timedelta(hours=-5))).hour == noted


def test_it_asks_as_much_of_the_database_with_one_deadline_as_with_five(unit, link):
    claimed.failure(unit, "2026-02-01", repaired_on="2026-02-03")
    Client().get(link)
    with rows.asked() as one:
        Client().get(link)
    for number in range(4):
        claimed.failure(unit, f"2026-02-0{number + 2}", repaired_on="2026-02-13")
    with rows.asked() as five:
        Client().get(link)
    assert len(one) == len(five) <= 13
