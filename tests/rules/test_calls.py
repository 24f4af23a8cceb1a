"""Calls: their order, their steps, when one is up to us, and call-backs. Each edge on the day before, the day and the day after."""

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import calls
from fleet.rules.calls import Call, Part, State, Trouble, Work
from fleet.rules.dates import DAY, WorkingDays
from tests.facts import day

THANKSGIVING = WorkingDays(closed=frozenset({day("2026-11-26"), day("2026-11-27")}))
WEEK = WorkingDays()


# ----------------------------------------------------------------------------------------------------------- the order


def test_open_calls_stand_by_what_is_wrong_and_then_the_oldest_first():
    """The order of the text: smell, then heat and water alike, then cooling, then the rest."""
    rung = [
        ("noise", "2026-03-01", 1),
        ("no cooling", "2026-03-02", 2),
        ("water", "2026-03-04", 3),
        ("no heat", "2026-03-03", 4),
        ("smell or alarm", "2026-03-05", 5),
        ("error shown", "2026-02-28", 6),
        ("other", "2026-03-01", 7),
    ]
    ordered = sorted(rung, key=lambda one: calls.order(Trouble(one[0]), day(one[1]), one[2]))
    assert [number for _, _, number in ordered] == [5, 4, 3, 2, 6, 1, 7]


def test_what_somebody_put_first_stands_before_a_smell():
    put = calls.order(Trouble.OTHER, day("2026-03-09"), 9, put_first=True)
    assert put < calls.order(Trouble.SMELL_OR_ALARM, day("2026-03-01"), 1)


@given(st.lists(st.tuples(st.sampled_from(Trouble), st.dates(), st.booleans()), max_size=12))
def test_no_two_calls_stand_at_one_place(rung):
    places = [
        calls.order(trouble, on, number, put_first=first) for number, (trouble, on, first) in enumerate(rung, start=1)
    ]
    assert len(set(places)) == len(places)


# ---------------------------------------------------------------------------------------------------------- the states

ALLOWED = {
    ("open", "booked"), ("booked", "put right"), ("booked", "waiting for a part"), ("waiting for a part", "booked"),
    ("waiting for a part", "put right"), ("booked", "open"), ("put right", "open"), ("open", "closed without work"),
    ("booked", "closed without work"), ("waiting for a part", "closed without work"),
}  # fmt: skip


@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("to", State)
def test_a_call_takes_the_steps_of_the_text_and_no_others(state, to):
    assert calls.may_go(state, to) == ((state, to) in ALLOWED)


# ------------------------------------------------------------------------------------------------------------ up to us


@pytest.mark.parametrize(
    ("trouble", "came_on", "working", "expected"),
    [
        ("smell or alarm", "2026-11-28", WEEK, "2026-11-28"),  # a Saturday: that day all the same
        ("no heat", "2026-11-25", THANKSGIVING, "2026-11-25"),
        ("water", "2026-11-25", WEEK, "2026-11-25"),
        ("no cooling", "2026-11-23", WEEK, "2026-11-25"),  # Monday: Wednesday
        ("noise", "2026-11-26", WEEK, "2026-11-30"),  # Thursday: Friday, Monday
        ("noise", "2026-11-27", WEEK, "2026-12-01"),  # Friday: Monday, Tuesday
        ("other", "2026-11-28", WEEK, "2026-12-01"),  # Saturday: Monday, Tuesday
        ("error shown", "2026-11-25", THANKSGIVING, "2026-12-01"),  # Thursday and Friday closed: Monday, Tuesday
    ],
)
def test_a_call_is_to_be_booked_by_the_second_working_day_after_it_came(trouble, came_on, working, expected):
    assert calls.book_by(Trouble(trouble), day(came_on), working) == day(expected)


