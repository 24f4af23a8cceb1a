"""Which visits, on which days? The fewest that meet every window, planned forward within the hours on hand."""

import datetime as dt
import random
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import replace
from decimal import Decimal
from itertools import combinations, groupby

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.rules import planner, visits
from fleet.rules.agreements import Agreement
from fleet.rules.care import Due
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import Span
from fleet.rules.hours import House
from fleet.rules.visits import SiteWork, Visit
from fleet.rules.windows import Window
from tests.caring import day, done, due, dues, entry, sheet, skipped, task, unit

ALL_DAYS = House(weekdays=frozenset(range(7)), minutes_a_day=0)
NO_LIMIT = House(minutes_a_day=0)
MONDAY = day("2027-03-01")


def window(first: str, last: str, due_on: str | None = None, serial: str = "H1", **named) -> Due:
    """A due with this window, of a task that comes round so seldom that nothing follows it; due on its first day if not said."""
    rule = task(named.pop("code", "clean"), **{"every_months": 60} | named)
    found = due(rule, unit(serial))
    return replace(found, window=Window(day(due_on or first), day(first), day(last)))


def site(*told: Due, name: str = "Home", customer: str = "Ash", **named) -> SiteWork:
    return SiteWork(customer, name, told, **named)


def plan(
    *sites: SiteWork, first: str = "2027-03-01", until: str = "2027-12-31", house: House = ALL_DAYS, rules=None
) -> tuple[Visit, ...]:
    return planner.plan(sites, rules or sheet(), house, first=day(first), until=day(until))


def days(found: Iterable[Visit]) -> list[str]:
    return [visit.on.isoformat() for visit in found]


def agreement(start_on: str, visits_per_year: int, months: int = 12, **named) -> Agreement:
    return Agreement(day(start_on), months, visits_per_year, Decimal(100), Decimal(60), **named)


# --------------------------------------------------------------------------------------------------------- the fewest visits


ANY_WINDOW = window("2027-03-01", "2027-03-01", every_months=24)
NUMBERED = [day("2027-02-28") + dt.timedelta(days=number) for number in range(20)]


def spans(*pairs: tuple[int, int]) -> SiteWork:
    """Windows from pairs of numbers: 1 is the first day asked for."""
    told = (
        replace(ANY_WINDOW, unit=str(place), window=Window(NUMBERED[first], NUMBERED[first], NUMBERED[last]))
        for place, (first, last) in enumerate(pairs)
    )
    return site(*told)


@pytest.mark.parametrize(
    ("pairs", "count"),
    [
        pytest.param([(10, 16), (2, 8), (1, 6), (7, 12)], 2, id="STAB-1 published answer 2"),
        pytest.param([(1, 2), (3, 4), (5, 6), (7, 8)], 4, id="STAB-2"),
        pytest.param([(1, 2), (2, 3), (3, 4), (4, 5)], 2, id="STAB-3"),
        pytest.param([(1, 3), (2, 4), (5, 6)], 2, id="STAB-4 published"),
        pytest.param([(1, 3), (2, 5), (3, 6)], 1, id="STAB-6 published"),
    ],
)
def test_the_published_cases_of_the_fewest_points_that_stab_intervals(pairs, count):
    found = plan(spans(*pairs))
    assert len(found) == count
    assert sum(len(visit.dues) for visit in found) == len(pairs)


def test_never_more_visits_than_trying_every_set_of_days_needs():
    """Thousands of small random sets of windows, each held against brute force."""
    chance = random.Random(20261124)
    for _ in range(3000):
        pairs = []
        for _ in range(chance.randint(1, 6)):
            first = chance.randint(1, 9)
            pairs.append((first, first + chance.randint(0, 6)))
        assert len(plan(spans(*pairs))) == fewest_by_trying(pairs), pairs


def fewest_by_trying(pairs: list[tuple[int, int]]) -> int:
    """Try every set of days, the smallest sets first; a set of days is a number with a bit for each."""
    wanted = [sum(1 << number for number in range(first, last + 1)) for first, last in pairs]
    for count in range(1, len(pairs) + 1):
        for chosen in combinations(range(1, 16), count):
            days_chosen = sum(1 << number for number in chosen)
            if all(days_chosen & one for one in wanted):
                return count
    raise AssertionError


# ------------------------------------------------------------------------------------------------- where a window begins


@pytest.mark.parametrize(
    ("opens", "on"), [("2027-02-01", "2027-03-01"), ("2027-03-01", "2027-03-01"), ("2027-03-02", "2027-03-02")]
)
def test_no_visit_before_the_first_day_asked_for(opens, on):
    assert days(plan(site(window(opens, "2027-04-30")))) == [on]


def test_no_visit_before_what_it_waits_for():
    """It then ends no earlier than that day and its late days: 30."""
    told = replace(window("2027-03-01", "2027-03-20"), not_before=day("2027-03-15"))
    (visit,) = plan(site(told))
    assert (visit.on, visit.met[0].span) == (day("2027-03-15"), Span(day("2027-03-15"), day("2027-04-14")))
    past = replace(window("2027-03-01", "2027-05-20"), not_before=day("2027-03-15"))
    assert plan(site(past))[0].met[0].span == Span(day("2027-03-15"), day("2027-05-20"))


