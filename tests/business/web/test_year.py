"""The year ahead by hand. Asked on March 2, 2026, a Monday: the whole months run from April 2026 through March 2027.

A visit sets up for 15 minutes; the service of an outdoor unit takes 45 and costs 735, on the very day it falls due.
"""

import datetime as dt
from decimal import Decimal

import pytest

from fleet import clock, models
from fleet.business.actions import agreements, house, outlook
from fleet.care.actions import care_sheets
from fleet.rules.dates import in_words
from tests import company
from tests.caring import entry
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = company.TODAY
SERVICE = entry(
    "service",
    per="outdoor",
    every_months=6,
    early_days=0,
    late_days=0,
    minutes=45,
    price="735.00",
    counts_from="due day",
    checked_on=dt.date(2026, 1, 1),
)
SOLD = {
    "reference": "A-1",
    "start_on": dt.date(2025, 5, 31),
    "months": 12,
    "visits_per_year": 2,
    "first_head": Decimal(120),
    "further_head": Decimal(80),
    "discount_percent": Decimal(10),
    "billing": "monthly",
    "renews": "by asking",
    "rise_percent": Decimal(0),
    "notes": "",
}


@pytest.fixture
def owner():
    return company.as_role("owner")


@pytest.fixture(autouse=True)
def _sheet(db):
    care_sheets.load_table({"code": "ours", "setup_minutes": 15, "task": [SERVICE]}, on=TODAY)


def outdoor(serial="O-1", customer="Odile Marsh", **named):
    made = company.unit(serial, customer=customer, role="outdoor", style="", room="", **named)
    company.worked_out()
    return made


def page(owner, ahead=12):
    return owner.get(f"/the-year-ahead?ahead={ahead}").context["page"]


def text(owner, ahead=12):
    return words(owner.get(f"/the-year-ahead?ahead={ahead}"))


def strip(shown, name):
    return next(one.total for one in shown.drawing.strips if one.name == name)


def offers(owner):
    listed = owner.get("/the-year-ahead/on-offer").context["listing"]
    return [
        {column.name: cell.value for column, cell in zip(listed.columns, row.cells, strict=True)} for row in listed.rows
    ]


@pytest.mark.parametrize(
    ("installed_on", "visits", "price"),
    [
        pytest.param(
            "2026-03-01", 2, "1470.00", id="on September 1 and on March 1, 2027, the last day of a year from today"
        ),
        pytest.param("2026-03-02", 1, "735.00", id="on September 2 and on March 2, 2027, the day after it"),
    ],
)
def test_a_year_of_work_to_sell_is_quoted_from_today_to_the_day_before_it_comes_again(
    owner, installed_on, visits, price
):
    outdoor(installed_on=installed_on, started_on=installed_on)
    (offered,) = offers(owner)
    assert (offered["visits"], offered["price"]) == (visits, Decimal(price))
    shown = page(owner)
    assert f"At list price the year is ${Decimal(price):,}." in shown.offers.rows[0].cells[9].value
    assert f"${Decimal(price):,}" in shown.sentences[2]
    # The months are whole ones: both lie in the twelve after March 2026.
    assert strip(shown, "on offer") == "$1,470.00"


def test_a_site_whose_work_falls_on_the_last_day_is_to_be_called(owner):
    outdoor(installed_on="2025-09-01", started_on="2025-09-01")  # March 1 was a Sunday, so it is late; done since
    outdoor("O-2", "Tess Quill", installed_on="2026-03-01", started_on="2026-03-01")
    models.MaintenanceRecord.objects.create(
        unit=models.Unit.objects.get(serial="O-2"), done_on=TODAY, task="service", technician="Jules"
    )
    company.worked_out()
    assert {one["customer"] for one in offers(owner)} == {"Odile Marsh", "Tess Quill"}


def test_the_running_month_stands_beside_the_twelve_whole_ones(owner):
    """360 a year (two visits of 120 + 80, less 10%), 30 a month: March 31 is beside, April 30 is agreed, then it renews."""
    unit = company.unit("H-1", room="Den", installed_on="2024-05-01")
    company.unit("H-2", room="Loft", installed_on="2024-05-01")
    company.worked_out()
    agreements.make(unit.system.site_id, facts=SOLD, by=None, on=TODAY)
    shown = page(owner)
    assert strip(shown, "contracted") == "$30.00"
    assert strip(shown, "renewals") == "$264.00"  # eleven months of 30, at the owner's 80%
    first = shown.sentences[0]
    assert "$30.00" in first
    assert in_words(dt.date(2027, 3, 31)) in first
    assert "March 2026" in shown.running
    assert "$30.00" in shown.running
    assert [row.cells[0].value for row in shown.by_month.rows][::11] == [dt.date(2026, 4, 1), dt.date(2027, 3, 1)]
    assert in_words(dt.date(2028, 3, 31)) in page(owner, 24).sentences[0]


