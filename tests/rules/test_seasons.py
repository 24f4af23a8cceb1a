"""Months in which a task is not planned: the last day it is not late, the windows, and the visits. Worked by hand.

November 30, 2026 is a Monday, and so is March 1, 2027.
"""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import caresheet, planner, visits
from fleet.rules.care import Due, State
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import Span, WorkingDays
from fleet.rules.hours import House
from fleet.rules.tables import BadTable
from fleet.rules.visits import SiteWork, Visit
from fleet.rules.windows import Window
from tests.caring import day, done, due, entry, sheet, span, task, unit

WINTER = [12, 1, 2]
ALL_DAYS = House(weekdays=frozenset(range(7)), minutes_a_day=0)
WEEKDAYS = House(minutes_a_day=0)


# --------------------------------------------------------------------------------------------------------- the care sheet


@pytest.mark.parametrize(
    ("named", "where"),
    [
        pytest.param({"not_months": WINTER, "by": "owner"}, "not_months", id="a customer's own task"),
        pytest.param({"not_months": list(range(1, 13))}, "not_months", id="all twelve"),
        pytest.param({"not_months": WINTER, "months": [2, 3]}, "not_months", id="one that is preferred as well"),
        pytest.param({"not_months": [0]}, "not_months", id="no month"),
        pytest.param({"not_months": [12, 12]}, "not_months", id="one twice"),
        pytest.param({"style_minutes": {"round": 5}}, "style_minutes.round", id="no style"),
        pytest.param({"style_minutes": {"wall": -1}}, "style_minutes.wall", id="less than nothing"),
        pytest.param({"style_minutes": {"wall": "5"}}, "style_minutes.wall", id="a text"),
        pytest.param({"style_minutes": {"wall": 5}, "per": "outdoor"}, "style_minutes", id="no head"),
    ],
)
def test_what_a_task_may_not_say(named, where):
    with pytest.raises(BadTable) as refused:
        sheet(entry(**named))
    assert [fault.where for fault in refused.value.faults] == [f"task[1].{where}"]


def test_what_a_task_may_say():
    eleven = task(not_months=list(range(1, 12)))
    assert eleven.not_months == tuple(range(1, 12))
    assert task(not_months=WINTER, months=[3, 4]).not_months == (12, 1, 2)
    assert task(style_minutes={"cassette": 40, "floor": 0}).style_minutes == (("floor", 0), ("cassette", 40))


@pytest.mark.parametrize("value", ["2026-11-01", 2026, dt.date(1899, 12, 31), True])
def test_the_day_that_the_record_begins_is_a_day(value):
    with pytest.raises(BadTable) as refused:
        caresheet.read({"code": "house", "task": [entry()], "upkeep_on_file_from": value})
    assert [fault.where for fault in refused.value.faults] == ["upkeep_on_file_from"]


def test_the_day_that_the_record_begins_may_be_left_out():
    assert sheet(upkeep_on_file_from=dt.date(2026, 11, 1)).upkeep_on_file_from == dt.date(2026, 11, 1)
    assert sheet().upkeep_on_file_from is None


# ------------------------------------------------------------------------------------------------------- minutes by style


@pytest.mark.parametrize(("style", "minutes"), [("wall", 20), ("cassette", 60), ("floor", 25), ("", 20)])
def test_a_style_asks_for_minutes_more(style, minutes):
    rule = task(style_minutes={"cassette": 40, "floor": 5})
    found = due(rule, unit(style=style))
    assert found.minutes == minutes
    assert visits.minutes([found], sheet(setup_minutes=30)) == 30 + minutes


def test_a_drain_line_asks_for_those_of_the_head_that_it_stands_under():
    rule = task(per="drain line", style_minutes={"cassette": 15})
    line = due(rule, unit("H1", style="cassette", drain="A"), unit("H2", style="wall", drain="A"))
    assert (line.serial, line.minutes) == ("H1", 35)


# ------------------------------------------------------------------------------------------------ the last day not late