def test_no_visit_on_the_day_a_task_was_planned_already():
    """Due on March 10, done on April 19, its last day, with the other; due again on April 10, so the day after is the nearest."""
    rule = task(every_months=1, early_days=60, late_days=40, counts_from="due day")
    told = due(rule, unit(installed_on="2027-02-10"))
    found = plan(site(told, window("2027-04-19", "2027-04-30", serial="H2")), until="2027-04-30")
    assert [(visit.on.isoformat(), [one.serial for one in visit.dues]) for visit in found] == [
        ("2027-04-19", ["H1", "H2"]),
        ("2027-04-20", ["H1"]),
    ]


@pytest.mark.parametrize(
    ("first", "last", "closed", "expected"),
    [
        pytest.param("2027-03-06", "2027-03-12", (), "2027-03-08", id="Saturday to Friday: Monday"),
        pytest.param("2027-03-06", "2027-03-12", ("2027-03-08",), "2027-03-09", id="Monday is closed"),
        pytest.param("2027-03-06", "2027-03-07", (), "2027-03-07", id="a weekend: its last day"),
        pytest.param("2027-03-06", "2027-03-06", (), "2027-03-06", id="a Saturday"),
    ],
)
def test_a_windows_days_are_its_working_days(first, last, closed, expected):
    house = House(minutes_a_day=0, closed=frozenset(map(day, closed)))
    assert days(plan(site(window(first, last)), house=house)) == [expected]


def test_a_saturday_firm():
    house = House(weekdays=frozenset({5}), minutes_a_day=0)
    assert days(plan(site(window("2027-03-01", "2027-03-31")), house=house)) == ["2027-03-06"]
    with pytest.raises(ValueError, match="weekday"):
        House(weekdays=frozenset())


def test_a_day_that_is_not_worked_is_a_day_of_no_other_window():
    """One window has only a weekend; the other has the week after."""
    told = (window("2027-03-06", "2027-03-07", serial="H1"), window("2027-03-06", "2027-03-12", serial="H2"))
    found = plan(site(*told), house=NO_LIMIT)
    assert [(visit.on.isoformat(), [one.serial for one in visit.dues]) for visit in found] == [
        ("2027-03-07", ["H1"]),
        ("2027-03-08", ["H2"]),
    ]


# ---------------------------------------------------------------------------------------------------- which day it is


def test_nor_of_a_window_that_was_open_before_it():
    told = (
        window("2027-03-06", "2027-03-07", serial="H1"),
        window("2027-03-01", "2027-03-12", "2027-03-10", serial="H2"),
        window("2027-03-06", "2027-03-07", serial="H3"),
    )
    found = plan(site(*told), house=NO_LIMIT)
    assert [(visit.on.isoformat(), [one.serial for one in visit.dues]) for visit in found] == [
        ("2027-03-07", ["H1", "H3"]),
        ("2027-03-10", ["H2"]),
    ]
    assert len(plan(site(*told[:2]), house=NO_LIMIT)) == 2


def test_a_house_works_six_hours_from_monday_to_friday_unless_it_says_otherwise():
    assert House() == House(frozenset({0, 1, 2, 3, 4}), frozenset(), 6 * 60)


def test_a_visit_meets_all_that_is_open_on_its_earliest_last_day():
    told = (
        window("2027-03-01", "2027-03-31", serial="H1"),
        window("2027-03-31", "2027-04-30", serial="H2"),
        window("2027-04-01", "2027-05-30", serial="H3"),
    )
    found = plan(site(*told))
    assert [(visit.on.isoformat(), [one.serial for one in visit.dues]) for visit in found] == [
        ("2027-03-31", ["H1", "H2"]),
        ("2027-04-01", ["H3"]),
    ]


@pytest.mark.parametrize(
    ("due_days", "expected"),
    [
        pytest.param(["2027-03-10"], "2027-03-10", id="its due day"),
        pytest.param(["2027-03-10", "2027-03-20"], "2027-03-10", id="anywhere between is as near: the earliest"),
        pytest.param(["2027-03-10", "2027-03-20", "2027-03-16"], "2027-03-16", id="the middle one of three"),
        pytest.param(["2027-05-10"], "2027-03-31", id="past the days they share"),
        pytest.param(["2027-03-13"], "2027-03-12", id="Saturday: Friday is nearer than Monday"),
        pytest.param(["2027-03-14"], "2027-03-15", id="Sunday: Monday is nearer"),
    ],
)
def test_the_day_nearest_to_the_due_days(due_days, expected):
    told = [window("2027-03-01", "2027-03-31", on, serial=f"H{place}") for place, on in enumerate(due_days)]
    assert days(plan(site(*told), house=NO_LIMIT)) == [expected]


@pytest.mark.parametrize(
    ("months", "expected"),
    [
        pytest.param([[], [], []], "2027-04-10", id="none prefers"),
        pytest.param([[3], [], []], "2027-03-31", id="one prefers March"),
        pytest.param([[3], [3], [5]], "2027-03-31", id="two against one"),
        pytest.param([[3], [5], []], "2027-05-03", id="one each: the nearer"),
        pytest.param([[3, 5], [5], [3]], "2027-05-03", id="two each: the nearer"),
    ],
)
def test_first_the_month_that_most_dues_prefer(months, expected):
    """Due on April 17: March 31 is 17 days away, May 3 16; with nothing preferred, the due days would have been April 10."""
    on = "2027-04-10" if not any(months) else "2027-04-17"
    told = [
        window("2027-03-01", "2027-05-31", on, serial=f"H{place}", code=f"clean {place}", months=wanted)
        for place, wanted in enumerate(months)
    ]
    house = House(weekdays=frozenset(range(7)), minutes_a_day=0) if not any(months) else NO_LIMIT
    assert days(plan(site(*told), house=house)) == [expected]


