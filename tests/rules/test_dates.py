"""Days against what is published and against other people's date libraries.

The names CAL-, ANN-, LAW- and END- number the rows of the list of outside values that the project is held against; (R) was
read in the named text, (R2) only in a page that restates it, (C) was computed with several libraries, (M) is from memory.
"""

import calendar
import datetime as dt

import arrow
import pendulum
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fleet.rules.dates import DAY, LIFETIME, Length, Span, add_months, in_words, last_day, limit
from tests.facts import day

DAYS = st.dates(dt.date(1900, 1, 1), dt.date(2200, 12, 31))
MONTHS = st.integers(0, 1200)


def excluding(start: dt.date, length: Length) -> dt.date | None:
    return last_day(start, length, counts_first_day=False)


def including(start: dt.date, length: Length) -> dt.date | None:
    return last_day(start, length, counts_first_day=True)


# ------------------------------------------------------------------------------------------------ months added to a day

W3C = "W3C XML Schema Part 2, appendix E (R2, C)"
PLUS_MONTHS = "java.time.LocalDate.plusMonths, reference (R, C)"
PLUS_YEARS = "java.time.LocalDate.plusYears, reference (R, C)"
ENGINES = "computed in at least five of dateutil, pendulum, arrow, whenever, java.time, PostgreSQL (C)"

PUBLISHED = [
    ("CAL-02", "2000-01-01", -3, "1999-10-01", f"{W3C}: a month and no day; the first stands for it"),
    ("CAL-06", "2000-01-31", 1, "2000-02-29", f"{W3C}: the day is pinned to the month's last"),
    ("CAL-07", "2007-03-31", 1, "2007-04-30", PLUS_MONTHS),
    ("CAL-08", "2008-02-29", 12, "2009-02-28", PLUS_YEARS),
    ("CAL-09", "2018-08-31", 1, "2018-09-30", "a tutorial on plusMonths (R, C)"),
    ("CAL-10", "2016-02-29", 12, "2017-02-28", "a tutorial on plusYears (R, C)"),
    ("CAL-11 on", "2013-10-31", 4, "2014-02-28", "an answer on the rule of java.time (R, C)"),
    ("CAL-11 back", "2013-10-31", -4, "2013-06-30", "an answer on the rule of java.time (R, C)"),
    ("ANN-01", "2023-01-31", 1, "2023-02-28", ENGINES),
    ("ANN-02", "2024-01-31", 1, "2024-02-29", ENGINES),
    ("ANN-03", "2023-01-30", 1, "2023-02-28", ENGINES),
    ("ANN-04", "2024-01-30", 1, "2024-02-29", ENGINES),
    ("ANN-05", "2024-02-29", 12, "2025-02-28", ENGINES),
    ("ANN-06", "2024-02-29", 48, "2028-02-29", ENGINES),
    ("ANN-08", "2024-02-29", 120, "2034-02-28", ENGINES),
    ("ANN-09", "2024-02-29", 144, "2036-02-29", ENGINES),
    ("ANN-12", "2023-08-31", 6, "2024-02-29", ENGINES),
    ("ANN-13", "2022-08-31", 6, "2023-02-28", ENGINES),
    ("ANN-14", "2023-02-28", 12, "2024-02-28", f"{ENGINES}: the end of a month does not stick"),
    ("ANN-15", "2024-03-31", 1, "2024-04-30", ENGINES),
    ("ANN-19 five", "2019-06-15", 60, "2024-06-15", ENGINES),
    ("ANN-19 ten", "2019-06-15", 120, "2029-06-15", ENGINES),
    ("ANN-23", "2001-01-31", 2, "2001-03-31", ENGINES),
]


@pytest.mark.parametrize(
    ("start", "months", "expected", "source"), [pytest.param(*row[1:], id=row[0]) for row in PUBLISHED]
)
def test_months_added_as_published(start, months, expected, source):
    assert add_months(day(start), months) == day(expected), source


