"""Promises of our own: where each stands by the day, and what the standing ones could cost by month. Worked by hand."""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.own_promises import STANDING, STATES, Exposure, OwnPromise, exposure
from tests.facts import day


def promise(until="2028-05-01", cost="900.00", called_on=None, released_on=None):
    return OwnPromise(
        day(until), cost and Decimal(cost), called_on and day(called_on), released_on and day(released_on)
    )


@pytest.mark.parametrize(
    ("named", "on", "state"),
    [
        pytest.param({}, "2028-04-30", "standing", id="the day before its last"),
        pytest.param({}, "2028-05-01", "standing", id="its last day"),
        pytest.param({}, "2028-05-02", "lapsed", id="the day after"),
        pytest.param({"called_on": "2027-01-02"}, "2027-01-01", "standing", id="the day before it was called on"),
        pytest.param({"called_on": "2027-01-02"}, "2027-01-02", "called on", id="that day"),
        pytest.param({"called_on": "2027-01-02"}, "2029-01-01", "called on", id="called on does not lapse"),
        pytest.param({"released_on": "2027-01-02"}, "2027-01-01", "standing", id="the day before it was released"),
        pytest.param({"released_on": "2027-01-02"}, "2027-01-02", "released", id="that day, too"),
        pytest.param({"released_on": "2027-01-02"}, "2029-01-01", "released", id="nor does released"),
    ],
)
def test_where_a_promise_stands(named, on, state):
    assert promise(**named).state(day(on)) == state


def test_what_the_standing_ones_could_cost_by_month():
    """In May 2028 one of 900 and one without an amount lapse, in June 2028 one of 4,200.50; the others stand no more."""
    told = [
        promise("2028-06-30", "4200.50"),
        promise("2028-05-01"),
        promise("2028-05-31", None),
        promise("2026-11-23"),
        promise(called_on="2026-11-24"),
        promise(released_on="2026-11-24"),
    ]
    assert exposure(told, on=day("2026-11-24")) == (
        Exposure(dt.date(2028, 5, 1), 2, Decimal("900.00"), 1),
        Exposure(dt.date(2028, 6, 1), 1, Decimal("4200.50"), 0),
    )
    assert exposure([], on=day("2026-11-24")) == ()


@pytest.mark.parametrize(("on", "count"), [("2028-05-01", 1), ("2028-05-02", 0)])
def test_it_counts_through_its_last_day(on, count):
    assert len(exposure([promise()], on=day(on))) == count


DAYS = st.dates(dt.date(2026, 1, 1), dt.date(2028, 12, 31))
PROMISES = st.builds(OwnPromise, DAYS, st.none() | st.decimals(0, 9_999, places=2), st.none() | DAYS, st.none() | DAYS)


@given(st.lists(PROMISES, max_size=12), DAYS)
def test_every_standing_promise_is_counted_once(told, on):
    standing = [one for one in told if one.state(on) == STANDING]
    found = exposure(told, on=on)
    assert sum(one.promises for one in found) == len(standing)
    assert sum((one.cost for one in found), Decimal(0)) == sum(one.cost_at_most or 0 for one in standing)
    assert sum(one.without_cost for one in found) == sum(one.cost_at_most is None for one in standing)
    assert [one.month for one in found] == sorted({one.until.replace(day=1) for one in standing})


@given(PROMISES, DAYS, DAYS)
def test_what_stood_no_more_never_stands_again(told, one, other):
    first, second = sorted((one, other))
    assert told.state(first) in STATES
    assert told.state(second) != STANDING or told.state(first) == STANDING