def reasons(today, state="open", trouble="noise", came_on="2026-11-23", promised=None, parts=(), visit=None):
    call = Call(
        State(state), Trouble(trouble), day(came_on), promised and day(promised), tuple(parts), visit and day(visit)
    )
    return [(one.reason.value, str(one.since)) for one in calls.up_to_us(call, WEEK, today=day(today))]


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        ("2026-11-24", []),
        ("2026-11-25", [("not booked", "2026-11-25")]),
        ("2026-11-26", [("not booked", "2026-11-25")]),
    ],
)
def test_a_call_that_nobody_has_booked_is_up_to_us_from_that_day(today, expected):
    assert reasons(today) == expected
    assert reasons(today, state="booked", visit="2026-12-03") == []


@pytest.mark.parametrize(("today", "missed"), [("2026-11-24", False), ("2026-11-25", False), ("2026-11-26", True)])
def test_a_promise_is_missed_on_the_day_after(today, missed):
    told = reasons(today, state="booked", promised="2026-11-25", visit="2026-12-03")
    assert told == ([("promise missed", "2026-11-26")] if missed else [])
    assert reasons(today, state="put right", promised="2026-11-25") == []
    assert reasons(today, state="booked", promised=None, visit="2026-12-03") == []


@pytest.mark.parametrize(("today", "late"), [("2026-12-01", False), ("2026-12-02", False), ("2026-12-03", True)])
def test_a_part_is_late_on_the_day_after_it_was_expected(today, late):
    waits = {"state": "waiting for a part", "parts": [Part(day("2026-11-24"), day("2026-12-02"))]}
    assert reasons(today, **waits) == ([("part late", "2026-12-03")] if late else [])
    assert reasons(today, state="waiting for a part", parts=[Part(day("2026-11-24"))]) == []


@pytest.mark.parametrize(("today", "there"), [("2026-12-01", False), ("2026-12-02", True), ("2026-12-03", True)])
def test_a_part_that_arrived_while_nothing_is_booked_is_up_to_us(today, there):
    parts = [Part(day("2026-11-24"), day("2026-12-05"), day("2026-12-02"))]
    told = reasons(today, state="waiting for a part", parts=parts)
    assert told == ([("part arrived", "2026-12-02")] if there else [])
    assert reasons(today, state="booked", parts=parts, visit="2026-12-09") == []
    another = [*parts, Part(day("2026-11-24"), day("2026-12-20"))]
    assert reasons(today, state="waiting for a part", parts=another) == []


@pytest.mark.parametrize(("today", "past"), [("2026-12-02", False), ("2026-12-03", False), ("2026-12-04", True)])
def test_a_visit_that_went_by_without_a_word_is_up_to_us(today, past):
    told = reasons(today, state="booked", visit="2026-12-03")
    assert told == ([("visit past", "2026-12-04")] if past else [])
    assert reasons(today, state="booked") == []


@pytest.mark.parametrize("state", ["put right", "closed without work"])
def test_nothing_is_up_to_us_once_a_call_is_over(state):
    assert reasons("2027-11-24", state=state, trouble="no heat", promised="2026-11-24", visit="2026-11-24") == []


# ----------------------------------------------------------------------------------------------------------- call-backs

CLEANED = Work(day("2026-03-01"), "Clean the coil", "Ike")


@pytest.mark.parametrize(
    ("came_on", "expected"),
    [
        ("2026-02-28", None),
        ("2026-03-01", None),
        ("2026-03-02", CLEANED),
        ("2026-03-31", CLEANED),
        ("2026-04-01", None),
    ],
)
def test_work_is_come_back_to_from_the_day_after_through_the_last_of_the_days(came_on, expected):
    """Day 0 is the work itself; day 30 is the last of thirty."""
    assert calls.may_be_call_back([CLEANED], day(came_on), days=30) == expected


def test_of_several_works_the_latest_is_named():
    repaired = Work(day("2026-03-20"), "repair", "Ola")
    after = Work(day("2026-03-26"), "repair", "Ola")
    assert calls.may_be_call_back([repaired, CLEANED, after], day("2026-03-25"), days=30) == repaired
    assert calls.may_be_call_back([], day("2026-03-25"), days=30) is None