def test_a_day_and_a_month_added_in_either_order():
    """CAL-04 and CAL-05, W3C XML Schema Part 2, appendix E, on the order of adding (R2, C)."""
    assert add_months(day("2000-03-30") + DAY, 1) == day("2000-04-30")
    assert add_months(day("2000-03-30"), 1) + DAY == day("2000-05-01")


def test_the_date_parts_of_a_duration_with_days_and_hours():
    """CAL-01 and CAL-03, W3C XML Schema Part 2, appendix E (R2, C): months first, then days; 33 hours reach the next day."""
    assert add_months(day("2000-01-12"), 12 + 3) + 5 * DAY == day("2001-04-17")
    assert day("2000-01-12") + dt.timedelta(hours=33) == day("2000-01-13")


def test_a_year_and_a_day_added_in_either_order():
    """CAL-12, a published note on LocalDate (R)."""
    assert add_months(day("2004-02-29"), 12) + DAY == day("2005-03-01")
    assert add_months(day("2004-02-28") + DAY, 12) == day("2005-02-28")


def test_a_month_added_and_taken_off_again_is_not_the_same_day():
    """CAL-13, a published note on java.time (R, C)."""
    assert add_months(add_months(day("2020-01-31"), 1), -1) == day("2020-01-29")


def test_step_by_step_a_month_drifts_and_counting_from_the_start_does_not():
    """ANN-24 (C)."""
    start = day("2023-01-31")
    stepped = [start]
    for _ in range(3):
        stepped.append(add_months(stepped[-1], 1))
    assert stepped[1:] == [day("2023-02-28"), day("2023-03-28"), day("2023-04-28")]
    assert [add_months(start, step) for step in (1, 2, 3)] == [day("2023-02-28"), day("2023-03-31"), day("2023-04-30")]


@given(DAYS, MONTHS)
@example(dt.date(2024, 2, 29), 12)
@example(dt.date(1999, 12, 31), 2)
def test_months_added_as_pendulum_and_arrow_do(start, months):
    found = add_months(start, months)
    by_pendulum = pendulum.date(start.year, start.month, start.day).add(months=months)
    assert (found.year, found.month, found.day) == (by_pendulum.year, by_pendulum.month, by_pendulum.day)
    assert found == arrow.get(start).shift(months=months).date()


# --------------------------------------------------------------------------------------------------- last covered days

# Start, months, last day not counting the first, last day counting it; and the sources beside the rule in `last_day`.
NOT_COUNTED = "Reg. 1182/71 Art. 3 (R2), corresponding date rule (R), German Civil Code s. 188(2) first case (R)"
COUNTED = "German Civil Code ss. 187(2), 188(2)-(3) (R), Japanese Civil Code Art. 143(2) (R)"
LAST_DAYS = [
    ("END-01", "2024-02-29", 12, "2025-02-28", "2025-02-28"),
    ("END-03", "2024-02-29", 120, "2034-02-28", "2034-02-28"),
    ("END-04", "2024-02-29", 48, "2028-02-29", "2028-02-28"),
    ("END-06", "2023-01-31", 1, "2023-02-28", "2023-02-28"),
    ("END-07", "2024-01-31", 1, "2024-02-29", "2024-02-29"),
    ("END-08", "2023-01-30", 1, "2023-02-28", "2023-02-28"),
    ("END-10", "2023-01-28", 1, "2023-02-28", "2023-02-27"),
    ("END-11", "2023-08-31", 6, "2024-02-29", "2024-02-29"),
    ("END-17 five", "2019-06-15", 60, "2024-06-15", "2024-06-14"),
    ("END-17 ten", "2019-06-15", 120, "2029-06-15", "2029-06-14"),
    ("END-18", "2024-01-01", 12, "2025-01-01", "2024-12-31"),
    ("END-19", "2024-07-01", 12, "2025-07-01", "2025-06-30"),
    ("END-20", "2024-03-01", 12, "2025-03-01", "2025-02-28"),
    ("END-21", "2023-03-01", 12, "2024-03-01", "2024-02-29"),
    ("END-22", "2023-02-28", 12, "2024-02-28", "2024-02-27"),
    ("END-24", "2014-09-01", 24, "2016-09-01", "2016-08-31"),
]


