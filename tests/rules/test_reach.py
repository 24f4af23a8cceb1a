"""How far a promise reaches, seen from a day: held against an answer for every single day, and on both sides of each edge."""

import datetime as dt

import pytest
from hypothesis import given, settings

from fleet.rules import stretches
from fleet.rules.coverage import Reading
from fleet.rules.dates import DAY
from fleet.rules.findings import Code, Result
from fleet.rules.reach import FOREVER, Reach, course_of, reach, seen
from fleet.rules.stretches import Stretch
from fleet.rules.wording.reach import conditions, in_short, reaches, who_pays
from tests import any_facts
from tests.facts import day, holding, months, pays, registration, terms, unit

YES, IF, NO, UNKNOWN = Result.COVERED, Result.COVERED_IF, Result.NOT_COVERED, Result.CANNOT_SAY


def far(at, by, on, *, asked="2026-11-24", kind="parts", component="sensor"):
    """How far a promise reaches from a day, with its days as text."""
    course = course_of(stretches.courses(at, by, asked=day(asked)), kind, component)
    found = reach(at, by, course, on=day(on), asked=day(asked))
    days = (
        None if one is None else "forever" if one == FOREVER else str(one) for one in (found.certain, found.possible)
    )
    return found.result, *days, found.begins and str(found.begins)


PLAIN = holding(terms(pays(months(60))))
WAITING = holding(terms(pays(months(12), waits_days=30)))
OPEN = holding(terms(pays(months(60), months(120, "matched system"))))
ONLY_OPEN = holding(terms(pays(months(120, "matched system"))))
YEARLY = holding(terms(pays(months(24), months(72, "yearly maintenance"))))
LIFE = holding(terms(pays(months(12), {"lifetime": True, "when": ["matched system"]})))
AT = unit(installed_on="2020-05-01")


@pytest.mark.parametrize(
    ("by", "on", "expected"),
    [
        pytest.param(PLAIN, "2020-04-30", (NO, "2025-05-01", None, "2020-05-01"), id="the day before it starts"),
        pytest.param(PLAIN, "2020-05-01", (YES, "2025-05-01", None, None), id="its first day"),
        pytest.param(PLAIN, "2025-05-01", (YES, "2025-05-01", None, None), id="its last day"),
        pytest.param(PLAIN, "2025-05-02", (NO, "2025-05-01", None, None), id="the day after"),
        pytest.param(WAITING, "2020-05-30", (NO, "2021-05-01", None, "2020-05-31"), id="the last waiting day"),
        pytest.param(WAITING, "2020-05-31", (YES, "2021-05-01", None, None), id="the first day after waiting"),
        pytest.param(OPEN, "2025-05-01", (YES, "2025-05-01", "2030-05-01", None), id="the last certain day"),
        pytest.param(OPEN, "2025-05-02", (IF, "2025-05-01", "2030-05-01", None), id="the first possible day"),
        pytest.param(OPEN, "2030-05-01", (IF, "2025-05-01", "2030-05-01", None), id="the last possible day"),
        pytest.param(OPEN, "2030-05-02", (NO, "2025-05-01", "2030-05-01", None), id="the day after that"),
        pytest.param(ONLY_OPEN, "2020-05-01", (IF, None, "2030-05-01", None), id="nothing is certain"),
        pytest.param(ONLY_OPEN, "2030-05-02", (NO, None, "2030-05-01", None), id="nothing was certain"),
        pytest.param(LIFE, "2021-05-01", (YES, "2021-05-01", "forever", None), id="possible for life"),
        pytest.param(LIFE, "2021-05-02", (IF, "2021-05-01", "forever", None), id="possible for life from this day"),
    ],
)
def test_certain_is_told_apart_from_possible_on_both_sides_of_each_edge(by, on, expected):
    assert far(AT, by, on) == expected


def test_without_a_start_nothing_can_be_said():
    assert far(unit(), PLAIN, "2020-05-01") == (UNKNOWN, None, None, None)


@pytest.mark.parametrize(
    ("maintained", "on", "expected"),
    [
        # From May 1, 2022 on the years without maintenance count; the third year is the first that the short term has not.
        pytest.param((), "2022-05-01", (YES, "2022-05-01", "2026-05-01", None), id="never maintained"),
        pytest.param((), "2022-05-02", (IF, "2022-05-01", "2026-05-01", None), id="never maintained, the day after"),
        pytest.param(
            ("2020-06-01", "2021-06-01"),
            "2022-05-02",
            (YES, "2023-04-30", "2026-05-01", None),
            id="two years maintained",
        ),
        pytest.param(
            ("2020-06-01", "2021-06-01", "2022-06-01"),
            "2022-05-02",
            (YES, "2024-04-30", "2026-05-01", None),
            id="three years maintained",
        ),
    ],
)
def test_maintenance_on_file_makes_the_next_year_certain_and_the_rest_possible(maintained, on, expected):
    at = unit(installed_on="2020-05-01", maintained_on=maintained)
    assert far(at, YEARLY, on, asked="2022-05-02") == expected