def test_the_hours_on_hand_come_before_the_month():
    """Each visit takes 40 minutes (20 for setting up): two a day of 80. The third goes to the next day that has the hours."""
    rules = sheet(setup_minutes=20)
    house = House(minutes_a_day=80)
    sites = [site(window("2027-03-01", "2027-03-05", "2027-03-02"), name=name) for name in ("A", "B", "C", "D", "E")]
    found = plan(*sites, house=house, rules=rules)
    assert [(visit.on.isoformat(), visit.site) for visit in found] == [
        ("2027-03-01", "C"),
        ("2027-03-01", "D"),
        ("2027-03-02", "A"),
        ("2027-03-02", "B"),
        ("2027-03-03", "E"),
    ]


def test_a_month_that_is_preferred_is_left_where_it_has_no_hours():
    house = House(minutes_a_day=20)
    told = [
        site(window("2027-03-30", "2027-04-02", "2027-03-30", months=[3]), name=name) for name in ("A", "B", "C", "D")
    ]
    assert days(plan(*told, house=house)) == ["2027-03-30", "2027-03-31", "2027-04-01", "2027-04-02"]


def test_where_no_day_has_the_hours_the_day_with_the_fewest_booked():
    house = House(minutes_a_day=30)
    sites = [
        site(window("2027-03-01", "2027-03-02", minutes=wanted), name=name)
        for name, wanted in (("A", 25), ("B", 20), ("C", 15), ("D", 9))
    ]
    found = plan(*sites, house=house)
    assert [(visit.site, visit.on.isoformat()) for visit in found] == [
        ("A", "2027-03-01"),
        ("D", "2027-03-01"),
        ("B", "2027-03-02"),
        ("C", "2027-03-02"),
    ]


def test_a_visit_larger_than_a_day_goes_where_the_fewest_hours_are_booked():
    house = House(minutes_a_day=30)
    small = site(window("2027-03-01", "2027-03-01", minutes=10), name="A")
    large = site(window("2027-03-01", "2027-03-03", minutes=300), name="B")
    assert [(visit.site, visit.on.isoformat()) for visit in plan(small, large, house=house)] == [
        ("A", "2027-03-01"),
        ("B", "2027-03-02"),
    ]


# ------------------------------------------------------------------------------------------------------------ late sites


def test_a_late_site_has_the_first_working_day():
    told = window("2027-01-01", "2027-03-05")
    assert days(plan(site(told), first="2027-03-05", house=NO_LIMIT)) == ["2027-03-05"]
    assert days(plan(site(told), first="2027-03-06", house=NO_LIMIT)) == ["2027-03-08"]


def test_a_late_visit_says_that_its_window_ran_to_that_day():
    (visit,) = plan(site(window("2027-01-01", "2027-02-20")), until="2027-03-01")
    assert visit.met[0].span == Span(MONDAY, MONDAY)


def test_longest_lateness_first_then_customer_and_site():
    house = House(minutes_a_day=20)
    sites = [
        site(window("2027-01-01", "2027-02-20"), customer="Birch"),
        site(window("2027-01-01", "2027-02-20"), customer="Ash", name="Shop"),
        site(window("2027-01-01", "2027-02-20"), customer="Ash"),
        site(window("2027-01-01", "2027-02-10"), customer="Yew"),
    ]
    assert [(visit.customer, visit.site, visit.on.day) for visit in plan(*sites, house=house)] == [
        ("Yew", "Home", 1),
        ("Ash", "Home", 2),
        ("Ash", "Shop", 3),
        ("Birch", "Home", 4),
    ]


def test_a_year_of_late_sites_takes_one_day_after_the_other():
    """Each visit fills a day; a small one later finds the one day with room among the full ones."""
    house = House(weekdays=frozenset(range(7)), minutes_a_day=20)
    late = window("2027-01-01", "2027-02-20")
    short = window("2027-01-01", "2027-02-20", code="look", minutes=5)
    sites = [site(short if number == 200 else late, customer=f"Ash {number:03}") for number in range(430)]
    sites.append(site(window("2027-01-01", "2027-02-19", code="look", minutes=5), customer="Yew"))
    sites.append(site(window("2027-01-01", "2027-02-21", code="look", minutes=15), customer="Oak"))
    found = plan(*sites, house=house, until="2028-12-31")
    on = {visit.customer: (visit.on - MONDAY).days for visit in found if visit.on < day("2028-06-01")}
    assert on["Yew"] == 0
    assert [on[f"Ash {number:03}"] for number in (0, 1, 199, 201, 429)] == [1, 2, 200, 201, 429]
    assert (on["Ash 200"], on["Oak"]) == (0, 430)


def test_late_sites_come_before_those_that_must_be_met_today():
    house = House(minutes_a_day=20)
    late, today = (
        site(window("2027-01-01", "2027-02-28"), name="Late"),
        site(window("2027-03-01", "2027-03-02"), name="Today"),
    )
    assert [(visit.site, visit.on.day) for visit in plan(today, late, house=house)] == [("Late", 1), ("Today", 2)]