@pytest.mark.parametrize(
    ("late", "expected"),
    [
        pytest.param("2026-11-30", "2026-11-30", id="the day before the months begin"),
        pytest.param("2026-12-01", "2027-03-01", id="their first day"),
        pytest.param("2027-02-28", "2027-03-01", id="their last day"),
        pytest.param("2027-03-01", "2027-03-01", id="the day after them"),
        pytest.param("2025-12-20", "2026-03-02", id="March 1, 2026 is a Sunday"),
    ],
)
def test_a_last_day_inside_those_months_is_the_first_working_day_after_them(late, expected):
    rule = task(not_months=WINTER)
    put_in = dt.date.fromisoformat(late) - dt.timedelta(days=30)
    found = due(rule, unit(installed_on=put_in.replace(year=put_in.year - 1).isoformat()))
    assert found.due_on == put_in
    assert found.late_after == day(expected)


def test_a_closed_day_is_none():
    rules = CareSheet("house", (task(not_months=WINTER),), working=WorkingDays(closed=frozenset({day("2027-03-01")})))
    head = unit(installed_on="2025-11-20")
    assert span(due(rules, head)) == ("2026-10-21", "2026-11-20", "2027-03-02")
    assert due(rules, head).state(day("2027-03-02")) is State.DUE
    assert due(rules, head).state(day("2027-03-03")) is State.LATE


def test_the_last_day_of_dirt_that_cannot_wait_moves_likewise():
    rule = task(not_months=WINTER, dirt="coil")
    seen = due(
        rule,
        unit(installed_on="2026-10-01"),
        done("2026-10-02", dirt_coil=None),
        done("2026-11-20", dirt_coil=3, what=""),
    )
    assert span(seen) == ("2026-10-21", "2026-11-20", "2027-03-01")


@pytest.mark.parametrize(
    ("on", "following"),
    [
        pytest.param("2027-03-01", "2027-11-20", id="on the last day as it stands on the list: it keeps its season"),
        pytest.param("2027-03-02", "2028-03-02", id="a day later"),
    ],
)
def test_a_record_by_then_has_met_the_due_day(on, following):
    rule = task(not_months=WINTER, counts_from="due day")
    told = unit(installed_on="2025-11-20")
    assert due(rule, told, done(on), on="2027-06-01").due_on == day(following)
    assert due(rule, told).after(day(on)).due_on == day(following)


# ------------------------------------------------------------------------------------------------------------ the windows


def window(first: str, last: str, due_on: str, *, serial: str = "H1", **named) -> Due:
    """A due with this window, of a task that is not planned in winter and comes round so seldom that nothing follows it."""
    found = due(task(named.pop("code", "rinse"), **{"every_months": 60, "not_months": WINTER} | named), unit(serial))
    return replace(found, window=Window(day(due_on), day(first), day(last)))


def site(*told: Due, name: str = "Home") -> SiteWork:
    return SiteWork("Ash", name, told)


def plan(*sites: SiteWork, first: str = "2026-11-01", house: House = ALL_DAYS, booked=None) -> list[Visit]:
    found = planner.planned(sites, sheet(), house, first=day(first), until=day("2030-12-31"), booked=booked)
    return sorted(found, key=lambda visit: (visit.on, visit.site))


def days(*sites: SiteWork, **how) -> list[str]:
    return [visit.on.isoformat() for visit in plan(*sites, **how)]