def test_a_span_of_no_days_is_refused():
    with pytest.raises(ValueError, match="one day"):
        calls.may_be_call_back([CLEANED], day("2026-03-25"), days=0)


@given(st.lists(st.dates(dt.date(2026, 1, 1), dt.date(2026, 4, 1)), max_size=6), st.integers(1, 60))
def test_a_call_back_is_to_work_inside_the_days_and_to_none_later(days_of_work, days):
    came_on = dt.date(2026, 3, 1)
    found = calls.may_be_call_back([Work(on, "repair") for on in days_of_work], came_on, days=days)
    near = [on for on in days_of_work if came_on - days * DAY <= on < came_on]
    assert (found and found.on) == max(near, default=None)


def test_the_rate_counts_each_work_once_by_kind_and_technician():
    """Worked by hand: Ike cleaned four coils and one brought a call back; Ola repaired two and both did."""
    cleaned = [Work(day(f"2026-03-0{number}"), "Clean the coil", "Ike", str(number)) for number in range(1, 5)]
    repaired = [Work(day("2026-03-09"), "repair", "Ola", key) for key in "ab"]
    told = calls.rates([*cleaned, *repaired, cleaned[0]], [cleaned[0], cleaned[0], *repaired])
    assert [(one.kind, one.technician, one.works, one.came_back, one.share) for one in told] == [
        ("Clean the coil", "Ike", 4, 1, Fraction(1, 4)),
        ("repair", "Ola", 2, 2, Fraction(1)),
    ]
    assert calls.rates([], []) == ()
    assert calls.Rate("repair", "", 0, 0).share is None


def test_a_failure_that_a_payer_owes_for_is_apart_and_in_no_rate():
    """By hand: of four repairs of Ola two came back, one of them for a part that the manufacturer owes: one of four."""
    repaired = [Work(day("2026-03-09"), "Repair", "Ola", key) for key in "abcd"]
    (told,) = calls.rates(repaired, repaired[:2], repaired[1:2])
    assert (told.works, told.came_back, told.payer_owes, told.share) == (4, 1, 1, Fraction(1, 4))
    # Said of no work of the period, or of one that brought no call, it changes nothing.
    elsewhere = Work(day("2026-03-10"), "Repair", "Ola", "z")
    assert calls.rates(repaired, repaired[:1], [repaired[3], elsewhere])[0] == calls.Rate("Repair", "Ola", 4, 1, 0)


@pytest.mark.parametrize(
    ("pays", "owes"),
    [
        (["maker", "customer"], True),
        (["customer", "labor plan"], True),
        (["installer"], False),  # our own warranty is us
        (["customer"], False),
        (["maker if"], False),  # not for certain
        (["cannot say"], False),
        ([], False),
    ],
)
def test_who_owes_for_a_failure_besides_us_and_the_customer(pays, owes):
    assert calls.a_payer_owes(pays) is owes


@given(
    st.lists(
        st.builds(
            Work,
            st.dates(dt.date(2026, 1, 1), dt.date(2026, 1, 5)),
            st.sampled_from("ab"),
            st.sampled_from(["", "Ola"]),
            st.sampled_from("12"),
        )
    ),
    st.data(),
)
def test_each_work_is_in_one_rate_once_whatever_is_said_of_it(works, data):
    yes = data.draw(st.lists(st.sampled_from(works))) if works else []
    apart = data.draw(st.lists(st.sampled_from(works))) if works else []
    told = calls.rates(works, yes, apart)
    assert sum(one.works for one in told) == len(set(works))
    assert sum(one.came_back + one.payer_owes for one in told) == len(set(yes))
    assert all(0 <= one.share <= 1 and one.came_back + one.payer_owes <= one.works for one in told)
    assert [(one.kind, one.technician) for one in told] == sorted({(one.kind, one.technician) for one in works})
