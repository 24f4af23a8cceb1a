"""Days in a spreadsheet: each style, both sides of what is one day, and no day ever guessed."""

import datetime as dt

import pytest
from dateutil import parser
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.spreadsheets import days
from fleet.rules.spreadsheets.days import Order

MARCH_8, AUGUST_3 = dt.date(2024, 3, 8), dt.date(2024, 8, 3)


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("3/19/24", "2024-03-19"),
        ("3/19/2024", "2024-03-19"),
        ("19/3/2024", "2024-03-19"),
        ("19.3.24", "2024-03-19"),
        ("03-19-2024", "2024-03-19"),
        ("3 / 19 / 24", "2024-03-19"),
        ("3/19/'24", "2024-03-19"),
        ("12/12/2024", "2024-12-12"),
        ("3-Mar-19", "2019-03-03"),
        ("03-MAR-2019", "2019-03-03"),
        ("3 March 2019", "2019-03-03"),
        ("3rd of March 2019", "2019-03-03"),
        ("March 3, 2019", "2019-03-03"),
        ("Mar. 3rd, '19", "2019-03-03"),
        ("Sept 3 2019", "2019-09-03"),
        ("2019 March 3", "2019-03-03"),
        ("2019-03-08", "2019-03-08"),
        ("2019/3/8", "2019-03-08"),
        ("2019.03.08", "2019-03-08"),
        ("Fri, Mar 8, 2019", "2019-03-08"),
        ("Friday 3/8/2019", "2019-03-08"),
        ("2019-03-08 00:00:00", "2019-03-08"),
        ("2019-03-08T00:00:00Z", "2019-03-08"),
        ("2019-03-08T14:30:00", "2019-03-08"),
        ("3/19/2019 2:30 PM", "2019-03-19"),
        ("2/29/2024", "2024-02-29"),
        ("30.4.2024", "2024-04-30"),
        ("1/13/50", "1950-01-13"),
        ("1/13/49", "2049-01-13"),
        ("1/13/00", "2000-01-13"),
        ("99-03-08", "1999-03-08"),
        ("  3-Mar-19 ", "2019-03-03"),
    ],
)
def test_what_can_be_only_one_day_is_read_whatever_its_style(cell, day):
    assert days.one_day(cell) == dt.date.fromisoformat(day)
    assert {days.in_order(cell, order) for order in (None, *Order)} == {dt.date.fromisoformat(day)}
    assert not days.is_ambiguous(cell)


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("3/8/2024", {Order.MONTH_FIRST: MARCH_8, Order.DAY_FIRST: AUGUST_3}),
        ("3/8/24", {Order.MONTH_FIRST: MARCH_8, Order.DAY_FIRST: AUGUST_3}),
        ("8.3.2024", {Order.MONTH_FIRST: AUGUST_3, Order.DAY_FIRST: MARCH_8}),
        ("19-03-08", {Order.DAY_FIRST: dt.date(2008, 3, 19), Order.YEAR_FIRST: dt.date(2019, 3, 8)}),
        (
            "03-08-24",
            {Order.MONTH_FIRST: MARCH_8, Order.DAY_FIRST: AUGUST_3, Order.YEAR_FIRST: dt.date(2003, 8, 24)},
        ),
    ],
)
def test_what_could_be_several_days_is_each_by_its_order_and_none_without_one(cell, expected):
    assert days.readings(cell) == expected
    assert days.one_day(cell) is None
    assert days.is_ambiguous(cell)
    assert {order: days.in_order(cell, order) for order in expected} == expected


@pytest.mark.parametrize(
    "cell",
    [
        "", "n/a", "?", "yes - see file", "March 2019", "Mar-19", "3/2019", "2019-03", "2019", "spring 2019", "about 3/19/24",
        "3/19/24?", "45359", "13/13/2024", "2/29/2023", "31.4.2024", "0/8/2024", "00/00/0000", "3/19-2024", "3/19/024",
        "3 Smarch 2019", "31 April 2024", "Thu, Mar 8, 2019", "2019-03-08T02:00:00Z", "3/19/2024 25:00", "1-2-3-4",
        "٣/١٩/٢٠٢٤", "3/19/24 and 4/2/24", "#N/A",
        "12/31/1899", "1899-12-31",
    ],
)  # fmt: skip
def test_what_is_no_day_of_the_calendar_is_none(cell):
    assert days.readings(cell) == {}


@pytest.mark.parametrize(
    ("cell", "month"),
    [("March 2019", True), ("Mar-19", True), ("3/2019", True), ("2019-03", True), ("2019", True), ("13/2019", False),
     ("Smarch 2019", False), ("3/19/2019", False), ("20195", False), ("", False)],
)  # fmt: skip
def test_a_month_or_a_year_is_known_for_what_it_is(cell, month):
    assert days.is_month(cell) is month


@pytest.mark.parametrize(
    ("cell", "order"),
    [("3/19/2024", Order.MONTH_FIRST), ("19/3/2024", Order.DAY_FIRST), ("3/8/2024", None), ("2019-03-08", None),
     ("3-Mar-19", None), ("12/12/2024", None), ("n/a", None)],
)  # fmt: skip
def test_a_cell_in_numbers_may_tell_the_order_of_its_column(cell, order):
    assert days.tells_order(cell) == order


any_day = st.dates(dt.date(1950, 1, 1), dt.date(2049, 12, 31))
WRITTEN = {
    Order.MONTH_FIRST: ["{m}/{d}/{y}", "{m:02}-{d:02}-{y}", "{m}.{d}.{y}", "{m}/{d}/{s}", "{name} {d}, {y}", "{name:.3} {d} {s}"],
    Order.DAY_FIRST: ["{d}/{m}/{y}", "{d:02}-{m:02}-{y}", "{d}.{m}.{s}", "{d}-{name:.3}-{s}", "{d} {name} {y}"],
    Order.YEAR_FIRST: ["{y}-{m:02}-{d:02}", "{y}/{m}/{d}", "{y} {name} {d}"],
}  # fmt: skip


@given(any_day, st.sampled_from([(order, style) for order, styles in WRITTEN.items() for style in styles]))
def test_a_day_written_in_any_style_is_that_day_by_its_order_and_never_silently_another(day, written):
    order, style = written
    cell = style.format(d=day.day, m=day.month, y=day.year, s=f"{day.year % 100:02}", name=days.MONTHS[day.month - 1])
    assert days.in_order(cell, order) == day
    assert days.one_day(cell) in (day, None)


@given(st.text(alphabet="0123456789/-. :,'abmrnTZ", max_size=24))
def test_any_text_is_a_day_by_each_order_at_most_once_and_reading_it_never_fails(cell):
    found = days.readings(cell)
    assert all(day.year >= 1900 for day in found.values())
    assert days.is_ambiguous(cell) == (len(set(found.values())) > 1)


@given(
    any_day,
    st.sampled_from([(order, style) for order, styles in WRITTEN.items() for style in styles if "{s}" not in style]),
)
def test_a_date_library_by_other_hands_reads_the_same_day(day, written):
    order, style = written
    cell = style.format(d=day.day, m=day.month, y=day.year, name=days.MONTHS[day.month - 1])
    other = parser.parse(cell, dayfirst=order is Order.DAY_FIRST, yearfirst=order is Order.YEAR_FIRST).date()
    assert days.in_order(cell, order) == other