@pytest.mark.parametrize(("not_before", "late"), [(None, True), ("2027-01-29", True), ("2027-01-30", False)])
def test_what_waits_is_late_only_after_its_own_late_days(not_before, late):
    """30 days after January 29 is February 28: past on March 1. A site that is not late is planned at its due day's side."""
    told = replace(window("2026-11-01", "2027-01-31"), not_before=not_before and day(not_before))
    house = House(minutes_a_day=20)
    other = site(window("2027-03-01", "2027-03-01"), customer="Acorn")
    first = [
        visit.customer
        for visit in planner.planned([other, site(told)], sheet(), house, first=MONDAY, until=day("2027-12-31"))
    ][0]
    assert (first == "Ash") == late


def test_a_late_visit_takes_what_is_open_and_what_closed_meanwhile():
    """Two days are full; on the third a window has closed, one has opened, and one is still to open."""
    house = House(minutes_a_day=100)
    full = [
        site(window("2026-01-01", f"2026-01-0{number}", minutes=100), customer=f"Oak {number}") for number in (1, 2)
    ]
    told = site(
        window("2027-01-01", "2027-02-20", serial="H1"),
        window("2027-03-01", "2027-03-02", serial="H2"),
        window("2027-03-03", "2027-04-30", serial="H3"),
        window("2027-03-04", "2027-04-30", "2027-03-08", serial="H4"),
    )
    found = [visit for visit in plan(*full, told, house=house) if visit.customer == "Ash"]
    assert [(visit.on.isoformat(), [one.serial for one in visit.dues]) for visit in found] == [
        ("2027-03-03", ["H1", "H2", "H3"]),
        ("2027-03-08", ["H4"]),
    ]


def test_a_late_visit_may_grow_too_long_for_a_day_while_it_waits():
    """On Monday it needs 60 minutes and there are 50; on Tuesday 80 of 70; on Wednesday a day of its own."""
    house = House(minutes_a_day=100)
    taken = [
        site(window("2026-01-01", "2026-01-01", minutes=50), customer="Oak 1"),
        site(window("2026-01-01", "2026-01-02", minutes=60), customer="Oak 2"),
        site(window("2026-01-01", "2026-01-03", minutes=30), customer="Oak 3"),
    ]
    told = site(
        window("2027-01-01", "2027-02-20", serial="H1", minutes=60),
        window("2027-03-02", "2027-04-02", serial="H2", minutes=20),
        window("2027-03-03", "2027-04-02", serial="H3", minutes=90),
    )
    found = plan(*taken, told, house=house)
    assert {visit.customer: visit.on.isoformat() for visit in found} == {
        "Oak 1": "2027-03-01",
        "Oak 2": "2027-03-02",
        "Oak 3": "2027-03-01",
        "Ash": "2027-03-03",
    }


def test_one_larger_than_a_whole_day_takes_a_day_with_nothing_booked():
    house = House(minutes_a_day=100)
    small = site(window("2026-01-01", "2026-01-01", minutes=10), customer="Oak")
    large = site(window("2027-01-01", "2027-02-20", minutes=300))
    assert {visit.customer: visit.on.day for visit in plan(small, large, house=house)} == {"Oak": 1, "Ash": 2}


# -------------------------------------------------------------------------------------------------------- planning forward


def test_tasks_count_on_from_the_day_planned():
    told = dues(
        sheet(entry("clean", counts_from="due day"), entry("rinse", every_months=6, per="outdoor")),
        unit(installed_on="2026-05-15"),
        unit("O1", "outdoor", installed_on="2026-11-20"),
    )
    found = plan(site(*told), first="2026-11-24", until="2029-01-01")
    assert [(visit.on.isoformat(), [one.task.code for one in visit.dues]) for visit in found] == [
        ("2027-05-15", ["clean", "rinse"]),
        ("2027-11-15", ["rinse"]),
        ("2028-05-15", ["clean", "rinse"]),
        ("2028-11-15", ["rinse"]),
    ]


@pytest.mark.parametrize(
    ("until", "count"), [("2027-05-14", 0), ("2027-05-15", 1), ("2028-05-14", 1), ("2028-05-15", 2)]
)
def test_a_visit_is_listed_when_its_day_is_on_or_before_the_last_day_asked_for(until, count):
    told = due(task(counts_from="due day"), unit(installed_on="2026-05-15"))
    assert len(plan(site(told), first="2026-11-24", until=until)) == count


def test_an_owners_task_needs_no_visit():
    assert plan(site(due(task(by="owner")))) == ()


def test_visits_past_the_last_day_use_hours_that_others_might_have_had():
    """Both could be on either day. The one whose last day comes first takes Friday; it is past the last day asked for."""
    house = House(minutes_a_day=20)
    early = site(window("2027-03-05", "2027-03-05"), customer="Yew")
    other = site(window("2027-03-04", "2027-03-08", "2027-03-05"))
    assert [(visit.customer, visit.on.day) for visit in plan(early, other, house=house, until="2027-03-04")] == [
        ("Ash", 4)
    ]
    assert [visit.on.day for visit in plan(other, house=house, until="2027-03-04")] == []


def test_an_agreement_promises_visits_where_nothing_is_due():
    """Three visits a year from February 1: the middle of each four months."""
    found = plan(site(agreements=(agreement("2027-02-01", 3),)), until="2028-01-31")
    assert days(found) == ["2027-04-01", "2027-07-31", "2027-12-01"]
    assert all(visit.agreement and visit.met[0].due is None and visit.dues == () for visit in found)