@pytest.mark.parametrize(
    ("start", "months", "not_counted", "counted"), [pytest.param(*row[1:], id=row[0]) for row in LAST_DAYS]
)
def test_last_days_by_both_conventions(start, months, not_counted, counted):
    assert excluding(day(start), Length(months=months)) == day(not_counted), NOT_COUNTED
    assert including(day(start), Length(months=months)) == day(counted), COUNTED


CASES_AT_LAW = [
    ("LAW-C3", "1985-02-18", 3, "1985-05-18", "Misset v Council, case 152/85 (R)"),
    ("LAW-C4", "1978-09-30", 4, "1979-01-30", "Dodds v Walker [1981] 1 WLR 1027 (R)"),
    ("LAW-C5", "1983-03-23", 2, "1983-05-23", "E J Riley v Eurostile (R)"),
    (
        "LAW-C1, LAW-C7",
        "2023-12-31",
        2,
        "2024-02-29",
        "Reg. 1182/71 Art. 3(2)(c) (R2); N.Y. Gen. Constr. Law s. 30 (M)",
    ),
    ("LAW-C8 year", "2023-05-01", 12, "2024-05-01", "N.Y. Gen. Constr. Law s. 58: a year is twelve months (R)"),
    ("LAW-C8 half", "2023-05-01", 6, "2023-11-01", "N.Y. Gen. Constr. Law s. 58: half a year is six months (R)"),
    ("LAW-C8 quarter", "2023-05-01", 3, "2023-08-01", "N.Y. Gen. Constr. Law s. 58: a quarter is three months (R)"),
]


@pytest.mark.parametrize(
    ("start", "months", "expected", "source"), [pytest.param(*row[1:], id=row[0]) for row in CASES_AT_LAW]
)
def test_a_period_ends_on_the_same_numbered_day_as_courts_read_it(start, months, expected, source):
    assert excluding(day(start), Length(months=months)) == day(expected), source


def test_a_week_from_a_monday_ends_on_the_next_monday():
    """LAW-C2, CJEU C-171/03 Toeters, paras 33 and 36 (R); LAW-C6, Fed. R. Civ. P. 6(a)(1), counts days in the same way (R)."""
    monday = day("2004-11-08")
    assert limit(monday, 7) == excluding(monday, Length(days=7)) == day("2004-11-15")


STUDY = "worked examples to the Japanese Civil Code, Art. 143(2) (R)"
COUNTING_THE_FIRST = [
    ("from January 15", "2023-01-15", 1, "2023-02-14"),
    ("from January 31", "2023-01-31", 1, "2023-02-28"),
    ("from January 31, leap year", "2024-01-31", 1, "2024-02-29"),
    ("from January 30", "2023-01-30", 1, "2023-02-28"),
    ("from January 30, leap year", "2024-01-30", 1, "2024-02-29"),
    ("from April 1", "2023-04-01", 1, "2023-04-30"),
    ("from September 1", "2014-09-01", 24, "2016-08-31"),
    ("said on March 8, counted from the 9th", "2023-03-09", 3, "2023-06-08"),
    ("three months from April 1", "2023-04-01", 3, "2023-06-30"),
]


@pytest.mark.parametrize(
    ("start", "months", "expected"), [pytest.param(*row[1:], id=row[0]) for row in COUNTING_THE_FIRST]
)
def test_a_period_that_counts_its_first_day_as_published(start, months, expected):
    assert including(day(start), Length(months=months)) == day(expected), f"LAW-C10: {STUDY}"


def closed_form(start: dt.date, months: int) -> dt.date:
    """The last day counting the first, without adding months to a day: the second way to the same rule."""
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    month += 1
    if start.day == 1:
        return dt.date(year, month, 1) - DAY
    return dt.date(year, month, min(start.day - 1, calendar.monthrange(year, month)[1]))


