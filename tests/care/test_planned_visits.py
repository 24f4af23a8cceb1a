"""The visits command through everybody's doors, on the worked fleet: what it lists, in which order, and how it is narrowed."""

import datetime as dt
import json
from collections import Counter
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from fleet import clock, models
from fleet.care.actions import care_sheets
from fleet.care.facts import visits
from fleet.care.queries import visit_plan
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.loading import history, installs
from fleet.rules.planner import planned
from tests import rows
from tests.caring import entry
from tests.paths import WORKED

FLEET = WORKED / "dues"
TODAY = dt.date(2026, 11, 24)
UNTIL = dt.date(2027, 11, 23)


@pytest.fixture
def fleet(db, monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    care_sheets.load_file(FLEET / "care.toml", by=None, on=TODAY)
    installs.load(FLEET / "installs.csv", by=None, on=TODAY)
    history.load(FLEET / "history.csv", by=None, on=TODAY)


def plan(first=TODAY, until=UNTIL, **named):
    out = StringIO()
    call_command("visits", first=first, until=until, json=True, stdout=out, **named)
    return json.loads(out.getvalue())


def test_customers_and_sites_of_one_name_each_have_their_own_visits(fleet):
    """Their days are the same as under names of their own, since nothing limits the hours here."""

    def listed() -> set[tuple[int, dt.date]]:
        visit_plan._plan.cache_clear()  # nothing was written that moves its mark
        found = visit_plan.plan(care_sheet(), on=TODAY, until=UNTIL, house=house.working())
        return {(one.site, one.visit.on) for one in found}

    before = listed()
    assert len({pk for pk, _ in before}) > 1
    for site in models.Site.objects.all():
        models.Site.objects.filter(pk=site.pk).update(
            name="Home", customer=models.Customer.objects.create(name="Ada Quill")
        )
    assert listed() == before


def test_each_visit_has_the_promised_shape_and_order(fleet):
    found = plan()
    assert found
    for visit in found:
        assert list(visit) == ["customer", "site", "on", "minutes", "tasks", "price", "agreement"]
        assert visit["agreement"] is False
        assert Decimal(visit["price"]).as_tuple().exponent == -2
        assert visit["tasks"] == sorted(visit["tasks"], key=lambda one: (one["serial"], one["task"]))
        assert all(list(one) == ["serial", "task"] for one in visit["tasks"])
    order = [(visit["on"], visit["customer"], visit["site"]) for visit in found]
    assert order == sorted(order)
    assert all(TODAY.isoformat() <= visit["on"] <= UNTIL.isoformat() for visit in found)
    assert all(dt.date.fromisoformat(visit["on"]).weekday() < 5 for visit in found)


def test_every_due_of_a_technician_that_closes_by_then_is_planned(fleet):
    out = StringIO()
    call_command("due", json=True, stdout=out)
    dues = json.loads(out.getvalue())
    served = {(visit["customer"], visit["site"], *one.values()) for visit in plan() for one in visit["tasks"]}
    wanted = {
        (due["customer"], due["site"], due["serial"], due["task"])
        for due in dues
        if due["by"] == "technician" and due["late_after"] <= UNTIL.isoformat()
    }
    assert wanted
    assert wanted <= served


def test_a_customer_and_a_site_only_narrow_what_is_told(fleet):
    everything = plan()
    first = everything[0]
    mine = plan(customer=first["customer"], site=first["site"])
    assert mine == [one for one in everything if (one["customer"], one["site"]) == (first["customer"], first["site"])]
    assert plan(customer=first["customer"]) == [one for one in everything if one["customer"] == first["customer"]]


def test_hours_a_day_are_the_houses_unless_given(fleet):
    def most(found):
        by_day = Counter()
        for visit in found:
            by_day[visit["on"]] += visit["minutes"]
        alone = {visit["on"] for visit in found if visit["minutes"] == by_day[visit["on"]]}
        return max(minutes for day, minutes in by_day.items() if day not in alone)

    assert most(plan()) <= 360
    assert most(plan(hours_per_day=Decimal(10))) > 360
    settled = models.House.objects.create(pk=1, hours_a_day=Decimal(5))
    assert 240 < most(plan()) <= 300
    settled.weekdays = "1"
    settled.save()
    assert {dt.date.fromisoformat(visit["on"]).weekday() for visit in plan()} == {1}


def test_a_closed_day_is_not_worked(fleet):
    first = plan()[0]["on"]
    models.ClosedDay.objects.create(on=first, why="Stocktaking")
    assert plan()[0]["on"] > first


def test_a_day_gone_by_is_planned_from_the_records_of_that_time(fleet, monkeypatch):
    then = plan()
    monkeypatch.setattr(clock, "today", lambda: dt.date(2026, 12, 30))
    assert plan() == then


def test_an_agreement_adds_its_visits_and_is_told(fleet):
    site = models.Site.objects.order_by("pk").first()
    models.Agreement.objects.create(
        site=site, start_on=TODAY, months=12, visits_per_year=4, first_head=Decimal(90), further_head=Decimal(60)
    )
    mine = plan(customer=site.customer.name, site=site.name)
    assert all(visit["agreement"] for visit in mine)
    quarters = [
        (TODAY, "2027-02-23"),
        ("2027-02-24", "2027-05-23"),
        ("2027-05-24", "2027-08-23"),
        ("2027-08-24", UNTIL),
    ]
    for first, last in quarters:
        assert any(str(first) <= visit["on"] <= str(last) for visit in mine)


def test_what_is_booked_counts_as_done_on_its_day(fleet):
    """The page of visits to book plans what nobody booked."""
    sheet = care_sheet()
    due = next(due for work in visits.works(sheet, on=TODAY, today=TODAY) for due in work.dues)
    site = models.Unit.objects.get(pk=due.unit).system.site_id
    day = dt.date(2026, 12, 1)
    booking = models.Booking.objects.create(site_id=site, on=day, minutes=60, price=Decimal(100))
    booking.tasks.create(unit_id=due.unit, task=due.task.code)

    def mine(*, booked):
        (work,) = visits.works(sheet, on=TODAY, today=TODAY, only=[site], booked=booked)
        return next(one for one in work.dues if (one.unit, one.task.code) == (due.unit, due.task.code))

    assert mine(booked=False) == due
    assert mine(booked=True) == due.after(day)
    booking.state = "called off"
    booking.save()
    assert mine(booked=True) == due


def test_the_order_in_which_sites_are_gathered_does_not_matter(fleet):
    sheet = care_sheet()
    works = list(visits.works(sheet, on=TODAY, today=TODAY))

    def told(some):
        return sorted(
            (visit.on, visit.customer, visit.site, visit.minutes)
            for visit in planned(some, sheet, house.working(), first=TODAY, until=UNTIL)
        )

    assert told(works) == told(reversed(works))


def test_it_asks_no_more_of_the_database_for_more_sites(fleet):
    sheet = care_sheet()
    some = list(models.Site.objects.values_list("pk", flat=True)[:5])
    with rows.asked() as one:
        list(visits.works(sheet, on=TODAY, today=TODAY, only=some[:1]))
    with rows.asked() as five:
        list(visits.works(sheet, on=TODAY, today=TODAY, only=some))
    assert len(one) == len(five) == 3


def test_without_a_care_sheet_nothing_is_planned_and_it_says_so(db):
    err = StringIO()
    out = StringIO()
    call_command("visits", first=TODAY, until=UNTIL, json=True, stdout=out, stderr=err)
    assert json.loads(out.getvalue()) == []
    assert "No care sheet is in force" in err.getvalue()


def test_days_the_wrong_way_round_and_a_name_nobody_has(fleet):
    with pytest.raises(CommandError) as refused:
        plan(first=UNTIL, until=TODAY)
    assert refused.value.returncode == 2
    with pytest.raises(SystemExit) as ended:
        plan(customer="Nobody at all")
    assert ended.value.code == 1


def test_for_people_it_is_said_in_lines(fleet):
    out = StringIO()
    call_command("visits", first=TODAY, until=UNTIL, stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[-1] == f"{len(plan())} visits."
    assert "minutes" in lines[0]


def test_a_season_and_a_style_reach_the_list_the_plan_and_the_comparison(db, monkeypatch, tmp_path):
    """A cassette put in on November 20, 2025, serviced each year, never from December to February; 20 + 40 minutes, 30 to set up.

    Due on November 20, 2026, it is visited on the first day asked for, November 24, and then a year later.
    """
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    seasonal = entry("service", not_months=[12, 1, 2], style_minutes={"cassette": 40}, early_days=30, late_days=30)
    care_sheets.load_table({"code": "house", "setup_minutes": 30, "task": [seasonal]}, on=TODAY)
    rows.installed({"serial": "C1", "style": "cassette", "installed_on": "2025-11-20"})
    out = StringIO()
    call_command("due", json=True, stdout=out)
    (due,) = json.loads(out.getvalue())
    assert (due["due_on"], due["late_after"], due["minutes"]) == ("2026-11-20", "2027-03-01", 60)
    visits_ = plan(until=dt.date(2027, 12, 31))
    assert [(one["on"], one["minutes"]) for one in visits_] == [("2026-11-24", 90), ("2027-11-24", 90)]
    # Asked in winter it waits until March; nothing is late meanwhile, and nothing is planned before.
    assert [one["on"] for one in plan(first=dt.date(2026, 12, 7), until=dt.date(2027, 3, 31))] == ["2027-03-01"]
    wanted = tmp_path / "layouts.toml"
    wanted.write_text(
        'years = 1\n[[layout]]\nname = "One"\ninstall_price = "0.00"\nheads = [{ style = "cassette", count = 1 }]\n'
    )
    out = StringIO()
    call_command("layouts", wanted, json=True, stdout=out)
    assert json.loads(out.getvalue())["layouts"][0]["technician_minutes"] == 90


def test_a_months_hours_hold_its_visits(db, monkeypatch):
    """Two sites due on June 1, 2027, from May 2 on, 60 minutes a visit.

    With an hour in June, the first by name has it, and the other the nearest day in May; with half an hour in May as well no
    shared day has room: the first of those with the fewest hours booked.
    """
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    service = entry("service", early_days=30, late_days=20, minutes=40)
    care_sheets.load_table({"code": "house", "setup_minutes": 20, "task": [service]}, on=TODAY)
    for name in ("Ash", "Birch"):
        rows.installed({"serial": name, "customer": name, "style": "wall", "installed_on": "2026-06-01"})
    asked = {"first": dt.date(2027, 4, 1), "until": dt.date(2027, 12, 31)}
    assert [(one["customer"], one["on"]) for one in plan(**asked)] == [("Ash", "2027-06-01"), ("Birch", "2027-06-01")]
    models.MonthHours.objects.create(month=dt.date(2027, 6, 1), hours=1)
    assert [(one["customer"], one["on"]) for one in plan(**asked)] == [("Birch", "2027-05-31"), ("Ash", "2027-06-01")]
    # Without a limit a day the months' hours still count.
    assert [one["on"] for one in plan(**asked, hours_per_day=Decimal(0))] == ["2027-05-31", "2027-06-01"]
    models.MonthHours.objects.create(month=dt.date(2027, 5, 1), hours="0.5")
    assert [(one["customer"], one["on"]) for one in plan(**asked)] == [("Birch", "2027-05-03"), ("Ash", "2027-06-01")]
