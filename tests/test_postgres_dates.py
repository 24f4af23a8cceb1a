"""Do the rules' months end where PostgreSQL's do? The rows ANN- are those of tests/rules/test_dates.py (C: computed)."""

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from fleet.rules.dates import DAY, Length, add_months, last_day
from tests.facts import day

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def on_postgres(db):
    if connection.vendor != "postgresql":
        pytest.skip("asks PostgreSQL, and this run is on another database")


def ask(question: str, *values: Any) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {question}", values)
        return cursor.fetchone()[0]


def plus_months(start: dt.date, months: int) -> dt.date:
    return ask("(%s::date + make_interval(months => %s))::date", start, months)


@pytest.mark.parametrize(
    ("start", "months", "expected"),
    [
        ("2023-01-31", 1, "2023-02-28"),  # ANN-01
        ("2024-01-31", 1, "2024-02-29"),  # ANN-02
        ("2024-02-29", 12, "2025-02-28"),  # ANN-05
        ("2024-02-29", 48, "2028-02-29"),  # ANN-06
        ("2024-02-29", 120, "2034-02-28"),  # ANN-08
        ("2023-08-31", 6, "2024-02-29"),  # ANN-12
        ("2023-02-28", 12, "2024-02-28"),  # ANN-14
        ("2019-06-15", 120, "2029-06-15"),  # ANN-19
        ("2001-01-31", 2, "2001-03-31"),  # ANN-23
    ],
)
def test_months_added_to_a_day(start, months, expected):
    assert plus_months(day(start), months) == add_months(day(start), months) == day(expected)


@given(st.dates(dt.date(1900, 1, 1), dt.date(2200, 12, 31)), st.integers(0, 1200))
@example(dt.date(2096, 2, 29), 48)  # 2100 is no leap year
@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_months_added_to_any_day(start, months):
    assert plus_months(start, months) == add_months(start, months)


def test_the_distance_of_two_days_is_not_what_was_added():
    """ANN-25: February 29, 2024 and a year is February 28, 2025, yet that is less than a year away."""
    assert add_months(day("2024-02-29"), 12) == day("2025-02-28")
    assert ask("age('2025-02-28'::date, '2024-02-29'::date)::text") == "11 mons 28 days"


def test_a_range_that_holds_its_last_day_ends_before_the_next():
    """ANN-26: PostgreSQL writes [first, last] as [first, the day after)."""
    assert ask("daterange('2024-01-01', '2024-12-31', '[]')::text") == "[2024-01-01,2025-01-01)"


def test_a_range_up_to_the_same_numbered_day_is_a_day_short_after_a_leap_day():
    """END-03: clamped and then a day off, which is wrong where the first day counts (German Civil Code s. 188(3), R)."""
    through = ask("upper(daterange('2024-02-29', ('2024-02-29'::date + interval '10 years')::date)) - 1")
    assert through == day("2034-02-27")
    assert last_day(day("2024-02-29"), Length(months=120), counts_first_day=True) == through + DAY
