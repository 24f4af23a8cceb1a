"""Deadlines of every kind in one list: on its page, on our desk, on the unit and the site, with the same number of queries."""

import csv
import io
from typing import Any

import pytest
import time_machine

from fleet import models
from fleet.business.actions import agreements
from fleet.derived import recheck, refresh
from tests import claimed, company
from tests.business.web.test_bills import HOW
from tests.front.web.test_deadlines_of_ours import AGREED, promised
from tests.pages import words
from tests.rows import asked

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
# Registered, five more years; told of a sale within 90 days; approval before a compressor, the form before any part.
PAPER: dict[str, Any] = claimed.STRICT | {
    "coverage": [
        {
            "pays_for": ["parts", "labor"],
            "components": ["*"],
            "tiers": [{"months": 60}, {"months": 120, "when": ["registered", "first owner"]}],
        }
    ],
    "transfer": {"rule": "notice", "within_days": 90},
}


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        company.on_file(PAPER)
        yield
        assert [str(one) for one in recheck.differences(on=TODAY)] == []


@pytest.fixture
def office():
    return company.as_role("office")


def put_in(serial: str, installed_on: str = "2026-01-15", customer: str = "Odile Marsh", **named) -> models.Unit:
    return company.unit(serial, started_on=installed_on, installed_on=installed_on, customer=customer, **named)


def rows(client, asked: str = "") -> list[tuple]:
    found = client.get(f"/deadlines{asked}").context["listing"].rows
    return [(row.cells[0].value, str(row.cells[2].value or ""), row.cells[3].said, row.cells[4].value) for row in found]


def test_every_kind_stands_in_one_list_by_days_left(office):
    """Worked by hand: 72.00 + 4.5 x 88.00 - 35.00 = 433.00 for a compressor whose part is not on file yet; 60 days from January 15 end on March 16; 90 days from February 1 on May 2; 45 from February 10 on March 27."""
    put_in("SB-1")
    put_in("SB-2")
    sold = put_in("SB-3", "2022-01-15", "Cato Wren", registered_on="2022-02-01")
    models.Sale.objects.create(site=sold.system.site, sold_on=company.day("2026-02-01"))
    failed = put_in("SB-4", "2022-01-15", "Ivo Lund", registered_on="2022-02-01")
    company.worked_out()
    claimed.failure(failed, "2026-02-08", repaired_on="2026-02-10", part_taken_on="2026-02-10")
    claimed.failure(failed, "2026-02-28", component="compressor", parts_cost=None, labor_minutes=None)
    assert rows(office) == [
        ("Fill out the claim form for Northrill before picking up the new part", "", "before anyone goes out", "up to $433.00"),
        ("Get prior approval from Northrill before replacing the compressor", "", "before anyone goes out", "up to $433.00"),
        ("Fill out the claim form for Northrill before picking up the new part", "2026-02-10", "20 days overdue", "up to $377.00"),
        ("Return the old part to Northrill: sensor", "2026-03-03", "1 day left", "up to $377.00"),
        ("Register with Northrill", "2026-03-16", "14 days left", "5 more years of parts and labor on 2 units"),
        ("File the claim with Northrill for the sensor", "2026-03-27", "25 days left", "up to $377.00"),
        ("Tell Northrill of the sale on February 1, 2026", "2026-05-02", "61 days left", "5 more years of parts and labor"),
        ("File the claim with Northrill for the compressor", "", "no day yet", "up to $433.00"),
        ("Return the old part to Northrill: compressor", "", "no day yet", "up to $433.00"),
    ]  # fmt: skip
    desk = words(office.get("/on-our-desk"))
    assert "2 steps come before anyone goes out." in desk
    assert "1 deadline was missed and is still open." in desk
    assert "1 deadline comes up within a week, on Tuesday, March 3, 2026." in desk
    told = b"".join(office.get("/deadlines?as=csv").streaming_content).decode("utf-8-sig")
    assert [row["kind"] for row in csv.DictReader(io.StringIO(told))][4] == "register"
    assert len(rows(office, "?kind=register")) == 1
    assert len(rows(office, "?which=overdue")) == 1
    assert len(rows(office, "?text=ivo")) == 7
    assert len(rows(office, "?payer=labor+plan")) == 0