def test_a_visit_that_something_is_due_on_serves_the_agreement_too():
    told = window("2027-06-01", "2027-09-30", "2027-08-16")
    found = plan(site(told, agreements=(agreement("2027-02-01", 1),)), until="2028-01-31")
    assert [(visit.on.isoformat(), len(visit.met)) for visit in found] == [("2027-08-02", 2)]


def test_months_of_an_agreements_windows_are_counted_from_its_start():
    """RR-18: a recurrence of six months from August 31 loses every visit of February. Ours has two a year, whatever the day."""
    one = agreement("2024-08-31", 2, renews="by itself")
    windows = one.visit_windows(first=day("2024-08-31"), today=day("2024-08-31"))
    assert [next(windows) for _ in range(4)] == [
        Span(day("2024-08-31"), day("2025-02-27")),
        Span(day("2025-02-28"), day("2025-08-30")),
        Span(day("2025-08-31"), day("2026-02-27")),
        Span(day("2026-02-28"), day("2026-08-30")),
    ]


def test_visits_that_do_not_divide_a_year():
    windows = agreement("2027-01-15", 5).visit_windows(first=day("2027-01-15"), today=day("2027-01-15"))
    assert [str(next(windows).first) for _ in range(6)] == [
        "2027-01-15", "2027-03-15", "2027-05-15", "2027-08-15", "2027-10-15", "2028-01-15",
    ]  # fmt: skip


@pytest.mark.parametrize(("first", "begins"), [("2027-07-14", "2027-01-15"), ("2027-07-15", "2027-07-15")])
def test_a_window_counts_until_its_last_day(first, begins):
    assert next(agreement("2026-01-15", 2).visit_windows(first=day(first), today=day(first))).first == day(begins)


@pytest.mark.parametrize(
    ("named", "count"),
    [
        ({}, 4),
        ({"renews": "by asking"}, 2),
        ({"renews": "no"}, 2),
        ({"renews": "by asking", "terms_agreed": 2}, 4),
        ({"ended_on": dt.date(2027, 8, 2)}, 2),
        ({"ended_on": dt.date(2027, 8, 1)}, 1),
    ],
)
def test_only_visits_of_an_agreement_in_force_are_promised(named, count):
    """Two visits a year from February 1, 2027, planned for two years; windows begin on February 1 and August 1."""
    found = plan(site(agreements=(agreement("2027-02-01", 2, **named),)), until="2029-01-31")
    assert len(found) == count


def test_the_last_window_ends_with_the_terms_agreed():
    """Fifteen months for twelve: the third half-year has three months."""
    one = agreement("2027-02-01", 2, months=15, renews="no")
    windows = list(one.visit_windows(first=day("2027-02-01"), today=day("2027-02-01")))
    assert windows[-1] == Span(day("2028-02-01"), day("2028-04-30"))
    cut = list(replace(one, ended_on=day("2028-03-01")).visit_windows(first=day("2027-02-01"), today=day("2027-02-01")))
    assert cut[-1] == Span(day("2028-02-01"), day("2028-02-29"))


def test_the_last_window_ends_with_the_agreement():
    one = agreement("2027-02-01", 2, ended_on=day("2027-10-01"))
    windows = list(one.visit_windows(first=day("2027-02-01"), today=day("2027-02-01")))
    assert windows == [Span(day("2027-02-01"), day("2027-07-31")), Span(day("2027-08-01"), day("2027-09-30"))]


@pytest.mark.parametrize(
    ("on", "covered"), [("2027-03-31", False), ("2027-04-01", True), ("2028-03-31", True), ("2028-04-01", False)]
)
def test_a_visit_says_whether_an_agreement_covers_its_day(on, covered):
    one = agreement("2027-04-01", 1, renews="no")
    found = [visit for visit in plan(site(window(on, on), agreements=(one,)), until="2028-12-31") if visit.dues]
    assert [visit.agreement for visit in found] == [covered]


def test_windows_that_passed_while_a_late_site_waited_are_served_by_its_visit():
    """Hours are short for a year: the late visit is also that of each agreement window which opened before it."""
    house = House(
        weekdays=frozenset({0}),
        closed=frozenset(day("2027-03-01") + dt.timedelta(weeks=week) for week in range(60)),
        minutes_a_day=20,
    )
    late = site(window("2027-01-01", "2027-02-01"), agreements=(agreement("2027-01-01", 2),))
    found = plan(late, house=house, until="2028-07-31")
    assert [(visit.on.isoformat(), len(visit.met)) for visit in found] == [("2028-04-24", 4)]


# --------------------------------------------------------------------------------------------------- minutes, prices, load


def test_minutes_are_set_up_work_access_once_a_unit_and_the_drive():
    rules = sheet(
        entry("clean", minutes=30),
        entry("look", minutes=5),
        setup_minutes=20,
        access_minutes={"high": 15, "roof": 40},
    )
    told = dues(rules, unit("H1", access="high"), unit("H2"), unit("H3", access="normal"))
    assert visits.minutes(told, rules) == 20 + 3 * 35 + 15
    assert visits.minutes(told, rules, drive_minutes=50) == 20 + 3 * 35 + 15 + 50
    assert visits.minutes((), rules, drive_minutes=50) == 70


