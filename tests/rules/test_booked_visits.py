"""What is booked or was made: it takes hours, it meets what an agreement sold, and its windows say what a day breaks."""

from dataclasses import replace

import pytest

from fleet.rules import planner
from fleet.rules.dates import Span
from fleet.rules.hours import House
from tests.caring import day, entry, sheet
from tests.rules.test_visits import MONDAY, agreement, days, plan, site, window

WEEKDAYS = House(minutes_a_day=60)


def test_hours_that_are_booked_are_not_planned_again():
    work = site(window("2027-03-01", "2027-03-05", "2027-03-02", minutes=40))
    free = list(planner.planned([work], sheet(), WEEKDAYS, first=MONDAY, until=day("2027-03-31")))
    taken = {day("2027-03-02"): 21, day("2027-03-06"): 400, day("2027-02-26"): 400}
    full = list(planner.planned([work], sheet(), WEEKDAYS, first=MONDAY, until=day("2027-03-31"), booked=taken))
    assert (days(free), days(full)) == (["2027-03-02"], ["2027-03-01"])


@pytest.mark.parametrize(
    ("visited", "planned"),
    [
        pytest.param((), ["2027-04-01", "2027-09-30"], id="not visited"),
        pytest.param(("2026-12-31",), ["2027-04-01", "2027-09-30"], id="the day before the first window"),
        pytest.param(("2027-01-01",), ["2027-09-30"], id="the window's first day"),
        pytest.param(("2027-06-30",), ["2027-09-30"], id="the window's last day"),
        pytest.param(("2027-07-01",), ["2027-04-01"], id="the day after: the next window's"),
        pytest.param(("2027-02-01", "2027-03-01"), ["2027-09-30"], id="twice in one window"),
        pytest.param(("2027-02-01", "2027-08-01"), [], id="both"),
    ],
)
def test_a_visit_sold_is_met_by_any_visit_on_its_days(visited, planned):
    work = site(agreements=(agreement("2027-01-01", 2, renews="no"),))
    work = replace(work, visited=tuple(map(day, visited)))
    assert days(plan(work, first="2027-01-01")) == planned


@pytest.mark.parametrize(
    ("first", "last", "span"),
    [
        pytest.param("2027-02-01", "2027-03-31", ("2027-03-01", "2027-03-31"), id="open"),
        pytest.param("2027-04-01", "2027-04-30", ("2027-04-01", "2027-04-30"), id="ahead"),
        pytest.param("2027-02-01", "2027-03-01", ("2027-03-01", "2027-03-01"), id="its last day"),
        pytest.param("2027-02-01", "2027-02-28", ("2027-03-01", None), id="late already: no day breaks it more"),
    ],
)
def test_a_due_says_between_which_days_it_can_be_met(first, last, span):
    (met,) = planner.windows([window(first, last)], sheet(), WEEKDAYS, first=MONDAY)
    assert met.span == Span(day(span[0]), span[1] and day(span[1]))


def test_what_is_put_off_ends_no_earlier_than_that_and_its_late_days():
    due = replace(window("2027-02-01", "2027-03-10", late_days=10), not_before=day("2027-03-08"))
    (met,) = planner.windows([due], sheet(entry(late_days=10)), WEEKDAYS, first=MONDAY)
    assert met.span == Span(day("2027-03-08"), day("2027-03-18"))
