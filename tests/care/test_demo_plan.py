"""Ten years of the demo company planned: what somebody who runs a service company would find sensible."""

import datetime as dt
import statistics
from collections import Counter

import pytest

from fleet import clock
from fleet.care.facts import visits
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules import planner

pytestmark = pytest.mark.django_db

TODAY = dt.date(2026, 11, 24)
YEARS = 10
UNTIL = dt.date(2036, 11, 24)


def test_ten_years_of_visits_are_sensible(monkeypatch, demo_company):
    """In one test, since the company takes a while to load."""
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    demo_company.load()
    sheet = care_sheet()
    works = list(visits.works(sheet, on=TODAY, today=TODAY))
    settled = house.working()
    plan = planner.plan(works, sheet, settled, first=TODAY, until=UNTIL)

    # A site is seen once or twice a year; grease, dust and agreements of four visits bring a few there more often.
    each = Counter((visit.customer, visit.site) for visit in plan)
    a_year = sorted(count / YEARS for count in each.values())
    assert len(each) == len(works)
    assert min(a_year) >= 1
    assert 1.2 <= statistics.median(a_year) <= 2.2
    assert statistics.mean(a_year) <= 3
    assert max(a_year) <= 8

    # What is yearly happens ten times in ten years, once more or less where the first was late or early; where nothing
    # shortens it. That is what a plain recurrence from the day done would lose.
    yearly = {
        (due.unit, due.task.code)
        for work in works
        for due in work.dues
        if due.task.every_months == 12 and due.times is None
    }
    times = Counter((due.unit, due.task.code) for visit in plan for due in visit.dues)
    found = [times[key] for key in yearly]
    assert {9, 10, 11} >= set(found)
    assert 9.9 <= statistics.mean(found) <= 10.2

    # Most of what prefers a month is done in one: the rest is late on the first day, or due every few months.
    preferred = [visit.on.month in due.task.months for visit in plan for due in visit.dues if due.task.months]
    assert sum(preferred) / len(preferred) >= 0.6

    # Nothing is planned in the months that its task leaves out: no coil is rinsed outdoors in a winter of Maine.
    left_out = [
        (visit.on, due.task.code) for visit in plan for due in visit.dues if visit.on.month in due.task.not_months
    ]
    assert left_out == []
    assert any(due.task.not_months for visit in plan for due in visit.dues)

    # Work is on working days, and a day holds more than the hours on hand only where one visit does.
    minutes: Counter[dt.date] = Counter()
    for visit in plan:
        minutes[visit.on] += visit.minutes
    assert all(day.weekday() < 5 for day in minutes)
    longest = max(visit.minutes for visit in plan)
    assert max(minutes.values()) <= longest + settled.minutes_a_day
    together = Counter(visit.on for visit in plan)
    over = [day for day, taken in minutes.items() if taken > settled.minutes_a_day and together[day] > 1]
    assert len(over) / len(minutes) <= 0.05

    # Once the company has caught up, no window is met after its end but where hours on hand were too few.
    caught_up = TODAY + dt.timedelta(days=60)
    late = [visit for visit in plan for met in visit.met if visit.on > caught_up and met.span.last < visit.on]
    assert late == []
