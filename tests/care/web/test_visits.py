"""Visits on screen: planned, booked, seen before they are, moved, called off, printed. Asked on March 2, 2026."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from fleet import models
from fleet.care.actions import bookings
from tests import company, stops
from tests.company import day
from tests.pages import shown, words

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY


@pytest.fixture
def units():
    return stops.house(8)


@pytest.fixture
def office(units):
    return company.as_role("office")


def listed(client, asked: str = "") -> list[list[object]]:
    response = client.get(f"/visits?{asked}")
    assert response.status_code == 200
    return shown(response.context["listing"])


def booked(units, **named) -> models.Booking:
    tasks = [(unit.pk, "coil") for unit in units[:-1]]
    return bookings.book(units[0].system.site_id, tasks, **{"day": day("2026-03-03"), "by": None, "on": TODAY} | named)


def test_the_plan_lists_what_is_to_be_booked(office, units):
    # Eight coils and eight drain lines, and one check outside: 20 + 40 + 160 + 120 + 10 minutes.
    (row,) = listed(office)
    assert row[:4] == [day("2026-03-02"), "Home", "Odile Marsh",
                       "Clean the coil (8); Clear the drain line (8); Check the volts"]  # fmt: skip
    assert row[4:7] == [day("2026-03-03"), 350, Decimal("790.00")]
    text = words(office.get("/visits"))
    assert "1 visit to book by April 30, 2026, the first on March 2, 2026." in text


def test_a_booked_visit_is_not_planned_again_and_its_hours_are_taken(office, units):
    booked(units)
    (row,) = listed(office)
    assert row[3] == "Clear the drain line (8); Check the volts"
    (row,) = listed(office, "listed=booked")
    assert row[0] == day("2026-03-03")
    rows = listed(office, "listed=by+day")
    assert [(row[0], row[1], row[2]) for row in rows] == [(day("2026-03-02"), 1, None), (day("2026-03-03"), None, 1)]


def test_the_load_by_month_stands_against_what_is_on_hand(office, units):
    models.MonthHours.objects.create(month=day("2026-03-01"), hours=5)
    march, april = office.get("/visits").context["lead"]["months"]
    assert (march.planned, march.booked, march.on_hand, march.entered, march.over) == (350, 0, 300, True, True)
    # 22 working days of six hours, since nobody entered the month.
    assert (april.on_hand, april.entered, april.over) == (22 * 360, False, False)


def test_a_visit_that_does_not_pay_for_its_drive_is_marked(office, units):
    models.House.objects.create(pk=1, drive_price=Decimal("1185.00"))
    assert listed(office)[0][8] == ""
    models.House.objects.update(drive_price=Decimal("1185.02"))
    assert listed(office)[0][8] == "$790.00 does not cover the drive of $790.01 (40 min)"


def test_it_goes_out_as_a_file(office, units):
    response = office.get("/visits?as=csv")
    lines = list(csv.reader(io.StringIO(b"".join(response.streaming_content).decode("utf-8-sig"))))
    assert lines[0][:4] == ["day", "site", "customer", "phone"]
    assert lines[1][:4] == ["2026-03-02", "Home", "Odile Marsh", "555-0100"]


def test_booking_on_screen(office, units):
    site = units[0].system.site_id
    page = office.get(f"/sites/{site}/visits")
    assert page.context["form"]["day"].value() == day("2026-03-02")
    ticked = page.context["form"]["tasks"].value()
    assert len(ticked) == 17
    sent = {"day": "2026-03-03", "tasks": ticked, "note": "Gate sticks", "technician": "", "key": ""}
    answer = office.post(f"/sites/{site}/visits", sent)
    made = models.Booking.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/visits/{made.pk}")
    assert (made.minutes, made.note, made.tasks.count()) == (350, "Gate sticks", 17)


def test_a_day_outside_the_windows_is_shown_before_and_refused_without_a_reason(office, units):
    site = units[0].system.site_id
    sent = {"day": "2026-03-09", "tasks": [f"{units[0].pk}:coil"], "note": "Gate sticks"}
    seen = office.post(f"/sites/{site}/visits", sent | {"see": "yes"}, headers={"HX-Request": "true"})
    assert "Clean the coil, Room 1: recommended from March 2, 2026 to March 3, 2026" in words(seen)
    answer = office.post(f"/sites/{site}/visits", sent)
    assert answer.status_code == 422
    assert "Give a reason, or choose another day" in words(answer)
    assert "Gate sticks" in words(answer)
    assert office.post(f"/sites/{site}/visits", sent | {"why": "Holiday"}).status_code == 302


def test_moving_shows_what_it_does_to_both_months(office, units):
    made = booked(units)
    sent = {"day": "2026-04-06", "see": "yes"}
    seen = words(office.post(f"/visits/{made.pk}", sent, headers={"HX-Request": "true"}))
    # 220 minutes of the booking; what is left of the plan, 190 minutes, stays in March.
    assert "April 2026: 0 h needed, 3.7 h with this visit; 132 h on hand." in seen
    assert "March 2026: 6.8 h, 3.2 h without it." in seen


def test_a_change_by_somebody_else_is_told_and_nothing_typed_is_lost(office, units):
    made = booked(units)
    sent = {"day": "2026-03-02", "note": "Mine", "was_on": "2026-03-04", "was_technician": "", "was_note": ""}
    answer = office.post(f"/visits/{made.pk}", sent)
    assert answer.status_code == 409
    assert "changed this visit in the meantime" in words(answer)
    assert answer.context["form"]["note"].value() == "Mine"
    again = {field.name: field.value() or "" for field in answer.context["form"]}
    assert office.post(f"/visits/{made.pk}", again).status_code == 302
    made.refresh_from_db()
    assert (made.on, made.note) == (TODAY, "Mine")


def test_calling_off_on_screen(office, units):
    made = booked(units)
    was = {"was_on": "2026-03-03", "was_technician": "", "was_note": ""}
    assert office.post(f"/visits/{made.pk}/cancel", was).status_code == 422
    assert office.post(f"/visits/{made.pk}/cancel", was | {"why": "Rang"}).status_code == 302
    made.refresh_from_db()
    assert (made.state, made.why) == ("called off", "Rang")
    assert listed(office)[0][3].startswith("Clean the coil (8)")


def test_visits_sold_are_held_against_visits_made(office, units):
    site = units[0].system.site
    stops.agreed(site)
    booked(units)
    text = words(office.get(f"/sites/{site.pk}/visits"))
    assert "Agreement M-1, June 1, 2025 to May 31, 2026: 2 visits sold, 0 made, 1 booked." in text


def test_waiting_on_us_says_what_is_to_be_booked(office, units):
    assert "1 site needs a visit booked within 3 weeks." in words(office.get("/on-our-desk"))
    company.unit("LT-1", room="Den", started_on="2024-02-01", installed_on="2024-02-01", site="Lake")
    company.worked_out()
    said = "2 sites need a visit booked within 3 weeks; 1 of them has overdue work."
    assert said in words(office.get("/on-our-desk"))
    booked(units)
    said = "1 site needs a visit booked within 3 weeks; it has overdue work."
    assert said in words(office.get("/on-our-desk"))


@pytest.mark.parametrize("address", ["/visits", "/visits?listed=booked", "/visits?listed=by+day", "/on-our-desk"])
def test_as_many_queries_for_five_sites_as_for_one(office, units, address):
    counts = []
    for numbers in ((0,), (1, 2, 3, 4)):
        for number in numbers:
            unit = company.unit(
                f"SC-{number}", room="Den", started_on="2025-02-01", installed_on="2025-02-01", site=f"Site {number}"
            )
            other = company.unit(
                f"SD-{number}", room="Den", started_on="2025-02-01", installed_on="2025-02-01", site=f"Other {number}"
            )
            company.worked_out()
            bookings.book(other.system.site_id, [(other.pk, "coil")], day=TODAY, by=None, on=TODAY)
            assert unit
        office.get(address)
        with CaptureQueriesContext(connection) as asked:
            office.get(address)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_the_sheet_has_every_head_its_work_and_what_to_bring(office, units):
    models.Site.objects.update(gate_code="4711#")
    models.Customer.objects.update(name="Łucja Žižek née Ж")
    models.Unit.objects.filter(pk=units[0].pk).update(access="high", notes="<b>Dog</b>", filter_size="16 x 25 x 1")
    made = booked(units)
    response = office.get(f"/visits/{made.pk}/sheet")
    read = PdfReader(io.BytesIO(response.content))
    text = " ".join(page.extract_text() for page in read.pages)
    for wanted in (
        "Łucja Žižek née Ж", "4711#", "Room 1", "Room 8", "Clean the coil", "stepladder", "Power off and locked out",
        "<b>Dog</b>", "filter 16 x 25 x 1 for Room 1", f"page 1 of {len(read.pages)}",
    ):  # fmt: skip
        assert wanted in text
    assert response.content == office.get(f"/visits/{made.pk}/sheet").content


def test_a_visit_whose_record_came_from_a_file_is_not_planned_again(office, units):
    """The agreement sold two visits a year; one was made in January, written in a file and by no write-up."""
    stops.agreed(units[0].system.site)
    models.MaintenanceRecord.objects.create(unit=units[0], done_on=day("2026-01-20"), task="coil", technician="Ina")
    text = words(office.get(f"/sites/{units[0].system.site_id}/visits"))
    assert "2 visits sold, 1 made, 0 booked." in text
    models.MaintenanceRecord.objects.update(skipped=True, skip_reason="no access")
    text = words(office.get(f"/sites/{units[0].system.site_id}/visits"))
    assert "2 visits sold, 0 made, 0 booked." in text


def test_of_the_running_month_only_what_is_left_is_on_hand(units):
    """On March 18, 2026, ten of March's 22 working days are left: of 66 hours, 30."""
    models.MonthHours.objects.create(month=day("2026-03-01"), hours=66)
    models.MonthHours.objects.create(month=day("2026-04-01"), hours=66)
    with time_machine.travel(dt.datetime(2026, 3, 18, 16, tzinfo=dt.UTC), tick=False):
        office = company.as_role("office")
        march, april = office.get("/visits").context["lead"]["months"][:2]
        assert (march.on_hand, april.on_hand) == (30 * 60, 66 * 60)
        seen = words(office.post(f"/sites/{units[0].system.site_id}/visits", {"see": "yes", "day": "2026-03-19"}))
        assert "30 h on hand." in seen


@pytest.mark.parametrize(("last", "is_refused"), [("2199-12-31", False), ("2200-01-01", True), ("9999-12-31", True)])
def test_a_day_that_no_month_follows_is_refused_and_not_reckoned_with(office, units, last, is_refused):
    address, sent = f"/sites/{units[0].system.site_id}/visits", {"day": last, "tasks": [f"{units[0].pk}:coil"]}
    assert office.post(address, sent | {"see": "yes"}).status_code == 200
    answer = office.post(address, sent)
    assert ("Enter a day before 2200." in words(answer)) == is_refused
    assert answer.status_code == 422
