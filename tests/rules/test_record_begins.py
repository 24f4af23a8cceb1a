"""A record of upkeep that begins on a day: what is assumed before it, worked by hand on both sides of each edge.

The head was put in on May 15, 2020, and its yearly task may be done thirty days either way.
"""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import care
from fleet.rules.caresheet import CareSheet, Task
from tests.caring import day, done, due, graded, skipped, span, task, unit, worked_out

BEGINS = "2026-05-01"
SEASON = task(counts_from="due day")
WHEEL = task(dirt="wheel")


def begun(rule: Task, begins: str = BEGINS) -> CareSheet:
    return CareSheet("house", (rule,), upkeep_on_file_from=day(begins))


@pytest.mark.parametrize(
    ("begins", "due_on"),
    [
        pytest.param("2021-05-14", "2021-05-15", id="the first due is a day later: nothing is assumed"),
        pytest.param("2021-05-15", "2021-05-15", id="the first due is that day: still nothing"),
        pytest.param("2021-05-16", "2022-05-15", id="the first due was the day before: it counts as done"),
        pytest.param("2026-05-15", "2026-05-15", id="five rounds are assumed, the sixth is due that day"),
        pytest.param("2026-05-16", "2027-05-15", id="six"),
    ],
)
def test_a_task_that_nobody_ever_wrote_down_counts_as_done_until_the_record_begins(begins, due_on):
    found = due(begun(task(), begins))
    assert found.due_on == day(due_on)
    assert found.last_done is None


@pytest.mark.parametrize(
    ("last", "due_on"),
    [
        pytest.param("2022-02-03", "2027-02-03", id="long ago: on each February 3 since"),
        pytest.param("2025-04-30", "2027-04-30", id="a year and a day before: its due is the day before"),
        pytest.param("2025-05-01", "2026-05-01", id="its due is the day the record begins"),
        pytest.param("2026-04-30", "2027-04-30", id="the day before the record begins"),
        pytest.param("2026-05-01", "2027-05-01", id="that day"),
        pytest.param("2026-07-01", "2027-07-01", id="after it"),
    ],
)
def test_what_is_assumed_is_counted_from_the_last_real_record_before(last, due_on):
    found = due(begun(task()), done(last))
    assert (found.due_on, found.last_done) == (day(due_on), day(last))


@pytest.mark.parametrize(
    ("record", "due_on"),
    [
        pytest.param("2026-05-01", "2027-05-15", id="inside the window of May 15, 2026: it keeps its season"),
        pytest.param("2026-06-14", "2027-05-15", id="its last day"),
        pytest.param("2026-06-15", "2027-06-15", id="late: counted from the day"),
    ],
)
def test_a_real_record_after_it_begins_meets_the_due_that_follows_what_is_assumed(record, due_on):
    assert due(begun(SEASON), done(record)).due_on == day(due_on)


def test_a_real_record_soon_after_an_assumed_day_is_no_second_record():
    """Assumed on April 15, 2026; on May 5, early and within thirty days of it, it moves the task, since that day was not real."""
    head = unit(installed_on="2020-04-15")
    assert due(begun(SEASON), head).due_on == day("2027-04-15")
    assert due(begun(SEASON), head, done("2026-05-05")).due_on == day("2027-05-05")
    # The next one, within thirty days of a real one, moves nothing.
    assert due(begun(SEASON), head, done("2026-05-05"), done("2026-05-20")).due_on == day("2027-05-05")
    # Without an assumed day in between, a real one before the record begins counts as the record before.
    assert due(begun(SEASON), head, done("2026-04-20"), done("2026-05-05")).due_on == day("2027-04-20")


def test_planning_ahead_knows_that_the_day_before_was_assumed():
    """Once a month, 40 days late allowed: last written down on April 1, assumed on April 15 (its season) and 30 days later."""
    often = task(counts_from="due day", every_months=1, early_days=5, late_days=40)
    head = unit(installed_on="2026-03-15")
    found = due(begun(often), head, done("2026-04-12"))
    assert (found.anchor, found.due_on) == (day("2026-04-15"), day("2026-05-15"))
    found = due(begun(often, "2026-05-20"), head, done("2026-04-12"))
    assert (found.anchor, found.due_on) == (day("2026-05-15"), day("2026-06-15"))
    # May 20 is early, and 38 days after the last real record; but the day before it was an assumed one.
    assert found.after(day("2026-05-20")).due_on == day("2026-06-20")
    later = due(begun(often, "2026-05-20"), head, done("2026-04-12"), done("2026-05-20"))
    assert replace(found.after(day("2026-05-20")), price=later.price) == later


@pytest.mark.parametrize(
    ("seen", "window"),
    [
        pytest.param("2024-05-14", ("2026-04-15", "2026-05-15", "2026-06-14"), id="before an assumed day"),
        pytest.param("2025-05-15", ("2026-04-15", "2026-05-15", "2026-06-14"), id="on the last of them"),
        pytest.param("2025-05-16", ("2025-04-16", "2025-05-16", "2025-06-15"), id="the day after"),
    ],
)
def test_dirt_counts_after_the_last_assumed_day(seen, window):
    assert span(due(begun(WHEEL), graded(seen, 3))) == window