def test_of_one_tasks_dues_in_one_system_the_first_has_the_price():
    rules = sheet(entry("clean", price="60.00", further_price="40.00"), entry("look", price="5.00"))
    upstairs = tuple(replace(one, system="Upstairs") for one in dues(rules, unit("H1"), unit("H2"), unit("H3")))
    downstairs = tuple(replace(one, system="Downstairs") for one in dues(rules, unit("H4")))
    assert visits.price(upstairs) == Decimal("140.00") + Decimal("15.00")
    assert visits.price((*upstairs, *downstairs)) == Decimal("155.00") + Decimal("65.00")
    assert visits.price([one for one in upstairs if one.serial == "H3"]) == Decimal("65.00")
    assert visits.price(()) == 0


def test_a_visit_lists_its_tasks_by_serial_and_task():
    told = dues(
        sheet(entry("look"), entry("clean")),
        unit("H2", installed_on="2026-03-05"),
        unit("H1", installed_on="2026-03-05"),
    )
    (visit,) = plan(site(*told), until="2027-05-01")
    assert [(one.serial, one.task.code) for one in visit.dues] == [
        ("H1", "clean"),
        ("H1", "look"),
        ("H2", "clean"),
        ("H2", "look"),
    ]


def test_the_load_is_summed_by_month():
    sites = [site(window(on, on), name=on) for on in ("2027-03-01", "2027-03-31", "2027-04-01")]
    assert visits.load(plan(*sites, rules=sheet(setup_minutes=10))) == {day("2027-03-01"): 60, day("2027-04-01"): 30}


@pytest.mark.parametrize(
    ("to", "broken", "worked"),
    [
        ("2027-03-04", ["H1", "H2"], True),
        ("2027-03-05", ["H2"], True),
        ("2027-03-08", [], True),
        ("2027-03-13", [], False),
        ("2027-03-31", [], True),
        ("2027-04-01", ["H1"], True),
        ("2027-05-01", ["H1", "H2"], False),
    ],
)
def test_moving_a_visit_by_hand_says_what_it_breaks(to, broken, worked):
    told = (window("2027-03-05", "2027-03-31", serial="H1"), window("2027-03-08", "2027-04-30", serial="H2"))
    (visit,) = plan(site(*told), house=NO_LIMIT)
    found = visits.move(visit, day(to), NO_LIMIT, by_month={day("2027-03-01"): 400})
    assert [one.due.serial for one in found.breaks] == broken
    assert found.worked == worked


def test_moving_a_visit_moves_its_minutes_between_months():
    (visit,) = plan(site(window("2027-03-05", "2027-04-30")))
    load = {day("2027-03-01"): 400, day("2027-04-01"): 90}
    within = visits.move(visit, day("2027-03-20"), NO_LIMIT, by_month=load)
    assert (within.leaves, within.comes_into) == ((400, 400), (400, 400))
    across = visits.move(visit, day("2027-04-20"), NO_LIMIT, by_month=load)
    assert (across.leaves, across.comes_into) == ((400, 380), (90, 110))
    assert visits.move(visit, day("2027-05-20"), NO_LIMIT, by_month=load).comes_into == (0, 20)


# -------------------------------------------------------------------------------- the same plan, written down plainly

# Every day of every window spelled out, every day weighed: slow, and near to how a person would say it.


class Spelled:
    """A window with each of its days."""

    def __init__(self, due: Due | None, begin: dt.date, end: dt.date, target: dt.date, house: House) -> None:
        self.due, self.end, self.target = due, end, target
        self.barred = due.task.not_months if due else ()
        self.put_off = False
        run = every_day(begin, end)
        touched = any(one.month in self.barred for one in run)
        self.days = [one for one in run if worked(one, house)]
        if not run:
            self.days = [next_worked(begin, house, self.barred)]
            self.put_off = self.days[0] > next_worked(begin, house)
        elif touched:
            self.days = self.outside(run, house) or [next_worked(end, house, self.barred)]
        elif not self.days:
            self.days = [end]

    def outside(self, run: list[dt.date], house: House) -> list[dt.date]:
        """The working days of the one run outside the months in which the task is not planned, as the rule chooses it."""
        pieces = [list(days) for bar, days in groupby(run, key=lambda one: one.month in self.barred) if not bar]
        having = [number for number, piece in enumerate(pieces) if self.target in piece]
        before = [number for number, piece in enumerate(pieces) if piece[-1] < self.target]
        chosen = (having or before[-1:] or [0])[0]
        for piece in pieces[chosen:]:
            if days := [one for one in piece if worked(one, house)]:
                return days
        return []


def every_day(begin: dt.date, end: dt.date) -> list[dt.date]:
    return [begin + dt.timedelta(days=number) for number in range((end - begin).days + 1)]


def next_worked(on: dt.date, house: House, barred: Collection[int] = ()) -> dt.date:
    while not worked(on, house) or on.month in barred:
        on += dt.timedelta(days=1)
    return on


def worked(on: dt.date, house: House) -> bool:
    return on.weekday() in house.weekdays and on not in house.closed


def spelled(due: Due, first: dt.date, house: House, planned: dt.date | None = None) -> Spelled:
    begin, end = max(first, due.opens_on), due.late_after
    if due.not_before:
        begin, end = max(begin, due.not_before), max(end, due.not_before + dt.timedelta(days=due.task.late_days))
    if planned:
        begin = max(begin, planned + dt.timedelta(days=1))
    return Spelled(due, begin, end, due.due_on, house)


