"""Which way of writing days fits a column: each style, both sides of what is one, and no day ever guessed."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import datestyles
from fleet.rules.datestyles import Style

MARCH, AUGUST = dt.date(2024, 3, 8), dt.date(2024, 8, 3)


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("2024-03-08", {Style.ISO: MARCH}),
        ("2024-3-8", {Style.ISO: MARCH}),
        ("2024/03/08", {Style.YEAR_SLASH: MARCH}),
        ("3/8/2024", {Style.MONTH_SLASH: MARCH, Style.DAY_SLASH: AUGUST}),
        ("03-08-2024", {Style.MONTH_DASH: MARCH, Style.DAY_DASH: AUGUST}),
        ("8.3.2024", {Style.MONTH_DOT: AUGUST, Style.DAY_DOT: MARCH}),
        ("12/12/2024", {Style.MONTH_SLASH: dt.date(2024, 12, 12), Style.DAY_SLASH: dt.date(2024, 12, 12)}),
        ("12/13/2024", {Style.MONTH_SLASH: dt.date(2024, 12, 13)}),
        ("13/12/2024", {Style.DAY_SLASH: dt.date(2024, 12, 13)}),
        ("13/13/2024", {}),
        ("2/29/2024", {Style.MONTH_SLASH: dt.date(2024, 2, 29)}),
        ("2/29/2023", {}),
        ("31.4.2024", {}),
        ("30.4.2024", {Style.DAY_DOT: dt.date(2024, 4, 30)}),
        ("0/8/2024", {}),
        ("8 March 2024", {Style.NAMED: MARCH}),
        ("8-Mar-2024", {Style.NAMED: MARCH}),
        ("8. mar. 2024", {Style.NAMED: MARCH}),
        ("March 8, 2024", {Style.NAMED: MARCH}),
        ("Mar. 8th, 2024", {Style.NAMED: MARCH}),
        ("Sept 8 2024", {Style.NAMED: dt.date(2024, 9, 8)}),
        ("8 Smarch 2024", {}),
        ("31 April 2024", {}),
        ("2024-03-08 00:00:00", {Style.ISO: MARCH}),
        ("2024-03-08T00:00:00Z", {Style.ISO: MARCH}),
        ("3/14/2024 12:00:00 AM", {Style.MONTH_SLASH: dt.date(2024, 3, 14)}),
        ("3/14/2024 0:00", {Style.MONTH_SLASH: dt.date(2024, 3, 14)}),
        ("3/14/2024 12:00 PM", {}),
        ("3/14/2024 0:01", {}),
        ("3/8/24", {}),
        ("8-Mar-24", {}),
        ("3/8-2024", {}),
        ("3/8/02024", {}),
        ("2024", {}),
        ("45359", {}),
        ("about 2024-03-08", {}),
        ("٣/٨/٢٠٢٤", {}),
    ],
)
def test_a_cell_is_read_in_each_style_that_it_can_be_in(cell, expected):
    assert datestyles.readings(cell) == expected


@pytest.mark.parametrize(
    ("cell", "is_short"),
    [("3/8/24", True), ("8.3.24", True), ("8-Mar-24", True), ("Mar 8, '24", True), ("3/8/2024", False), ("yes", False)],
)
def test_a_year_of_two_digits_is_known_for_what_it_is(cell, is_short):
    assert datestyles.has_short_year(cell) == is_short


@pytest.mark.parametrize(
    ("cells", "styles"),
    [
        pytest.param(["2024-03-08"], (Style.ISO,), id="clear by itself"),
        pytest.param(["3/8/2024", "3/13/2024"], (Style.MONTH_SLASH,), id="one cell tells for all"),
        pytest.param(["3/8/2024", "13/3/2024"], (Style.DAY_SLASH,), id="and the other way"),
        pytest.param(["3/8/2024", "12/12/2024"], (Style.MONTH_SLASH, Style.DAY_SLASH), id="nothing tells"),
        pytest.param(["8.3.2024", "9.3.2024"], (Style.MONTH_DOT, Style.DAY_DOT), id="nor with dots"),
        pytest.param(["", "n/a", "3/8/24"], (), id="no day at all"),
        pytest.param([], (), id="nothing"),
    ],
)
def test_a_column_is_in_the_styles_that_fit_all_its_days(cells, styles):
    column = datestyles.of_column(enumerate(cells, 2))
    assert column.styles == styles
    assert column.is_ambiguous == (len(styles) == 2)
    assert not column.is_mixed


def test_a_mixed_column_names_the_row_that_is_odd_and_the_one_that_it_is_held_against():
    column = datestyles.of_column([(2, "3/8/2024"), (3, "3/13/2024"), (4, "4/13/2024"), (5, "13/4/2024"), (6, "x")])
    assert column.is_mixed
    assert column.styles == ()
    assert (column.odd_row, column.odd_cell, column.before_row, column.before_cell) == (5, "13/4/2024", 3, "3/13/2024")


def test_a_day_that_is_no_day_does_not_make_a_column_mixed():
    column = datestyles.of_column([(2, "3/13/2024"), (3, "unknown"), (4, "3/14/24")])
    assert (column.styles, column.days, column.unread) == ((Style.MONTH_SLASH,), 1, 2)


days = st.dates(min_value=dt.date(1000, 1, 1))


@given(days, st.sampled_from(Style))
def test_a_day_written_in_a_style_is_read_back_from_it(day, style):
    assert datestyles.read(datestyles.written(day, style), style) == day


@given(st.lists(days, min_size=1, max_size=30), st.sampled_from(Style))
def test_a_column_in_one_style_is_never_mixed_and_never_read_otherwise(column, style):
    cells = [datestyles.written(day, style) for day in column]
    found = datestyles.of_column(enumerate(cells, 2))
    assert style in found.styles
    if not found.is_ambiguous:
        (only,) = found.styles
        assert [datestyles.read(cell, only) for cell in cells] == column


@given(st.lists(days, min_size=1, max_size=30), st.sampled_from([Style.MONTH_SLASH, Style.DAY_DASH, Style.DAY_DOT]))
def test_a_column_is_asked_about_exactly_where_no_day_is_past_the_twelfth(column, style):
    found = datestyles.of_column((2, datestyles.written(day, style)) for day in column)
    assert found.is_ambiguous == all(day.day <= 12 for day in column)


@given(st.lists(st.tuples(days, st.sampled_from(Style)), min_size=1, max_size=20))
def test_the_order_of_the_rows_does_not_decide_whether_a_column_is_mixed(cells):
    written = [datestyles.written(day, style) for day, style in cells]
    there, back = (datestyles.of_column(enumerate(order, 2)) for order in (written, written[::-1]))
    assert there.is_mixed == back.is_mixed
    assert there.styles == back.styles