def test_dirt_does_not_decide_whether_anything_is_assumed():
    """Counted without it, the due is June 1, 2026: nothing is assumed, and the blocked wheel of December stands."""
    found = due(begun(WHEEL), done("2025-06-01"), graded("2025-12-01", 3))
    assert found.due_on == day("2025-12-01")


@pytest.mark.parametrize(
    ("put_off", "not_before"),
    [
        pytest.param("2025-05-15", None, id="on the last assumed day"),
        pytest.param("2025-05-16", "2026-08-01", id="the day after"),
    ],
)
def test_a_skip_counts_after_the_last_assumed_day(put_off, not_before):
    assert due(begun(task()), skipped(put_off, "2026-08-01")).not_before == (not_before and day(not_before))


def test_a_customers_own_task_is_not_assumed():
    assert due(begun(task(by="owner"))).due_on == day("2021-05-15")


def test_no_start_and_no_record_is_still_no_due():
    found = worked_out(begun(task()), unit(installed_on=None))
    assert found.dues == ()
    assert [(one.serial, one.what) for one in found.wanted] == [("H1", "start")]


@pytest.mark.parametrize(
    ("record", "due_on"),
    [
        pytest.param("2020-03-01", "2027-03-01", id="long before: on each March 1 since"),
        pytest.param("2026-04-30", "2027-04-30", id="the day before"),
        pytest.param("2026-06-01", "2027-06-01", id="after: nothing to count from before it"),
    ],
)
def test_without_a_start_it_counts_from_the_first_record(record, due_on):
    assert due(begun(task()), unit(installed_on=None), done(record)).due_on == day(due_on)


@pytest.mark.parametrize(
    ("back", "due_on"),
    [
        pytest.param("2024-01-10", "2027-01-10", id="back in use before: anew from there, and assumed since"),
        pytest.param("2025-04-30", "2027-04-30", id="its due is the day before"),
        pytest.param("2025-05-01", "2026-05-01", id="its due is the day the record begins"),
        pytest.param("2026-06-01", "2027-06-01", id="back in use since"),
    ],
)
def test_a_unit_that_started_anew_is_assumed_from_there(back, due_on):
    assert due(begun(task()), unit(idle=("2023-11-01", back))).due_on == day(due_on)


def test_it_holds_for_whatever_day_is_asked():
    assert due(begun(task()), on="2022-01-01").due_on == day("2026-05-15")


def test_an_assumed_day_is_the_due_day_after_its_move_into_a_preferred_month():
    """Due on May 15, and in April since that may be: April 30, 2021, and so each year; that of 2026 is the day before."""
    april = task(counts_from="due day", months=[4])
    assert span(due(begun(april))) == ("2027-03-31", "2027-04-30", "2027-05-30")
    assert span(due(begun(april, "2026-04-30"))) == ("2026-03-31", "2026-04-30", "2026-05-30")


def test_without_such_a_day_everything_is_as_it_was():
    assert due(CareSheet("house", (task(),))).due_on == day("2021-05-15")


# ------------------------------------------------------------------------------------------------------------- properties

RULES = st.builds(
    task,
    every_months=st.sampled_from([3, 6, 12, 24]),
    early_days=st.integers(0, 60),
    late_days=st.integers(0, 60),
    counts_from=st.sampled_from(["day done", "due day"]),
    months=st.lists(st.integers(1, 12), unique=True, max_size=3),
    dirt=st.sampled_from(["wheel", "coil"]),
)
FIRST = day(BEGINS)


def records(first: str, last: str):
    return st.lists(
        st.builds(
            care.Record,
            unit=st.just("H1"),
            day=st.dates(day(first), day(last)),
            task=st.just("clean"),
            what=st.sampled_from([care.DONE, care.SKIPPED]),
            dirt_wheel=st.sampled_from([None, None, 2, 3]),
            not_before=st.none() | st.dates(day("2026-01-01"), day("2027-01-01")),
        ),
        max_size=5,
    )


@given(rule=RULES, told=records("2019-01-01", "2026-11-24"))
def test_no_task_of_ours_is_due_before_the_record_begins_but_for_dirt(rule, told):
    found = due(begun(rule), *told)
    assert found.due_on >= FIRST or found.window.graded


@given(rule=RULES, told=records("2019-01-01", "2026-04-30"))
def test_it_is_as_if_the_work_had_been_written_down_on_each_due_day(rule, told):
    """Where nothing is on file since: the same window as with a record written down on each of those days."""
    plain = replace(rule, dirt="")
    written: list[care.Record] = []
    while (coming := due(plain, *told, *written).due_on) < FIRST:
        written.append(done(coming.isoformat()))
    found, spelled_out = due(begun(rule), *told), due(rule, *told, *written)
    assert (found.window, found.anchor, found.not_before) == (
        spelled_out.window,
        spelled_out.anchor,
        spelled_out.not_before,
    )


@given(rule=RULES, told=records("2019-01-01", "2026-11-24"), later=st.dates(FIRST, dt.date(2027, 3, 1)))
def test_counting_on_is_what_a_record_would_bring(rule, told, later):
    found = due(begun(rule), *told)
    after = due(begun(rule), *told, done(later.isoformat()), on="2031-01-01")
    if later > max((one.day for one in told), default=dt.date.min):
        assert replace(found.after(later), price=after.price) == after
