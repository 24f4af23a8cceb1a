"""The year ahead through everybody's doors: agreements come by load_agreements, and the command is asked. Worked by hand.

Two wall heads and an outdoor unit at one site; a first head costs 120 a visit and a further one 80: a year of one visit is
200. The care sheet has one yearly task, which asks 50 a head and is due on June 1 each year.
"""

import datetime as dt
import json
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from fleet import clock, models
from fleet.care.actions import care_sheets
from fleet.loading import agreements, history
from tests import rows
from tests.caring import entry

TODAY = dt.date(2026, 11, 24)
SHEET = {
    "code": "house",
    "setup_minutes": 30,
    "style_factor": {"cassette": "1.5"},
    "task": [
        entry("clean", every_months=12, early_days=30, late_days=30, minutes=45, price="50.00", counts_from="due day")
    ],
}
AGREED = {
    "customer": "Ada Quill",
    "site": "Home",
    "reference": "A-1",
    "start_on": "2026-03-01",
    "months": "12",
    "visits_per_year": "1",
    "first_head": "120.00",
    "further_head": "80.00",
}


@pytest.fixture
def home(db, monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    care_sheets.load_table(SHEET, by=None, on=TODAY)
    common = {"installed_on": "2020-06-01", "style": "wall"}
    rows.installed(
        {"serial": "OUT1", "role": "outdoor", "room": "", "installed_on": "2020-06-01"},
        {"serial": "H1", "room": "Den", **common},
        {"serial": "H2", "room": "Loft", **common},
    )
    done = [
        {"serial": serial, "day": "2026-06-01", "kind": "maintenance", "task": "clean", "technician": "Jules"}
        for serial in ("H1", "H2")
    ]
    history.load_rows(done, on=TODAY)
    return models.Site.objects.get()


def agree(*told):
    agreements.load_rows([AGREED | row for row in told], on=TODAY)


def ahead(first=TODAY, months=14):
    out = StringIO()
    call_command("year_ahead", first=first, months=months, json=True, stdout=out)
    return json.loads(out.getvalue())


def band(name, **asked):
    """The months in which a band has money."""
    return {month["month"]: month[name] for month in ahead(**asked)["months"] if month[name] != "0.00"}


def test_the_shape_is_as_promised(home):
    found = ahead()
    assert list(found) == ["months", "ending", "claims", "registration"]
    assert [month["month"] for month in found["months"]] == [
        "2026-11", "2026-12", *(f"2027-{month:02}" for month in range(1, 13)),
    ]  # fmt: skip
    assert list(found["months"][0]) == [
        "month", "contracted", "renewals", "on_offer", "hours_due", "hours_on_hand",
    ]  # fmt: skip
    assert isinstance(found["ending"], list)


def test_without_an_agreement_the_technicians_dues_are_on_offer_at_list_price(home):
    """Two heads at 50 each on the day they are due; a visit is 30 minutes and 45 a head."""
    found = ahead()["months"]
    assert {month["month"]: month["on_offer"] for month in found if month["on_offer"] != "0.00"} == {
        "2027-06": "100.00"
    }
    assert {month["month"]: month["hours_due"] for month in found if month["hours_due"]} == {"2027-06": 2.0}
    assert band("contracted") == band("renewals") == {}


def test_an_agreement_takes_the_site_off_the_offer_and_renews_with_rise_and_rate(home):
    """Paid at the start of each year: 200 for the first; the next is 200 + 5%, times the owner's 80%."""
    agree({"rise_percent": "5"})
    assert band("contracted") == {}
    assert band("renewals") == {"2027-03": "168.00"}
    assert band("on_offer") == {}
    models.House.objects.create(pk=1, renewal_percent=Decimal(50))
    assert band("renewals") == {"2027-03": "105.00"}


def test_two_renewals_count_with_the_rate_twice(home):
    """Terms of a year: 210 × 0.8 in 2027, 220.50 × 0.64 in 2028."""
    agree({"rise_percent": "5"})
    assert band("renewals", months=26) == {"2027-03": "168.00", "2028-03": "141.12"}


def test_what_was_renewed_is_contracted(home):
    agree({"renews": "by asking"})
    row = models.Agreement.objects.get()
    row.terms_agreed = 2
    row.save()
    assert band("contracted") == {"2027-03": "200.00"}
    assert band("renewals") == {}


def test_a_start_on_the_31st_is_billed_monthly_with_the_odd_cents_at_the_years_end(home):
    """200 a year: 16.66 a month and 16.74 on the last, February 28, 2027; then renewed, times 0.8."""
    agree({"start_on": "2026-03-31", "billing": "monthly"})
    assert band("contracted") == {
        "2026-11": "16.66", "2026-12": "16.66", "2027-01": "16.66", "2027-02": "16.74",
    }  # fmt: skip
    renewals = band("renewals")
    assert renewals["2027-03"] == "13.33"  # 16.66 × 0.8 = 13.328
    assert len(renewals) == 10


def test_a_leap_day_is_billed_on_the_28th_and_comes_back(home):
    agree({"start_on": "2024-02-29", "months": "48"})
    assert band("contracted", months=28) == {"2027-02": "200.00"}
    assert band("renewals", months=28) == {"2028-02": "160.00", "2029-02": "160.00"}  # on the 29th, and the 28th again


def test_per_visit_is_billed_as_visits_are_planned_and_no_more_than_were_sold(home):
    """One visit a year was sold and made on June 1, 2026: the next falls into the next agreement year, which is renewed."""
    agree({"billing": "per visit"})
    assert band("contracted") == {}
    assert band("renewals") == {"2027-06": "160.00"}


def test_odd_cents_of_visits_are_on_the_years_last(home):
    """Three visits at 33.37 are 100.11, less a hundredth of a percent 100.10: 33.36 each, and 33.38 for the last."""
    agree(
        {
            "billing": "per visit",
            "visits_per_year": "3",
            "first_head": "33.35",
            "further_head": "0.02",
            "discount_percent": "0.01",
        }
    )
    # One visit was made in June, so that of the middle of November to February is the year's second.
    assert band("contracted") == {"2026-12": "33.36"}
    assert list(band("renewals", months=16).values()) == ["26.69", "26.69", "26.70"]  # the next year's three × 0.8


def test_one_that_does_not_renew_leaves_its_site_on_offer_afterwards(home):
    agree({"renews": "no"})
    assert band("renewals") == {}
    assert band("on_offer") == {"2027-06": "100.00"}


def test_one_that_ended_bills_nothing_from_that_day(home):
    agree({"billing": "monthly"})
    models.Agreement.objects.update(ended_on=dt.date(2027, 1, 1), ended_why="Sold the house")
    # 200 ÷ 12 is 16.66; the bill of January 1 is asked on the day it ends, so it is not asked.
    assert band("contracted") == {"2026-12": "16.66"}
    assert band("renewals") == {}
    assert band("on_offer") == {"2027-06": "100.00"}


def test_heads_taken_out_are_not_billed(home):
    agree({})
    history.load_rows([{"serial": "H2", "day": "2026-11-01", "kind": "removed"}], on=TODAY)
    assert band("renewals") == {"2027-03": "96.00"}  # 120 × 0.8


def test_the_highest_style_factor_is_the_first_head(home):
    models.Unit.objects.filter(serial="H2").update(style="cassette")
    agree({})
    assert band("renewals") == {"2027-03": "208.00"}  # (120 × 1.5 + 80) × 0.8


def test_the_rate_is_measured_once_twenty_came_up(home):
    """Twenty agreements of other sites came up once, and fifteen went on: 0.75."""
    agree({})
    for number in range(20):
        lapsed = number < 5
        models.Agreement.objects.create(
            site=rows.site(),
            start_on=dt.date(2025, 6, 1),
            months=12,
            visits_per_year=1,
            first_head=Decimal(0),
            further_head=Decimal(0),
            renews="by asking" if lapsed else "by itself",
        )
    assert band("renewals") == {"2027-03": "150.00"}
    models.Agreement.objects.exclude(site=home).first().delete()
    assert band("renewals") == {"2027-03": "160.00"}


@pytest.mark.parametrize("measured", [True, False])
def test_a_rate_of_nothing_leaves_what_is_agreed(home, measured):
    """None of twenty renewed, or the owner expects none: the term that is agreed bills on, and renewals bring nothing."""
    agree({"billing": "monthly"})
    if measured:
        for _ in range(20):
            models.Agreement.objects.create(
                site=rows.site(),
                start_on=dt.date(2025, 6, 1),
                months=12,
                visits_per_year=1,
                first_head=Decimal(0),
                further_head=Decimal(0),
                renews="by asking",
            )
    else:
        models.House.objects.create(pk=1, renewal_percent=Decimal(0))
    assert band("contracted") == {"2026-12": "16.66", "2027-01": "16.66", "2027-02": "16.74"}
    assert band("renewals") == {}


def test_a_booked_visit_is_planned_no_second_time_and_its_hours_count(home):
    row = models.Booking.objects.create(site=home, on=dt.date(2027, 5, 12), minutes=100, price=Decimal("90.00"))
    for serial in ("H1", "H2"):
        row.tasks.create(unit=models.Unit.objects.get(serial=serial), task="clean")
    found = ahead()["months"]
    assert {month["month"]: month["hours_due"] for month in found if month["hours_due"]} == {"2027-05": 1.67}
    assert band("on_offer") == {}  # what is booked is sold


def test_hours_on_hand_are_told_where_they_were_entered(home):
    models.MonthHours.objects.create(month=dt.date(2027, 6, 1), hours=Decimal("310.50"))
    found = {month["month"]: month["hours_on_hand"] for month in ahead()["months"]}
    assert found["2027-06"] == 310.5
    assert found["2027-05"] is None


def test_a_month_begun_carries_what_is_left_of_it(home):
    """A bill of the 1st of this month is not ahead any more; one of the 24th, today, is."""
    agree({"start_on": "2025-11-24", "reference": "A", "billing": "monthly"})
    assert band("contracted", months=1) == {"2026-11": "16.66"}
    models.Agreement.objects.update(start_on=dt.date(2025, 11, 23))
    assert band("contracted", months=1) == {}


def test_months_out_of_bounds_are_refused(home):
    for months in (0, 121):
        with pytest.raises(CommandError) as refused:
            ahead(months=months)
        assert refused.value.returncode == 2


def test_for_people_it_is_a_table(home):
    out = StringIO()
    call_command("year_ahead", first=TODAY, months=12, stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[0].split() == ["month", "contracted", "renewals", "work", "to", "sell", "hours", "due", "on", "hand"]
    assert lines[8].split() == ["2027-06", "0.00", "0.00", "100.00", "2.00", "not", "entered"]
