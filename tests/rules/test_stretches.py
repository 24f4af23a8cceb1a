"""What terms say over the whole life of a unit, as stretches of days."""

import datetime as dt

from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.rules import stretches
from fleet.rules.coverage import Reading
from fleet.rules.dates import DAY
from fleet.rules.findings import Code, Result
from fleet.rules.starts import start_of
from tests import any_facts
from tests.facts import day, holding, months, pays, registration, repair, site, terms, unit

COVERED, IF, NOT = Result.COVERED, Result.COVERED_IF, Result.NOT_COVERED


def run(of, paper, *, asked="2026-11-24", **held):
    """Each course as (kind, components, [(first, last, result)]), a waiting stretch marked."""
    found = stretches.courses(of, holding(paper, **held), asked=day(asked))
    return [
        (
            course.kind,
            course.components,
            [
                (str(one.first), str(one.last) if one.last else None, "waiting" if one.waiting else one.result)
                for one in course.stretches
            ],
        )
        for course in found
    ]


def test_a_plain_term_is_covered_from_first_to_last_day_and_then_not():
    assert run(unit(installed_on="2020-05-01"), terms(pays(months(60)))) == [
        ("parts", ("*",), [("2020-05-01", "2025-05-01", COVERED), ("2025-05-02", None, NOT)])
    ]


def test_waiting_days_come_first():
    paper = terms(pays(months(12), waits_days=30), counts_first_day=True)
    assert run(unit(installed_on="2026-01-01"), paper) == [
        (
            "parts",
            ("*",),
            [("2026-01-01", "2026-01-30", "waiting"), ("2026-01-31", "2026-12-31", COVERED), ("2027-01-01", None, NOT)],
        )
    ]


def test_what_hangs_on_a_registration_still_open_is_covered_if():
    paper = terms(pays(months(60), months(120, "registered")), registration=registration(60))
    assert run(unit(installed_on="2026-11-01"), paper) == [
        (
            "parts",
            ("*",),
            [("2026-11-01", "2031-11-01", COVERED), ("2031-11-02", "2036-11-01", IF), ("2036-11-02", None, NOT)],
        )
    ]


def test_days_before_a_sale_are_judged_as_they_were():
    house = site(sold_on=("2022-03-01",))
    paper = terms(pays(months(12), months(120, "first owner")))
    assert run(unit(house, installed_on="2015-01-10"), paper) == [
        ("parts", ("*",), [("2015-01-10", "2022-02-28", COVERED), ("2022-03-01", None, NOT)])
    ]


def test_components_that_fare_alike_stand_together():
    paper = terms(
        pays(months(120), components=("compressor",)),
        pays(months(120), components=("outdoor coil",)),
        pays(months(60)),
        pays(months(12), kind="labor"),
    )
    assert [(kind, names) for kind, names, _ in run(unit(installed_on="2020-05-01"), paper)] == [
        ("parts", ("compressor", "outdoor coil")),
        ("parts", ("*",)),
        ("labor", ("*",)),
    ]


def test_a_replaced_part_runs_on_its_own():
    paper = terms(pays(months(60)), replacement={"rule": "longer of", "months": 12})
    of = unit(
        installed_on="2020-05-01",
        repairs=(repair("control board", "2025-03-01", repaired_on="2025-03-10", new_part=True),),
    )
    assert run(of, paper) == [
        ("parts", ("control board",), [("2020-05-01", "2026-03-10", COVERED), ("2026-03-11", None, NOT)]),
        ("parts", ("*",), [("2020-05-01", "2025-05-01", COVERED), ("2025-05-02", None, NOT)]),
    ]


def test_a_lifetime_term_with_yearly_maintenance_never_ends_and_is_open_from_the_first_missing_year():
    paper = terms(pays({"lifetime": True, "when": ["yearly maintenance"]}))
    of = unit(installed_on="2024-01-01", maintained_on=("2024-06-01",))
    assert run(of, paper) == [("parts", ("*",), [("2024-01-01", "2025-12-31", COVERED), ("2026-01-01", None, IF)])]


def test_a_unit_that_was_exchanged_away_is_not_covered_from_that_day():
    of = unit(installed_on="2024-01-01", exchanged_on="2025-02-01")
    assert run(of, terms(pays(months(60)))) == [
        ("parts", ("*",), [("2024-01-01", "2025-01-31", COVERED), ("2025-02-01", None, NOT)])
    ]


def test_an_unknown_start_has_no_stretches():
    assert run(unit(), terms(pays(months(60)))) == [("parts", ("*",), [])]


def test_a_lifetime_term_is_certain_only_to_the_end_of_the_first_year_without_a_record():
    paper = terms(pays({"lifetime": True, "when": ["yearly maintenance"]}))
    of = unit(installed_on="2024-01-01", maintained_on=("2024-06-01", "2025-06-01", "2026-06-01"))
    assert run(of, paper) == [("parts", ("*",), [("2024-01-01", "2027-12-31", COVERED), ("2028-01-01", None, IF)])]