@given(DAYS, st.integers(1, 1200))
@example(dt.date(2024, 2, 29), 12)
@example(dt.date(2024, 3, 1), 12)
@example(dt.date(2023, 1, 29), 1)
def test_counting_the_first_day_by_the_closed_form(start, months):
    assert including(start, Length(months=months)) == closed_form(start, months)


def test_clamping_first_and_then_taking_a_day_off_is_another_day():
    """The trap beside END-01: it goes wrong where the last month lacks the day's number, and only there."""
    wrong = right = 0
    for offset in range(366 * 4):
        start = day("2019-01-01") + offset * DAY
        for months in (1, 6, 12, 60, 120):
            end = add_months(start, months)
            clamped = end.day != start.day
            wrong += clamped
            right += not clamped
            assert (including(start, Length(months=months)) != end - DAY) == clamped
    assert wrong > 40
    assert right > 7000


@given(DAYS, st.integers(1, 1200))
def test_counting_the_first_day_never_ends_later_and_at_most_a_day_sooner(start, months):
    counted, not_counted = including(start, Length(months=months)), excluding(start, Length(months=months))
    assert counted is not None
    assert not_counted is not None
    assert counted in (not_counted, not_counted - DAY)


@given(DAYS, st.integers(1, 1199), st.booleans())
def test_a_longer_length_never_ends_sooner(start, months, counts_first_day):
    shorter = last_day(start, Length(months=months), counts_first_day=counts_first_day)
    longer = last_day(start, Length(months=months + 1), counts_first_day=counts_first_day)
    assert shorter is not None
    assert longer is not None
    assert shorter < longer


@given(DAYS, MONTHS, st.booleans())
def test_a_later_start_never_ends_sooner(start, months, counts_first_day):
    length = Length(months=months + 1)
    one = last_day(start, length, counts_first_day=counts_first_day)
    other = last_day(start + DAY, length, counts_first_day=counts_first_day)
    assert one is not None
    assert other is not None
    assert one <= other


# ---------------------------------------------------------------------------------------- days, limits, spans, words


@pytest.mark.parametrize(
    ("days", "not_counted", "counted"),
    [(1, "2024-02-29", "2024-02-28"), (2, "2024-03-01", "2024-02-29"), (366, "2025-02-28", "2025-02-27")],
)
def test_a_length_in_days(days, not_counted, counted):
    assert excluding(day("2024-02-28"), Length(days=days)) == day(not_counted)
    assert including(day("2024-02-28"), Length(days=days)) == day(counted)


def test_a_lifetime_has_no_last_day():
    assert LIFETIME.lifetime
    assert not Length(months=1).lifetime
    assert not Length(days=1).lifetime
    assert excluding(day("2024-02-29"), LIFETIME) is including(day("2024-02-29"), LIFETIME) is None


@pytest.mark.parametrize(
    ("anchor", "days", "expected"),
    [("2015-04-14", 60, "2015-06-13"), ("2024-02-28", 1, "2024-02-29"), ("2023-12-31", 0, "2023-12-31")],
)
def test_a_limit_holds_on_its_last_day(anchor, days, expected):
    assert limit(day(anchor), days) == day(expected)


@pytest.mark.parametrize(
    ("asked", "inside"), [("2019-12-31", False), ("2020-01-01", True), ("2020-01-03", True), ("2020-01-04", False)]
)
def test_both_ends_of_a_span_are_inside(asked, inside):
    assert (day(asked) in Span(day("2020-01-01"), day("2020-01-03"))) is inside


def test_a_span_without_a_last_day_never_ends():
    assert dt.date.max in Span(day("2020-01-01"), None)
    assert day("2019-12-31") not in Span(day("2020-01-01"), None)


def test_a_day_in_words():
    assert in_words(day("2024-03-08")) == "March 8, 2024"
    assert in_words(day("2015-12-31")) == "December 31, 2015"


def test_a_length_as_it_stands_in_a_reason():
    assert [str(Length(months=60)), str(Length(days=90)), str(LIFETIME)] == ["60 months", "90 days", "lifetime"]