@pytest.mark.parametrize(
    ("told", "first", "expected"),
    [
        pytest.param(
            ("2026-11-10", "2027-03-20", "2027-03-10"), "2026-11-01", "2027-03-10", id="the run with the due day"
        ),
        pytest.param(("2026-11-10", "2027-03-20", "2026-11-15"), "2026-11-01", "2026-11-15", id="the other run has it"),
        pytest.param(
            ("2026-11-10", "2027-03-20", "2027-01-10"), "2026-11-01", "2026-11-30", id="neither: the last before"
        ),
        pytest.param(("2026-11-10", "2027-03-20", "2027-01-10"), "2026-11-30", "2026-11-30", id="its last day is left"),
        pytest.param(
            ("2026-11-10", "2027-03-20", "2027-01-10"), "2026-12-01", "2027-03-01", id="nothing is left of it"
        ),
        pytest.param(("2026-12-05", "2027-03-20", "2027-01-10"), "2026-11-01", "2027-03-01", id="the first after"),
        pytest.param(("2026-12-05", "2027-02-10", "2027-01-10"), "2026-11-01", "2027-03-01", id="no run at all"),
        pytest.param(("2027-03-05", "2027-03-20", "2027-03-12"), "2026-11-01", "2027-03-12", id="they do not touch it"),
        pytest.param(("2026-02-01", "2026-11-20", "2026-02-05"), "2026-02-10", "2026-03-01", id="begun inside them"),
        pytest.param(
            ("2026-06-01", "2026-07-01", "2026-06-15"), "2026-12-05", "2027-03-01", id="past, asked in winter"
        ),
        pytest.param(
            ("2026-06-01", "2026-07-01", "2026-06-15"), "2026-11-30", "2026-11-30", id="past, the day before it"
        ),
    ],
)
def test_a_window_is_cut_to_a_run_of_days_outside_those_months(told, first, expected):
    assert days(site(window(*told)), first=first) == [expected]


@pytest.mark.parametrize(
    ("told", "closed", "first", "expected"),
    [
        pytest.param(
            ("2026-11-28", "2027-03-02", "2026-12-01"), (), "2026-11-01", "2026-11-30", id="Saturday to Monday: Monday"
        ),
        pytest.param(
            ("2026-11-28", "2027-03-02", "2026-12-01"),
            ("2026-11-30",),
            "2026-11-01",
            "2027-03-01",
            id="no working day in that run: the next that has one",
        ),
        pytest.param(
            ("2026-11-28", "2027-01-15", "2026-12-01"),
            ("2026-11-30",),
            "2026-11-01",
            "2027-03-01",
            id="none has: the first working day after the window's end outside those months",
        ),
        pytest.param(
            ("2026-11-28", "2027-01-15", "2026-12-01"),
            ("2026-11-30", "2027-03-01", "2027-03-02"),
            "2026-11-01",
            "2027-03-03",
            id="and that is not closed",
        ),
        pytest.param(
            ("2026-06-01", "2026-07-01", "2026-06-15"), (), "2026-11-28", "2026-11-30", id="past, asked on a Saturday"
        ),
        pytest.param(
            ("2026-06-01", "2026-07-01", "2026-06-15"),
            ("2026-11-30",),
            "2026-11-28",
            "2027-03-01",
            id="past, and no working day is left before them",
        ),
    ],
)
def test_only_working_days_count(told, closed, first, expected):
    house = replace(WEEKDAYS, closed=frozenset(map(day, closed)))
    assert days(site(window(*told)), first=first, house=house) == [expected]


def test_what_waits_into_those_months_is_planned_after_them():
    """Put off until December 10, it may be done thirty days from there, all of them in winter."""
    told = replace(window("2026-11-01", "2026-11-20", "2026-11-10"), not_before=day("2026-12-10"))
    assert days(site(told)) == ["2027-03-01"]


def test_the_window_that_a_visit_meets_is_what_is_left_of_it():
    (visit,) = plan(site(window("2026-11-10", "2027-03-20", "2027-01-10")))
    assert visit.met[0].span == Span(day("2026-11-10"), day("2026-11-30"))
    (alone,) = planner.windows(
        [window("2026-06-01", "2026-07-01", "2026-06-15")], sheet(), ALL_DAYS, first=day("2026-12-05")
    )
    assert alone.span == Span(day("2027-03-01"), None)


# --------------------------------------------------------------------------------------------------------- what is late


PLAIN = {"code": "clean", "not_months": [], "serial": "H2"}
PAST = ("2026-06-01", "2026-07-01", "2026-06-15")
LESS_PAST = ("2026-09-01", "2026-10-01", "2026-09-15")