def test_the_sentence_names_who_pays_until_when_and_the_one_thing_that_changes_it():
    at = unit(installed_on="2020-05-01", maintained_on=("2020-06-01", "2021-06-01"))
    by = holding(terms(pays(months(24), months(72, "yearly maintenance"), kind="labor"), payer="installer"))
    asked = day("2022-05-02")
    course = course_of(stretches.courses(at, by, asked=asked), "labor", "sensor")
    found = reach(at, by, course, on=asked, asked=asked)
    assert who_pays("installer", found, asked=asked) == (
        "we pay until April 30, 2023; until May 1, 2026 if yearly maintenance is kept up"
    )
    assert in_short(found) == "until Apr 30, 2023, possibly May 1, 2026"


def test_years_of_maintenance_that_are_over_need_their_records_and_the_others_need_keeping_up():
    at = unit(installed_on="2020-05-01")
    asked = day("2023-06-01")
    course = course_of(stretches.courses(at, YEARLY, asked=asked), "parts", "sensor")
    found = reach(at, YEARLY, course, on=asked, asked=asked)
    assert {reason.code for reason in found.hangs_on} == {Code.MAINTENANCE_GAP}
    assert conditions(found.hangs_on, asked=asked) == (
        "the records of 3 missing years of maintenance turn up and yearly maintenance is kept up"
    )


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (Reach(YES, FOREVER), "we pay for the life of the unit"),
        (Reach(NO, day("2025-05-01")), "the customer pays (our coverage ended May 1, 2025)"),
        (Reach(NO, None, day("2025-05-01")), "the customer pays (our coverage may have run until May 1, 2025)"),
        (Reach(NO), "the customer pays"),
        (Reach(NO, day("2025-05-01"), begins=day("2024-05-01")), "we pay from May 1, 2024 until May 1, 2025"),
        (Reach(UNKNOWN), "it is not clear whether we pay, since the start is not known"),
    ],
)
def test_who_pays_in_words(found, expected):
    assert who_pays("installer", found, asked=day("2024-01-01")) == expected


@given(any_facts.UNITS, any_facts.holdings(), any_facts.DAYS)
@settings(max_examples=120, deadline=None)
def test_each_day_up_to_the_last_gets_what_the_reach_says_and_the_next_one_does_not(at, by, on):
    """The days in between are asked about, up to the last or for three years; no fact is later than the day of asking."""
    asked = dt.date(2020, 1, 1)
    for course in stretches.courses(at, by, asked=asked):
        found = reach(at, by, course, on=on, asked=asked)
        if not course.stretches:  # without a start nothing is said of any day, even where the unit is gone
            assert found == Reach(UNKNOWN)
            continue
        if on < course.stretches[0].first:
            continue
        component = "any other" if course.components[0] == "*" else course.components[0]

        def result(of, course=course, component=component):
            return Reading(at, by, on=of, asked=asked).answer(course.kind, component).result

        assert found.result is result(on)
        if found.result is YES:
            last = found.certain
            assert all(result(each) is YES for each in days(on, last))
            assert last == FOREVER or result(last + DAY) is not YES
        if found.possible is not None and found.begins is None and found.result is not NO:
            first = on if found.result is IF else found.certain + DAY
            assert all(result(each) is IF for each in days(first, found.possible))
            assert found.possible == FOREVER or result(found.possible + DAY) is not IF
            assert found.hangs_on
            assert reaches(found, asked=asked)
        if found.result is NO and found.begins is not None:
            assert all(result(each) is NO for each in days(on, found.begins - DAY))
            assert result(found.begins) in (YES, IF)


def days(first: dt.date, last: dt.date):
    """The days from the first to the last, both among them; of a long run, each eleventh and those around its ends."""
    last = min(last, first + dt.timedelta(days=1100))
    count = (last - first).days + 1
    near = {0, 1, 2, count - 3, count - 2, count - 1}
    return [first + dt.timedelta(days=n) for n in range(max(count, 0)) if n % 11 == 0 or n in near]


def test_seen_without_any_promise_nothing_was_ever_paid():
    assert seen((Stretch(day("2020-05-01"), None, NO),), on=day("2024-01-01")) == Reach(NO)


def test_registration_that_is_still_open_is_what_more_hangs_on():
    by = holding(terms(pays(months(60), months(120, "registered")), registration=registration(60)))
    asked = day("2020-05-10")
    course = course_of(stretches.courses(AT, by, asked=asked), "parts", "sensor")
    found = reach(AT, by, course, on=asked, asked=asked)
    assert who_pays("maker", found, asked=asked) == (
        "the manufacturer pays until May 1, 2025; until May 1, 2030 if it is registered by June 30, 2020"
    )


@pytest.mark.parametrize(
    ("asked", "otherwise"),
    [
        pytest.param("2025-05-01", "otherwise only until May 1, 2025", id="its last certain day"),
        pytest.param("2025-05-02", "otherwise it ended May 1, 2025", id="the day after"),
    ],
)
def test_what_is_only_possible_says_how_far_it_reaches_otherwise(asked, otherwise):
    course = course_of(stretches.courses(AT, OPEN, asked=day(asked)), "parts", "sensor")
    found = reach(AT, OPEN, course, on=day("2025-05-02"), asked=day(asked))
    assert who_pays("maker", found, asked=day(asked)) == (
        f"the manufacturer may pay until May 1, 2030 if it is part of a matched system; {otherwise}"
    )