def promised(work: SiteWork, first: dt.date, horizon: dt.date, house: House) -> list[Spelled]:
    found = []
    for one in work.agreements:
        for window in one.visit_windows(first=first, today=first):
            if window.first > horizon:
                break
            middle = window.first + (window.last - window.first) // 2
            found.append(Spelled(None, max(first, window.first), window.last, middle, house))
    return found


class Plainly:
    """The plan in the order of the rule's own sentences."""

    def __init__(self, sites, rules: CareSheet, house: House, *, first: dt.date, until: dt.date) -> None:
        self.sites, self.rules, self.house, self.first, self.until = sites, rules, house, first, until
        self.horizon = until + dt.timedelta(days=900)
        self.booked: Counter[dt.date] = Counter()
        self.found: list[tuple] = []
        self.windows: dict[int, list[Spelled]] = {}
        for number, work in enumerate(sites):
            self.windows[number] = [spelled(one, first, house) for one in work.dues if one.task.by == "technician"]
            self.windows[number] += promised(work, first, self.horizon, house)
        for number in sorted(self.windows, key=lambda one: (-self.lateness(one), self.who(one))):
            if self.lateness(number) and (found := self.soonest(number)):
                self.go(number, *found)
        while self.next_in_turn():
            pass

    def who(self, number: int) -> tuple[str, str]:
        return self.sites[number].customer, self.sites[number].site

    def lateness(self, number: int) -> int:
        late = [one for one in self.windows[number] if one.due and not one.put_off]
        return max([0, *((self.first - one.end).days for one in late)])

    def length(self, number: int, met: list[Spelled]) -> int:
        told = [one.due for one in met if one.due]
        access = {one.unit: self.rules.extra_minutes(one.access) for one in told}
        work = sum(access.values()) + sum(one.task.minutes for one in told)
        return self.rules.setup_minutes + self.sites[number].drive_minutes + work

    def go(self, number: int, met: list[Spelled], on: dt.date) -> None:
        minutes = self.length(number, met)
        self.booked[on] += minutes
        if on <= self.until:
            tasks = sorted((one.due.serial, one.due.task.code) for one in met if one.due)
            self.found.append((on, *self.who(number), minutes, tasks))
        self.windows[number] = [one for one in self.windows[number] if one not in met]
        self.windows[number] += [spelled(one.due.after(on), self.first, self.house, on) for one in met if one.due]

    def fits(self, minutes: int, on: dt.date) -> bool:
        day_has = self.house.minutes_a_day == 0 or self.booked[on] + minutes <= self.house.minutes_a_day
        return day_has and self.month_has(minutes, on)

    def month_has(self, minutes: int, on: dt.date) -> bool:
        month = on.replace(day=1)
        entered = dict(self.house.minutes_by_month).get(month)
        taken = sum(number for day_, number in self.booked.items() if day_.replace(day=1) == month)
        return entered is None or taken + minutes <= entered

    def soonest(self, number: int) -> tuple[list[Spelled], dt.date] | None:
        on = self.first
        while True:
            for one in self.windows[number]:
                if (
                    one.due
                    and one.end < self.first
                    and not one.put_off
                    and on.month in one.barred
                    and worked(on, self.house)
                ):
                    one.days, one.put_off = [next_worked(on, self.house, one.barred)], True
            if not self.lateness(number):
                return None
            met = [one for one in self.windows[number] if one.days[0] <= on and on.month not in one.barred]
            minutes = self.length(number, met)
            alone = minutes > self.house.minutes_a_day and not self.booked[on] and self.month_has(minutes, on)
            if worked(on, self.house) and (self.fits(minutes, on) or alone):
                return met, on
            on += dt.timedelta(days=1)

    def next_in_turn(self) -> bool:
        coming = [
            (min(one.days[-1] for one in told), self.who(number), number)
            for number, told in self.windows.items()
            if told
        ]
        coming = [one for one in coming if one[0] <= self.horizon]
        if not coming:
            return False
        last, _, number = min(coming)
        met = [one for one in self.windows[number] if last in one.days]
        shared = sorted(set.intersection(*(set(one.days) for one in met)))
        minutes = self.length(number, met)
        fitting = [on for on in shared if self.fits(minutes, on)]

        def worth(on: dt.date) -> tuple[int, int, dt.date]:
            liked = sum(on.month in one.due.task.months for one in met if one.due)
            return -liked, sum(abs((on - one.target).days) for one in met), on

        on = min(fitting, key=worth) if fitting else min(shared, key=lambda one: (self.booked[one], one))
        self.go(number, met, on)
        return True


RULES = sheet(
    entry(
        "coil",
        counts_from="due day",
        months=[3, 4, 10],
        minutes=30,
        further_price="40.00",
        shorten=[{"when": "dust", "times": "0.4"}],
    ),
    entry("line", per="drain line", every_months=6, early_days=20, late_days=10, minutes=15),
    entry("wheel", every_months=24, early_days=90, late_days=120, dirt="wheel", minutes=90),
    entry("check", per="system", counts_from="due day", months=[4], minutes=25),
    entry(
        "rinse",
        per="system",
        every_months=6,
        early_days=50,
        late_days=40,
        minutes=25,
        counts_from="due day",
        not_months=[12, 1, 2, 7],
    ),
    entry("wash", by="owner", every_months=1),
    setup_minutes=20,
    access_minutes={"high": 15},
)
FIRST = day("2026-11-24")