@pytest.mark.parametrize(
    ("today", "left"),
    [
        pytest.param("2026-03-02", "100", id="22 of 22 working days are left: March 1 is a Sunday"),
        pytest.param("2026-03-24", "27.3", id="6 of 22, that day included: 27.27"),
        pytest.param("2026-03-31", "4.5", id="the last day: 1 of 22"),
    ],
)
def test_of_the_running_month_only_the_hours_still_on_hand_count(owner, monkeypatch, today, left):
    models.MonthHours.objects.create(month=dt.date(2026, 3, 1), hours=100)
    outdoor(installed_on="2026-03-01", started_on="2026-03-01")
    monkeypatch.setattr(clock, "today", lambda: dt.date.fromisoformat(today))
    assert f"{left} h still on hand" in page(owner).running


def test_what_is_overdue_is_said_apart(owner):
    """Late since March 1, 2025: 45 minutes of work, visited today. The next rounds are on September 1 and March 1, 2027."""
    outdoor(installed_on="2024-09-01", started_on="2024-09-01")
    shown = page(owner)
    assert "0.8 h of it overdue" in shown.running
    assert not any("overdue" in one for one in shown.sentences)
    # With no hours in March it falls into April, one of the whole months.
    march = dt.date(2026, 3, 1)
    house.month_hours(was={march: None}, facts={march: Decimal(0)}, by=None, on=TODAY)
    shown = page(owner)
    assert any("0.8 h of it overdue" in one for one in shown.sentences)
    assert "overdue" not in shown.running


def test_booked_work_is_no_work_to_sell(owner):
    """Of two visits within the year the first is booked: the other is quoted, and what is booked is said apart."""
    unit = outdoor(installed_on="2026-03-01", started_on="2026-03-01")
    booking = models.Booking.objects.create(
        site=unit.system.site, on=dt.date(2026, 9, 1), minutes=60, price=Decimal("735.00")
    )
    booking.tasks.create(unit=unit, task="service")
    (offered,) = offers(owner)
    assert (offered["visits"], offered["price"], offered["first_on"]) == (1, Decimal("735.00"), dt.date(2027, 3, 1))
    shown = page(owner)
    assert strip(shown, "on offer") == "$735.00"
    assert any("1 visit is booked where no agreement pays for it, $735.00" in one for one in shown.sentences)
    # Its hours are asked for all the same: two visits of an hour.
    assert strip(shown, "hours") == "2"


def test_a_customer_whose_only_work_is_booked_is_not_to_be_called(owner):
    unit = outdoor(installed_on="2026-03-02", started_on="2026-03-02")
    booking = models.Booking.objects.create(
        site=unit.system.site, on=dt.date(2026, 9, 2), minutes=60, price=Decimal("735.00")
    )
    booking.tasks.create(unit=unit, task="service")
    assert offers(owner) == []


def test_hours_that_nobody_sold_are_not_contracted(owner):
    """One visit a year is sold from June 1, 2025 on, and two fall due in each: half of the hours go beyond it."""
    unit = outdoor(installed_on="2026-03-01", started_on="2026-03-01")
    company.unit("H-1", room="Den", installed_on="2024-05-01")
    company.worked_out()
    told = SOLD | {"start_on": dt.date(2025, 6, 1), "visits_per_year": 1, "renews": "by itself", "months": 24}
    agreements.make(unit.system.site_id, facts=told, by=None, on=TODAY)
    shown = page(owner)
    hours = {row.cells[0].value: row.cells[4].value for row in shown.each.rows}
    # From June 2026: September 1 is the visit sold, March 1, 2027 goes beyond it.
    assert (hours["Contracted"], hours["Renewals"], hours["Work to sell"]) == (Decimal(1), 0, 0)
    assert strip(shown, "hours") == "2"
    assert any("1 planned visit goes beyond what agreements include, $735.00" in one for one in shown.sentences)


@pytest.mark.parametrize(
    ("started_on", "ends"),
    [
        pytest.param("2025-03-01", 1, id="24 months to March 1, 2027: the last day of a year from today"),
        pytest.param("2025-03-02", 0, id="to March 2, 2027"),
    ],
)
def test_coverage_that_ends_within_a_year_is_counted_as_its_list_does(owner, started_on, ends):
    company.on_file(company.OURS)
    company.unit("H-1", room="Den", started_on=started_on)
    company.worked_out()
    assert (f"{ends} coverage ends" in page(owner).others[0]) is bool(ends)
    assert owner.get("/coverage-ending?days=365").context["listing"].count == ends
    assert "/coverage-ending?days=365" in text(owner)


def test_an_outlook_of_an_older_shape_is_worked_out_again(owner):
    outlook.freshen(on=TODAY, at=clock.now())
    row = models.Outlook.objects.get()
    assert not outlook.is_stale(on=TODAY)
    row.mark = row.mark.removeprefix(row.mark.split(":")[0] + ":")
    row.save()
    assert outlook.is_stale(on=TODAY)
