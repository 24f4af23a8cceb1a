"""The usual holidays of a country, on both sides of a span's edges and on weekends."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.company import COUNTRIES
from fleet.rules.dates import Span
from fleet.rules.usual_holidays import usual
from tests.caring import day

# The list of federal holidays of 2027 as the US Office of Personnel Management publishes it (from memory), those that fall on
# a weekend as they are kept, and the day on which New Year's Day of 2028 is kept.
FEDERAL = [
    "2027-01-01", "2027-01-18", "2027-02-15", "2027-05-31", "2027-06-18", "2027-07-05", "2027-09-06", "2027-10-11",
    "2027-11-11", "2027-11-25", "2027-12-24", "2027-12-31",
]  # fmt: skip


def of_2027(country="US"):
    return usual(country, Span(day("2027-01-01"), day("2027-12-31")))


def test_the_federal_holidays_of_a_year_are_all_there_on_the_days_they_are_kept():
    weekdays = {one.on.isoformat() for one in of_2027() if one.on.weekday() < 5}
    assert weekdays - set(FEDERAL) == {"2027-11-26"}  # no law names the day after Thanksgiving
    assert set(FEDERAL) <= weekdays


def test_those_that_most_companies_work_on_are_not_proposed():
    assert [one.name for one in of_2027() if not one.closes and one.on.weekday() < 5] == [
        "Martin Luther King Jr. Day",
        "Washington's Birthday",
        "Juneteenth National Independence Day (observed)",
        "Columbus Day",
        "Veterans Day",
    ]


@pytest.mark.parametrize(
    ("first", "last", "names"),
    [
        ("2026-12-24", "2026-12-25", ["Christmas Eve", "Christmas Day"]),
        ("2026-12-25", "2026-12-25", ["Christmas Day"]),
        ("2026-12-26", "2026-12-31", []),
        ("2026-12-26", "2027-01-01", ["New Year's Day"]),
        ("2026-11-26", "2026-11-27", ["Thanksgiving Day", "Day after Thanksgiving"]),
        ("2026-11-27", "2026-11-27", ["Day after Thanksgiving"]),
        ("2026-11-28", "2026-12-23", []),
    ],
)
def test_a_span_holds_its_first_and_last_day(first, last, names):
    assert [one.name for one in usual("US", Span(day(first), day(last)))] == names


def test_a_christmas_that_is_kept_on_its_eve_is_one_day():
    """Christmas of 2027 is a Saturday and is kept on Friday the 24th."""
    assert [one.name for one in of_2027() if one.on == day("2027-12-24")] == ["Christmas Day (observed)"]


def test_another_country_has_its_own():
    names = {one.name for one in of_2027("CA")}
    assert "Canada Day" in names
    assert "Day after Thanksgiving" not in names
    assert all(one.closes for one in of_2027("CA"))


@given(st.dates(dt.date(2000, 1, 1), dt.date(2098, 12, 31)), st.integers(0, 800), st.sampled_from(sorted(COUNTRIES)))
def test_days_are_in_order_once_each_and_within_the_span(first, length, country):
    span = Span(first, first + dt.timedelta(days=length))
    days = [one.on for one in usual(country, span)]
    assert days == sorted(set(days))
    assert all(one in span for one in days)
    parts = [*usual(country, Span(first, first)), *usual(country, Span(first + dt.timedelta(days=1), span.last))]
    assert [one.on for one in parts] == days