@st.composite
def any_site(draw, number: int) -> SiteWork:
    starts = st.dates(day("2024-01-01"), day("2026-11-01"))
    units = [
        unit(
            f"H{number}{place}",
            access=draw(st.sampled_from(["", "high"])),
            surroundings=draw(st.sampled_from(["", "dust"])),
            drain=draw(st.sampled_from(["", "A"])),
            installed_on=draw(starts).isoformat(),
        )
        for place in range(draw(st.integers(0, 3)))
    ]
    told = [
        draw(
            st.builds(
                lambda one, on, code, until, grade: (
                    skipped(on.isoformat(), until, one.serial, code)
                    if until
                    else done(on.isoformat(), one.serial, code, dirt_wheel=grade)
                ),
                st.sampled_from(units),
                st.dates(day("2025-01-01"), FIRST),
                st.sampled_from(["coil", "line", "wheel", "check", "rinse"]),
                st.sampled_from([None, None, "2026-10-20", "2026-12-24", "2027-06-01"]),
                st.sampled_from([None, 2, 3]),
            )
        )
        for _ in range(draw(st.integers(0, 4)) if units else 0)
    ]
    agreements = draw(
        st.lists(
            st.builds(
                agreement,
                starts.map(str),
                st.integers(1, 4),
                renews=st.sampled_from(["by itself", "by asking", "no"]),
            ),
            max_size=1,
        )
    )
    found = dues(RULES, *units, *told, on="2026-11-24") if units else ()
    name = draw(st.sampled_from(["Ash", "Birch"]))
    return SiteWork(name, f"Site {number}", found, tuple(agreements), draw(st.sampled_from([0, 25])))


HOUSES = st.builds(
    House,
    weekdays=st.sampled_from([frozenset(range(5)), frozenset(range(7)), frozenset({1})]),
    closed=st.sampled_from(
        [frozenset(), frozenset(day("2026-12-24") + dt.timedelta(days=number) for number in range(12))]
    ),
    minutes_a_day=st.sampled_from([0, 90, 150, 360]),
    minutes_by_month=st.sampled_from(
        [(), ((day("2026-12-01"), 200), (day("2027-03-01"), 100), (day("2027-04-01"), 90), (day("2027-05-01"), 0))]
    ),
)
SITES = st.integers(0, 4).flatmap(lambda count: st.tuples(*(any_site(number) for number in range(count))))


def as_plain(found: Iterable[Visit]) -> list[tuple]:
    return sorted(
        (one.on, one.customer, one.site, one.minutes, [(due.serial, due.task.code) for due in one.dues])
        for one in found
    )


@given(
    sites=SITES,
    house=HOUSES,
    first=st.sampled_from([FIRST, day("2026-11-28"), day("2026-12-28"), day("2027-06-25")]),
    length=st.integers(0, 500),
)
@settings(max_examples=60)
def test_the_plan_is_the_one_written_down_plainly(sites, house, first, length):
    until = first + dt.timedelta(days=length)
    plain = Plainly(sites, RULES, house, first=first, until=until)
    assert as_plain(planner.plan(sites, RULES, house, first=first, until=until)) == sorted(plain.found)


@given(sites=SITES, house=HOUSES, seed=st.integers())
@settings(max_examples=25)
def test_the_order_in_which_sites_are_told_does_not_matter(sites, house, seed):
    shuffled = list(sites)
    random.Random(seed).shuffle(shuffled)
    until = day("2027-11-24")
    assert planner.plan(shuffled, RULES, house, first=FIRST, until=until) == planner.plan(
        sites, RULES, house, first=FIRST, until=until
    )


@given(sites=SITES, house=HOUSES)
@settings(max_examples=40)
def test_every_window_is_met_once_a_site_has_had_its_first_visit(sites, house):
    """Only the first visit planned may come late: what was late already, and what closed while hours were short."""
    visited: set[str] = set()
    for visit in planner.planned(sites, RULES, house, first=FIRST, until=day("2028-11-24")):
        if visit.site in visited:
            assert all(visit.on in one.span for one in visit.met)
        visited.add(visit.site)


@given(sites=SITES, house=HOUSES)
@settings(max_examples=40)
def test_no_window_goes_unmet(sites, house):
    """With hours enough, what comes after the last visit for a task ends no earlier than a week before the plan does."""
    until = day("2028-11-24")
    house = replace(house, minutes_a_day=0, minutes_by_month=())
    rounds: dict[tuple[str, str], list[dt.date]] = defaultdict(list)
    for visit in planner.plan(sites, RULES, house, first=FIRST, until=until):
        for one in visit.dues:
            rounds[one.unit, one.task.code].append(visit.on)
    for following in (told for work in sites for told in work.dues if told.task.by == "technician"):
        for on in rounds[following.unit, following.task.code]:
            following = following.after(on)
        ends = following.late_after
        if following.not_before:
            ends = max(ends, following.not_before + dt.timedelta(days=following.task.late_days))
        assert ends >= until - dt.timedelta(days=7)


@given(sites=SITES.filter(bool))
@settings(max_examples=25)
def test_one_more_head_never_makes_a_visit_shorter(sites):
    for work in sites:
        told = [one for one in work.dues if one.task.by == "technician"]
        for count in range(len(told)):
            assert visits.minutes(told[:count], RULES) <= visits.minutes(told[: count + 1], RULES)
            assert visits.price(told[:count]) <= visits.price(told[: count + 1])