@pytest.mark.parametrize(
    ("booked_on", "state", "day", "left"),
    [
        pytest.param(None, "booked", "", "before anyone goes out", id="nothing is booked"),
        pytest.param("2026-03-01", "booked", "", "before anyone goes out", id="a visit of yesterday"),
        pytest.param("2026-03-02", "booked", "2026-03-02", "today", id="a visit today"),
        pytest.param("2026-03-09", "booked", "2026-03-09", "7 days left", id="a visit next week"),
        pytest.param("2026-03-09", "called off", "", "before anyone goes out", id="a visit that was cancelled"),
    ],
)
def test_a_step_before_the_work_has_the_day_of_the_booked_visit(booked_on, state, day, left, office):
    unit = put_in("SB-1", "2022-01-15", registered_on="2022-02-01")
    company.worked_out()
    claimed.failure(unit, "2026-02-28", component="compressor")
    if booked_on:
        site = unit.system.site
        models.Booking.objects.create(site=site, on=company.day(booked_on), state=state, minutes=60, price=0)
    (row,) = [row for row in rows(office) if row[0].startswith("Get prior approval")]
    assert row[1:3] == (day, left)


@pytest.mark.parametrize(
    ("today", "there"),
    [("2026-03-15", True), ("2026-03-16", True), ("2026-03-17", False)],
)
def test_what_can_no_longer_be_registered_leaves_the_list(today, there):
    put_in("SB-1")
    company.worked_out()
    with company.on_day(today):
        assert bool(rows(company.as_role("office"))) is there
    company.worked_out()


def test_a_payer_that_was_told_of_the_sale_is_done_with(office):
    unit = put_in("SB-1", "2022-01-15", registered_on="2022-02-01")
    models.Sale.objects.create(site=unit.system.site, sold_on=company.day("2026-02-01"))
    company.worked_out()
    assert len(rows(office)) == 1
    models.Notice.objects.create(unit=unit, terms=models.Terms.objects.get(), notified_on=company.day("2026-02-20"))
    refresh.refresh([unit.pk], on=TODAY)
    assert rows(office) == []


def test_the_unit_and_the_site_say_their_own(office):
    unit = put_in("SB-1")
    other = put_in("SB-2", "2022-01-15", "Cato Wren", registered_on="2022-02-01")
    company.worked_out()
    claimed.failure(other, "2026-02-28", component="compressor")
    said = 'Register with Northrill</a>{} by <time datetime="2026-03-16">March 16, 2026</time>: <strong>14 days left</strong>'
    for address, whose in ((f"/units/{unit.pk}", ""), (f"/sites/{unit.system.site_id}", ", SB-1,")):
        page = words(office.get(address))
        assert said.format(whose) in page
        assert "prior approval" not in page
    page = words(company.as_role("technician").get(f"/units/{other.pk}"))
    assert (
        "Get prior approval from Northrill before replacing the compressor: <strong>before anyone goes out</strong>"
        in page
    )


def test_the_answer_says_what_comes_before_anyone_goes_out(office):
    unit = put_in("SB-1", "2022-01-15", registered_on="2022-02-01", role="outdoor", style="")
    company.worked_out()
    page = words(office.get(f"/units/{unit.pk}/answer?component=compressor&on=2026-03-02"))
    assert "Before anyone goes out: get prior approval from Northrill before replacing the compressor." in page
    page = words(office.get(f"/units/{unit.pk}/answer?component=sensor&on=2026-03-02"))
    assert "get prior approval" not in page
    assert "Before anyone goes out: fill out the claim form for Northrill before picking up the new part." in page


@pytest.mark.parametrize("address", ["/deadlines", "/on-our-desk"])
def test_one_row_and_five_of_every_kind_take_the_same_queries(address, office):
    counts = []
    for number in range(5):
        name = f"Customer {number}"
        put_in(f"N-{number}", customer=f"New {number}")
        sold = put_in(f"S-{number}", "2022-01-15", f"Sold {number}", registered_on="2022-02-01")
        models.Sale.objects.create(site=sold.system.site, sold_on=company.day("2026-02-01"))
        failed = put_in(f"F-{number}", "2022-01-15", name, registered_on="2022-02-01")
        company.unit(f"W-{number}", customer=f"Waiting {number}")
        company.worked_out()
        claimed.failure(failed, "2026-02-08", repaired_on="2026-02-10", part_taken_on="2026-02-10")
        claimed.claim(claimed.failure(failed, "2026-02-28", component="compressor"))
        agreements.make(sold.system.site_id, facts=AGREED | {"start_on": company.day("2025-04-01")}, **HOW)
        ended = agreements.make(failed.system.site_id, facts=AGREED | {"reference": f"E-{number}"}, **HOW)
        agreements.end(ended.pk, day=TODAY, why="Moved away", **HOW)
        promised(failed.system.site, until="2026-03-20")
        office.get(address)
        with asked() as queries:
            assert office.get(address).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[-1] <= 30, counts