def test_a_term_that_starts_after_the_day_of_asking_has_its_stretches():
    paper = terms(pays({"lifetime": True}), starts=[{"from": "manufactured_on", "plus_months": 18}])
    assert run(unit(manufactured_on="2026-11-01"), paper) == [("parts", ("*",), [("2028-05-01", None, COVERED)])]


# Facts are never later than the day of asking.
AFTER_ALL_FACTS = st.dates(dt.date(2020, 1, 1), dt.date(2024, 12, 31))


@given(any_facts.UNITS, any_facts.holdings(), AFTER_ALL_FACTS, st.lists(st.integers(0, 4000), max_size=8))
@settings(max_examples=150)
def test_each_day_is_drawn_as_it_is_answered(of, held, asked, later):
    start = start_of(of, held).day
    for course in stretches.courses(of, held, asked=asked):
        if start is None:
            assert course.stretches == ()
            continue
        edges = [one.first for one in course.stretches] + [one.last for one in course.stretches if one.last]
        for on in {*edges, *(start + number * DAY for number in later)}:
            (drawn,) = [one for one in course.stretches if one.first <= on <= (one.last or dt.date.max)]
            reading = Reading(of, held, on=on, asked=asked)
            for name in course.components:
                answer = reading.answer(course.kind, "louver" if name == "*" else name)
                waiting = any(reason.code is Code.WAITING_DAYS for reason in answer.reasons)
                assert (answer.result, waiting) == (drawn.result, drawn.waiting), (course, on)


@given(any_facts.UNITS, any_facts.holdings(), AFTER_ALL_FACTS)
@settings(max_examples=100)
def test_stretches_follow_one_another_without_a_gap(of, held, asked):
    for course in stretches.courses(of, held, asked=asked):
        for before, after in zip(course.stretches, course.stretches[1:], strict=False):
            assert after.first == before.last + DAY
            assert (before.result, before.waiting) != (after.result, after.waiting)
        assert not course.stretches or course.stretches[-1].last is None


# ------------------------------------------------------------------------------------------------- several as one


def stretch(first, last, result, *, waiting=False):
    return stretches.Stretch(day(first), day(last) if last else None, result, waiting)


def test_the_best_of_several_promises_day_by_day():
    short = [stretch("2024-01-01", "2025-01-01", COVERED), stretch("2025-01-02", None, NOT)]
    long = [
        stretch("2024-01-01", "2024-01-31", NOT, waiting=True),
        stretch("2024-02-01", "2024-12-31", COVERED),
        stretch("2025-01-01", "2030-01-01", IF),
        stretch("2030-01-02", None, NOT),
    ]
    assert stretches.best_of([short, long]) == (
        stretch("2024-01-01", "2025-01-01", COVERED),
        stretch("2025-01-02", "2030-01-01", IF),
        stretch("2030-01-02", None, NOT),
    )
    assert stretches.best_of([long]) == tuple(long)
    assert stretches.best_of([]) == stretches.best_of([[]]) == ()


def test_days_of_no_promise_are_in_none():
    early, late = stretch("2024-01-01", "2024-12-31", COVERED), stretch("2025-01-02", None, COVERED)
    assert stretches.best_of([[early], [late]]) == (early, late)


def test_waiting_is_better_than_nothing_and_less_than_unclear():
    nothing = stretch("2024-01-01", "2024-12-31", NOT)
    waiting = stretch("2024-01-01", "2024-12-31", NOT, waiting=True)
    unclear = stretch("2024-01-01", "2024-12-31", Result.CANNOT_SAY)
    assert stretches.best_of([[nothing], [waiting]]) == (waiting,)
    assert stretches.best_of([[waiting], [unclear]]) == (unclear,)


RUNS = st.lists(
    st.tuples(st.integers(1, 40), st.sampled_from([COVERED, IF, NOT, Result.CANNOT_SAY])), min_size=1, max_size=5
)


@given(st.lists(st.tuples(st.integers(0, 60), RUNS, st.booleans()), max_size=4))
def test_no_day_is_worse_in_one_line_than_in_any_of_several(told):
    order = [COVERED, IF, Result.CANNOT_SAY, NOT]
    several = []
    for begins, runs, open_ended in told:
        first, made = dt.date(2024, 1, 1) + begins * DAY, []
        for length, result in runs:
            made.append(stretches.Stretch(first, first + (length - 1) * DAY, result))
            first += length * DAY
        if open_ended:
            made[-1] = stretches.Stretch(made[-1].first, None, made[-1].result)
        several.append(made)
    best = stretches.best_of(several)
    for number in range(320):
        on = dt.date(2024, 1, 1) + number * DAY
        there = [one.result for made in several for one in made if one.first <= on <= (one.last or dt.date.max)]
        drawn = [one.result for one in best if one.first <= on <= (one.last or dt.date.max)]
        assert drawn == sorted(there, key=order.index)[:1]
    for before, after in zip(best, best[1:], strict=False):
        assert before.last < after.first
        assert before.last + DAY < after.first or before.result is not after.result