def test_what_is_late_and_not_to_be_planned_now_does_not_come_first():
    """Twenty minutes a day, in winter: the site that is less late is the only one that can be visited now."""
    house = replace(ALL_DAYS, minutes_a_day=20)
    barred, other = site(window(*PAST), name="A"), site(window(*LESS_PAST, **PLAIN), name="B")
    assert [(visit.on, visit.site) for visit in plan(barred, other, first="2026-12-07", house=house)] == [
        (day("2026-12-07"), "B"),
        (day("2027-03-01"), "A"),
    ]
    # In November it is the other way round: the longest lateness first.
    assert [(visit.on, visit.site) for visit in plan(barred, other, first="2026-11-23", house=house)] == [
        (day("2026-11-23"), "A"),
        (day("2026-11-24"), "B"),
    ]


def test_a_late_visit_leaves_for_later_what_is_not_planned_now():
    found = plan(site(window(*PAST), window(*LESS_PAST, **PLAIN)), first="2026-12-07")
    assert [(visit.on.isoformat(), [one.task.code for one in visit.dues]) for visit in found] == [
        ("2026-12-07", ["clean"]),
        ("2027-03-01", ["rinse"]),
    ]
    found = plan(site(window(*PAST), window(*LESS_PAST, **PLAIN)), first="2026-11-23")
    assert [(visit.on.isoformat(), [one.task.code for one in visit.dues]) for visit in found] == [
        ("2026-11-23", ["rinse", "clean"])
    ]


def test_a_late_visit_that_waits_for_hours_does_not_wait_into_those_months():
    house = replace(ALL_DAYS, minutes_a_day=60)
    november = {day("2026-11-28") + dt.timedelta(days=number): 60 for number in range(3)}
    assert days(site(window(*PAST)), first="2026-11-28", house=house, booked=november) == ["2027-03-01"]
    # What is not late there is planned as ever, and does not wait with it.
    open_now = window("2026-11-20", "2026-12-20", "2026-12-01", **PLAIN)
    found = plan(site(window(*PAST), open_now), first="2026-11-28", house=house, booked=november)
    assert [(visit.on.isoformat(), [one.task.code for one in visit.dues]) for visit in found] == [
        ("2026-12-01", ["clean"]),
        ("2027-03-01", ["rinse"]),
    ]
    # Something else of the site that is late goes on December 1, without it.
    found = plan(site(window(*PAST), window(*LESS_PAST, **PLAIN)), first="2026-11-28", house=house, booked=november)
    assert [(visit.on.isoformat(), [one.task.code for one in visit.dues]) for visit in found] == [
        ("2026-12-01", ["clean"]),
        ("2027-03-01", ["rinse"]),
    ]


@given(
    first=st.dates(day("2026-01-01"), day("2027-12-31")),
    opens=st.dates(day("2026-01-01"), day("2027-12-31")),
    length=st.integers(0, 400),
    share=st.integers(0, 100),
    barred=st.lists(st.integers(1, 12), min_size=1, max_size=11, unique=True),
    house=st.sampled_from([ALL_DAYS, WEEKDAYS, House(weekdays=frozenset({2}), minutes_a_day=0)]),
)
def test_it_is_never_planned_in_those_months(first, opens, length, share, barred, house):
    last, due_on = opens + dt.timedelta(days=length), opens + dt.timedelta(days=length * share // 100)
    told = window(opens.isoformat(), last.isoformat(), due_on.isoformat(), not_months=barred)
    free = replace(told, task=replace(told.task, not_months=()))
    (visit,) = plan(site(told), first=first.isoformat(), house=house)[:1]
    (as_ever,) = plan(site(free), first=first.isoformat(), house=house)[:1]
    begin = max(first, opens)
    days_of = [begin + dt.timedelta(days=number) for number in range((last - begin).days + 1)]
    if begin <= last and not any(one.month in barred for one in days_of):
        assert visit.on == as_ever.on  # on its last day where no day of it is worked, whatever the months
        return
    assert visit.on.month not in barred
    assert visit.on.weekday() in house.weekdays
    outside = [one for one in days_of if one.month not in barred and one.weekday() in house.weekdays]
    # Past its end only where no working day is left from the run that was chosen: never one before the due day then.
    assert visit.on in outside or (visit.on > last and not any(one >= due_on for one in outside))
