"""Hours on hand by month: what a month has entered holds its visits, and what is left of the running one. Worked by hand.

March 1, 2027 is a Monday, and so is November 30, 2026.
"""

import datetime as dt
from decimal import Decimal

import pytest

from fleet.rules import hours, planner
from fleet.rules.dates import WorkingDays
from fleet.rules.hours import House
from tests.caring import day, sheet
from tests.rules.test_visits import site, window

EVERY_DAY = frozenset(range(7))


def house(minutes_a_day: int = 0, **months: int) -> House:
    """Every day is worked; `mar=60` are the minutes that March 2027 has entered."""
    numbers = {"jan": 1, "feb": 2, "mar": 3, "apr": 4, "may": 5, "jun": 6}
    entered = tuple((dt.date(2027, numbers[name], 1), minutes) for name, minutes in months.items())
    return House(EVERY_DAY, frozenset(), minutes_a_day, entered)


def planned(*sites, of: House, first: str = "2027-03-01", until: str = "2027-12-31", booked=None):
    found = planner.planned(sites, sheet(), of, first=day(first), until=day(until), booked=booked)
    return sorted((visit.site, visit.on.isoformat()) for visit in found)


def open_site(name: str, first: str = "2027-03-01", last: str = "2027-04-10", due_on: str = "2027-03-10", **named):
    return site(window(first, last, due_on, minutes=named.pop("minutes", 40), **named), name=name)


def late_site(name: str, since: str, minutes: int = 40):
    return site(window("2026-09-01", since, "2026-09-01", minutes=minutes), name=name)


@pytest.mark.parametrize(
    ("mar", "expected"),
    [
        pytest.param(39, "2027-04-01", id="a minute short: the nearest day of a month that nobody entered"),
        pytest.param(40, "2027-03-10", id="just enough"),
        pytest.param(0, "2027-04-01", id="none"),
    ],
)
def test_a_day_has_room_only_if_its_month_has(mar, expected):
    assert planned(open_site("A"), of=house(mar=mar)) == [("A", expected)]


def test_what_is_planned_in_a_month_leaves_less_of_it():
    """Sixty minutes in March: the first of two takes forty, and the other waits until April."""
    assert planned(open_site("A"), open_site("B"), of=house(mar=60)) == [("A", "2027-03-10"), ("B", "2027-04-01")]
    assert planned(open_site("A"), open_site("B"), of=house(mar=80)) == [("A", "2027-03-10"), ("B", "2027-03-10")]


def test_the_day_has_to_have_room_as_well():
    assert planned(open_site("A"), open_site("B"), of=house(40, mar=80)) == [("A", "2027-03-10"), ("B", "2027-03-09")]


@pytest.mark.parametrize(
    ("booked", "expected"),
    [
        pytest.param({"2027-03-20": 20}, "2027-03-10", id="sixty less twenty: just enough"),
        pytest.param({"2027-03-20": 21}, "2027-04-01", id="a minute short"),
        pytest.param({"2027-03-20": 11, "2027-03-22": 10}, "2027-04-01", id="of two days"),
        pytest.param({"2027-04-20": 60, "2027-02-20": 60}, "2027-03-10", id="of other months"),
    ],
)
def test_what_is_booked_in_a_month_leaves_less_of_it(booked, expected):
    told = {day(on): minutes for on, minutes in booked.items()}
    assert planned(open_site("A"), of=house(mar=60), booked=told) == [("A", expected)]


def test_what_is_booked_on_a_day_off_takes_the_months_hours_too():
    weekdays = House(minutes_a_day=0, minutes_by_month=((day("2027-03-01"), 60),))
    saturday = {day("2027-03-20"): 21}
    assert planned(open_site("A"), of=weekdays, booked=saturday) == [("A", "2027-04-01")]


def test_where_no_shared_day_has_room_it_is_the_day_with_the_fewest_hours_booked():
    booked = {day("2027-03-01"): 10}
    crowded = house(mar=0, apr=0)
    assert planned(open_site("A"), of=crowded, booked=booked) == [("A", "2027-03-02")]


def test_late_sites_take_the_first_day_whose_month_has_room_longest_lateness_first():
    found = planned(late_site("A", "2027-01-20"), late_site("B", "2027-01-10"), of=house(mar=60))
    assert found == [("A", "2027-04-01"), ("B", "2027-03-01")]


def test_a_late_visit_larger_than_every_month_entered_takes_the_first_month_without():
    assert planned(late_site("A", "2027-01-20"), of=house(mar=39, apr=30)) == [("A", "2027-05-01")]
    assert planned(late_site("A", "2027-01-20"), of=house(mar=39, apr=40)) == [("A", "2027-04-01")]


def test_a_late_visit_larger_than_a_day_takes_an_empty_day_of_a_month_with_room():
    assert planned(late_site("A", "2027-01-20"), of=house(30, mar=39), booked={day("2027-04-01"): 1}) == [
        ("A", "2027-04-02")
    ]


def test_visits_past_the_last_day_use_a_months_hours_that_others_might_have_had():
    """A's only days are in April, which has hours for one; B could wait until then, and March has none."""
    only_april = open_site("A", "2027-04-01", "2027-04-05", "2027-04-01")
    later = open_site("B", "2027-03-20", "2027-04-30", "2027-04-30")
    assert planned(only_april, later, of=house(mar=0, apr=40), until="2027-03-31") == [("B", "2027-03-20")]


# --------------------------------------------------------------------------------------------- of the running month


@pytest.mark.parametrize(
    ("today", "entered", "left"),
    [
        pytest.param("2026-11-01", "100", "100.0", id="a Sunday, the first: all 21 working days are left"),
        pytest.param("2026-11-02", "100", "100.0", id="today counts"),
        pytest.param("2026-11-03", "100", "95.2", id="20 of 21: 95.238"),
        pytest.param("2026-11-24", "100", "23.8", id="5 of 21: 23.809"),
        pytest.param("2026-11-28", "100", "4.8", id="a Saturday: the 30th alone, 4.761"),
        pytest.param("2026-11-30", "100", "4.8", id="the last working day"),
        pytest.param("2026-11-24", "0", "0.0", id="no hours"),
        pytest.param("2026-10-31", "100", "0.0", id="no working day is left"),
        pytest.param("2026-11-24", "0.21", "0.1", id="5 of 21 of it are 0.05: halves are rounded up"),
    ],
)
def test_hours_still_on_hand_in_the_running_month(today, entered, left):
    assert hours.still_on_hand(Decimal(entered), WorkingDays(), today=day(today)) == Decimal(left)


def test_a_closed_day_is_no_working_day():
    """November 26 and 27 closed: 19 working days, 3 of them left on the 24th: 15.789."""
    closed = WorkingDays(closed=frozenset({day("2026-11-26"), day("2026-11-27")}))
    assert hours.still_on_hand(Decimal(100), closed, today=day("2026-11-24")) == Decimal("15.8")


def test_a_month_without_a_working_day_has_none_on_hand():
    whole = frozenset(day("2026-11-01") + dt.timedelta(days=number) for number in range(30))
    assert hours.still_on_hand(Decimal(100), WorkingDays(closed=whole), today=day("2026-11-24")) == 0
