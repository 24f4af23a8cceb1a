"""What do terms say about a failure? Each step of judging, and each edge on both of its sides, with days worked out by hand."""

import pytest

from fleet.rules.answer_clocks import Clocks, clocks
from fleet.rules.coverage import Reading, answers, groups, held, last_replaced
from fleet.rules.days_of_change import next_change
from fleet.rules.findings import Code, Reason, Result
from fleet.rules.terms import Terms
from tests.facts import codes, day, holding, months, needs, pays, registration, repair, site, table, terms, unit

COVERED, COVERED_IF, NOT_COVERED, CANNOT_SAY = "covered", "covered_if", "not_covered", "cannot_say"


def asked(at, paper, on, *, component="sensor", kind="parts", cause="", asked_on=None, **held_by):
    reading = Reading(at, holding(paper, **held_by), on=day(on), asked=day(asked_on or on))
    return reading.answer(kind, component, cause)


def span(answer):
    return tuple(found and str(found) for found in (answer.first, answer.last, answer.possible_last))


# ----------------------------------------------------------------------------------------- first, last, and around

# Installed on April 14, 2015.
UNIT = unit(installed_on="2015-04-14")
FIVE = terms(pays(months(60)))
FIVE_COUNTED = terms(pays(months(60)), counts_first_day=True)


@pytest.mark.parametrize(
    ("paper", "on", "expected"),
    [
        (FIVE, "2015-04-13", NOT_COVERED),
        (FIVE, "2015-04-14", COVERED),
        (FIVE, "2015-04-15", COVERED),
        (FIVE, "2020-04-13", COVERED),
        (FIVE, "2020-04-14", COVERED),
        (FIVE, "2020-04-15", NOT_COVERED),
        (FIVE_COUNTED, "2020-04-12", COVERED),
        (FIVE_COUNTED, "2020-04-13", COVERED),
        (FIVE_COUNTED, "2020-04-14", NOT_COVERED),
    ],
)
def test_both_the_first_and_the_last_day_are_covered(paper, on, expected):
    answer = asked(UNIT, paper, on)
    assert answer.result == expected
    assert span(answer) == ("2015-04-14", "2020-04-14" if paper is FIVE else "2020-04-13", None)


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        ("2015-04-13", ["before_start"]),
        ("2015-04-14", ["tier_used"]),
        ("2020-04-12", ["tier_used"]),
        ("2020-04-13", ["tier_used", "edge_day"]),
        ("2020-04-14", ["tier_used", "edge_day"]),
        ("2020-04-15", ["ended", "edge_day"]),
        ("2020-04-16", ["ended"]),
    ],
)
def test_a_failure_within_a_day_of_the_last_says_so(on, expected):
    assert codes(asked(UNIT, FIVE, on)) == expected


WAITS = terms(pays(months(12), waits_days=30))


@pytest.mark.parametrize(
    ("on", "expected", "code"),
    [
        ("2015-04-13", NOT_COVERED, "before_start"),
        ("2015-04-14", NOT_COVERED, "waiting_days"),
        ("2015-05-13", NOT_COVERED, "waiting_days"),
        ("2015-05-14", COVERED, "tier_used"),
        ("2016-04-14", COVERED, "tier_used"),
        ("2016-04-15", NOT_COVERED, "ended"),
    ],
)
def test_waiting_days_hold_back_the_first_day_and_not_the_last(on, expected, code):
    answer = asked(UNIT, WAITS, on)
    assert (answer.result, codes(answer)[0]) == (expected, code)
    assert span(answer) == ("2015-05-14", "2016-04-14", None)


@pytest.mark.parametrize(
    ("paper", "last"),
    [
        (terms(pays({"days": 90})), "2015-07-13"),
        (terms(pays({"days": 90}), counts_first_day=True), "2015-07-12"),
    ],
)
def test_a_length_in_days(paper, last):
    assert span(asked(UNIT, paper, "2015-05-01")) == ("2015-04-14", last, None)


@pytest.mark.parametrize("on", ["2015-04-14", "2099-12-31"])
def test_a_lifetime_never_ends(on):
    answer = asked(UNIT, terms(pays(months(60), {"lifetime": True})), on)
    assert (answer.result, answer.lifetime, answer.last) == (COVERED, True, None)
    assert answer.reasons == (Reason(Code.TIER_USED, what="lifetime"),)


def test_a_lifetime_that_is_only_possible():
    paper = terms(pays(months(60), {"lifetime": True, "when": ["matched system"]}))
    inside, after = asked(UNIT, paper, "2020-04-14"), asked(UNIT, paper, "2020-04-15")
    assert (inside.result, inside.lifetime, inside.possible_lifetime, inside.possible_last) == (
        COVERED,
        False,
        True,
        None,
    )
    assert (after.result, needs(after), span(after)) == (
        COVERED_IF,
        ["condition_open"],
        ("2015-04-14", "2020-04-14", None),
    )


# --------------------------------------------------------------------------------------------- definite and possible

FIVE_OR_TEN = terms(pays(months(60), months(120, "registered")), registration=registration(60))
LADDER = terms(pays(months(24), months(60, "matched system"), months(120, "matched system", "licensed installer")))


@pytest.mark.parametrize(
    ("on", "registered_on", "expected", "days"),
    [
        ("2020-04-14", "2015-06-13", COVERED, ("2015-04-14", "2025-04-14", None)),
        ("2020-04-15", "2015-06-13", COVERED, ("2015-04-14", "2025-04-14", None)),
        ("2025-04-14", "2015-06-13", COVERED, ("2015-04-14", "2025-04-14", None)),
        ("2025-04-15", "2015-06-13", NOT_COVERED, ("2015-04-14", "2025-04-14", None)),
        ("2020-04-14", "2015-06-14", COVERED, ("2015-04-14", "2020-04-14", None)),
        ("2020-04-15", "2015-06-14", NOT_COVERED, ("2015-04-14", "2020-04-14", None)),
    ],
)
def test_registering_in_time_makes_it_ten_years(on, registered_on, expected, days):
    answer = asked(UNIT, FIVE_OR_TEN, on, registered_on=registered_on)
    assert (answer.result, span(answer)) == (expected, days)


@pytest.mark.parametrize(
    ("asked_on", "expected"),
    [("2015-06-12", COVERED_IF), ("2015-06-13", COVERED_IF), ("2015-06-14", NOT_COVERED)],
)
def test_the_day_of_asking_decides_only_whether_a_limit_has_passed(asked_on, expected):
    """What will be in 2022, asked while it can still be registered and after."""
    answer = asked(UNIT, FIVE_OR_TEN, "2022-01-01", asked_on=asked_on)
    assert answer.result == expected
    assert needs(answer) == (["register_by"] if expected == COVERED_IF else [])


@pytest.mark.parametrize(
    ("matched", "licensed", "on", "expected", "missing"),
    [
        (True, True, "2025-04-14", COVERED, []),
        (True, None, "2020-04-14", COVERED, []),
        (True, None, "2020-04-15", COVERED_IF, ["licensed installer"]),
        (None, None, "2017-04-14", COVERED, []),
        (None, None, "2017-04-15", COVERED_IF, ["matched system"]),  # the five years ask for less than the ten
        (None, None, "2020-04-15", COVERED_IF, ["matched system", "licensed installer"]),
        (None, True, "2017-04-15", COVERED_IF, ["matched system"]),
        (False, None, "2017-04-15", NOT_COVERED, []),
        (None, False, "2020-04-14", COVERED_IF, ["matched system"]),
        (None, False, "2020-04-15", NOT_COVERED, []),
    ],
)
def test_the_needs_are_those_of_the_tier_that_asks_for_the_fewest(matched, licensed, on, expected, missing):
    at = unit(installed_on="2015-04-14", matched_system=matched, licensed_installer=licensed)
    answer = asked(at, LADDER, on)
    assert (answer.result, [need.what for need in answer.needs]) == (expected, missing)


def test_of_two_tiers_that_ask_as_little_the_longer_is_told():
    paper = terms(pays(months(12), months(60, "matched system"), months(120, "licensed installer")))
    answer = asked(UNIT, paper, "2017-01-01")
    assert [need.what for need in answer.needs] == ["licensed installer"]
    assert answer.reasons[0] == Reason(Code.TIER_USED, what="120 months", until=day("2025-04-14"))


def test_covered_names_the_tier_and_why_each_of_its_conditions_holds():
    at = unit(site("owner home"), installed_on="2015-04-14")
    paper = terms(pays(months(120, "registered", "owner home", "first owner")), registration=registration(60))
    answer = asked(at, paper, "2018-01-01", registered_on="2015-04-27")
    assert answer.reasons == (
        Reason(Code.TIER_USED, what="120 months", until=day("2025-04-14")),
        Reason(Code.REGISTERED_IN_TIME, day=day("2015-04-27"), until=day("2015-06-13")),
        Reason(Code.CONDITION_MET, what="owner home"),
        Reason(Code.CONDITION_MET, what="first owner"),
    )


def test_what_the_whole_paper_asks_each_tier_asks():
    paper = terms(pays(months(60), months(120, "matched system")), requires=["original site"])
    assert asked(unit(installed_on="2015-04-14", original_site=False), paper, "2016-01-01").result == NOT_COVERED
    answer = asked(UNIT, paper, "2016-01-01")
    assert (answer.result, [need.what for need in answer.needs]) == (COVERED_IF, ["original site"])


# --------------------------------------------------------------------------------------------- the order of judging

EVERYTHING = terms(
    pays(months(12), components=("compressor",)), excludes_causes=["power"], starts=[{"from": "started_on"}]
)


@pytest.mark.parametrize(
    ("facts", "component", "cause", "expected", "code"),
    [
        ({"removed_on": "2016-01-01"}, "sensor", "power", NOT_COVERED, "unit_removed"),
        ({}, "sensor", "power", NOT_COVERED, "component_not_listed"),
        ({}, "compressor", "power", NOT_COVERED, "cause_excluded"),
        ({}, "compressor", "wear", CANNOT_SAY, "start_unknown"),
        ({}, "compressor", "", CANNOT_SAY, "start_unknown"),
        ({"started_on": "2016-02-01"}, "compressor", "", NOT_COVERED, "before_start"),
        ({"started_on": "2015-02-01"}, "compressor", "", COVERED, "tier_used"),
    ],
)
def test_the_first_step_that_decides_is_the_answer(facts, component, cause, expected, code):
    answer = asked(unit(**facts), EVERYTHING, "2016-01-31", component=component, cause=cause)
    assert (answer.result, codes(answer)) == (expected, [code] if expected != COVERED else [code, "edge_day"])
    assert needs(answer) == (["start_unknown"] if expected == CANNOT_SAY else [])
    if code in ("unit_removed", "component_not_listed", "cause_excluded", "start_unknown"):
        assert span(answer) == (None, None, None)


def test_the_start_that_is_not_known_is_named():
    assert asked(unit(), EVERYTHING, "2016-01-01", component="compressor").needs == (
        Reason(Code.START_UNKNOWN, what="started_on"),
    )


@pytest.mark.parametrize(
    ("fact", "on", "code"),
    [
        ("removed_on", "2017-12-31", "tier_used"),
        ("removed_on", "2018-01-01", "unit_removed"),
        ("removed_on", "2018-01-02", "unit_removed"),
        ("exchanged_on", "2017-12-31", "tier_used"),
        ("exchanged_on", "2018-01-01", "unit_exchanged"),
        ("replaced_on", "2017-12-31", "unit_exchanged"),
        ("replaced_on", "2018-01-01", "tier_used"),
    ],
)
def test_a_unit_answers_only_while_it_is_there(fact, on, code):
    assert codes(asked(unit(installed_on="2015-04-14", **{fact: "2018-01-01"}), FIVE, on)) == [code]


def test_a_coverage_that_names_the_component_beats_the_one_for_all():
    paper = terms(pays(months(60)), pays(months(12), components=("remote control",)))
    assert span(asked(UNIT, paper, "2016-01-01", component="remote control"))[1] == "2016-04-14"
    assert span(asked(UNIT, paper, "2016-01-01", component="compressor"))[1] == "2020-04-14"


def test_a_coverage_is_for_its_own_kind_of_cost():
    paper = terms(pays(months(60)), pays(months(12), kind="labor", components=("compressor",)))
    assert span(asked(UNIT, paper, "2016-01-01", component="compressor", kind="labor"))[1] == "2016-04-14"
    assert codes(asked(UNIT, paper, "2016-01-01", kind="labor")) == ["component_not_listed"]


# ------------------------------------------------------------------------------------------------- an assumed start

ASSUMED = terms(
    pays(months(12), waits_days=10),
    starts=[{"from": "started_on"}, {"from": "installed_on", "assumed": True}],
    excludes_causes=["power"],
)


@pytest.mark.parametrize(
    ("on", "expected", "asks"),
    [
        ("2015-04-13", ["before_start", "start_assumed"], []),
        ("2015-04-20", ["waiting_days", "start_assumed"], []),
        ("2015-04-24", ["tier_used", "start_assumed"], ["start_assumed"]),
        ("2016-04-14", ["tier_used", "start_assumed", "edge_day"], ["start_assumed"]),
        ("2016-04-20", ["ended", "start_assumed"], []),
    ],
)
def test_a_start_that_was_assumed_is_told_and_asked_about_where_it_matters(on, expected, asks):
    answer = asked(UNIT, ASSUMED, on)
    assert (codes(answer), needs(answer)) == (expected, asks)


def test_a_start_that_was_not_judged_is_not_told():
    assert codes(asked(UNIT, ASSUMED, "2015-05-01", cause="power")) == ["cause_excluded"]


def test_a_start_on_record_is_not_assumed():
    at = unit(installed_on="2015-04-14", started_on="2015-04-20")
    assert codes(asked(at, ASSUMED, "2015-05-01")) == ["tier_used"]


# -------------------------------------------------------------------------------------------------- a nearest miss


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        (
            "2023-05-01",
            (
                Reason(Code.ENDED, what="60 months", until=day("2020-04-14")),
                Reason(
                    Code.REGISTERED_LATE,
                    day=day("2015-06-25"),
                    until=day("2015-06-13"),
                    would_reach=day("2025-04-14"),
                ),
            ),
        ),
        (
            "2025-04-20",
            (
                Reason(Code.ENDED, what="60 months", until=day("2020-04-14")),
                Reason(Code.REGISTERED_LATE, day=day("2015-06-25"), until=day("2015-06-13")),
                Reason(Code.ENDED, what="120 months", until=day("2025-04-14")),
            ),
        ),
    ],
)
def test_twelve_days_late(on, expected):
    assert asked(UNIT, FIVE_OR_TEN, on, registered_on="2015-06-25").reasons == expected


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        ("2022-04-14", ["ended", "registered_late"]),  # seven years reach it, for want of one thing
        ("2022-04-15", ["ended", "registered_late", "condition_failed", "condition_failed"]),
    ],
)
def test_the_nearest_miss_is_the_tier_with_the_fewest_noes(on, expected):
    paper = terms(
        pays(
            months(60),
            months(84, "registered"),
            months(120, "matched system", "recognized installer", "registered"),
        ),
        registration=registration(60),
    )
    at = unit(installed_on="2015-04-14", recognized_installer=False, matched_system=False)
    answer = asked(at, paper, on, registered_on="2015-06-25")
    assert codes(answer) == expected
    assert [reason.what for reason in answer.reasons[2:]] == ["recognized installer", "matched system"][
        : len(expected) - 2
    ]


def test_how_far_it_would_have_run_is_said_only_where_one_thing_alone_stood_in_the_way():
    paper = terms(pays(months(24), months(120, "recognized installer", "matched system")))
    open_too = asked(unit(installed_on="2015-04-14", recognized_installer=False), paper, "2020-01-01")
    alone = asked(unit(installed_on="2015-04-14", recognized_installer=False, matched_system=True), paper, "2020-01-01")
    both = asked(unit(installed_on="2015-04-14", recognized_installer=False, matched_system=False), paper, "2020-01-01")
    assert [
        [(reason.what, reason.would_reach) for reason in answer.reasons[1:]] for answer in (open_too, alone, both)
    ] == [
        [("recognized installer", None)],
        [("recognized installer", day("2025-04-14"))],
        [("recognized installer", None), ("matched system", None)],
    ]


def test_a_lifetime_missed_has_no_day_to_name():
    paper = terms(pays(months(12), {"lifetime": True, "when": ["matched system"]}))
    (ended, no) = asked(unit(installed_on="2015-04-14", matched_system=False), paper, "2020-01-01").reasons
    assert (ended.code, no.what, no.would_reach) == (Code.ENDED, "matched system", None)


def test_the_last_day_is_given_once_where_the_longest_tier_was_the_definite_one():
    assert codes(asked(UNIT, FIVE_OR_TEN, "2026-01-01", registered_on="2015-05-01")) == ["ended"]


# --------------------------------------------------------------------------------------- a component replaced before


def renewed(rule, *tiers, **named):
    return terms(pays(*(tiers or [months(60)])), replacement={"rule": rule, "months": 12}, **named)


def fixed(*days, component="sensor", new_part=True, **facts):
    repairs = tuple(repair(component, on, repaired_on=on, new_part=new_part) for on in days)
    return unit(installed_on="2015-04-14", repairs=repairs, **facts)


@pytest.mark.parametrize(
    ("rule", "on", "expected", "days"),
    [
        # Replaced on February 1, 2020, two and a half months before the five years end.
        ("remainder", "2020-04-14", COVERED, ("2015-04-14", "2020-04-14", None)),
        ("remainder", "2020-04-15", NOT_COVERED, ("2015-04-14", "2020-04-14", None)),
        ("longer of", "2020-02-01", COVERED, ("2015-04-14", "2020-04-14", None)),  # a failure on the day of the repair
        ("longer of", "2020-02-02", COVERED, ("2020-02-01", "2021-02-01", None)),
        ("longer of", "2021-02-01", COVERED, ("2020-02-01", "2021-02-01", None)),
        ("longer of", "2021-02-02", NOT_COVERED, ("2020-02-01", "2021-02-01", None)),
        ("fresh", "2020-02-01", COVERED, ("2015-04-14", "2020-04-14", None)),
        ("fresh", "2020-02-02", COVERED, ("2020-02-01", "2021-02-01", None)),
        ("fresh", "2021-02-02", NOT_COVERED, ("2020-02-01", "2021-02-01", None)),
    ],
)
def test_what_a_replaced_part_has(rule, on, expected, days):
    answer = asked(fixed("2020-02-01"), renewed(rule), on)
    assert (answer.result, span(answer)) == (expected, days)


@pytest.mark.parametrize(
    ("rule", "on", "expected", "last"),
    [
        # Replaced on May 1, 2016: a year of its own is less than what is left of the five.
        ("longer of", "2020-04-14", COVERED, "2020-04-14"),
        ("fresh", "2017-05-01", COVERED, "2017-05-01"),
        ("fresh", "2017-05-02", NOT_COVERED, "2017-05-01"),
    ],
)
def test_a_fresh_length_holds_even_where_it_is_the_shorter(rule, on, expected, last):
    answer = asked(fixed("2016-05-01"), renewed(rule), on)
    assert (answer.result, span(answer)[1]) == (expected, last)


@pytest.mark.parametrize(("repaired_on", "last"), [("2019-04-14", "2020-04-14"), ("2019-04-15", "2020-04-15")])
def test_the_longer_of_two_equal_ends_is_the_units_own(repaired_on, last):
    answer = asked(fixed(repaired_on), renewed("longer of"), "2020-01-01")
    assert span(answer)[1] == last
    assert ("part_replaced" in codes(answer)) is (last == "2020-04-15")


@pytest.mark.parametrize(("matched", "expected"), [(False, NOT_COVERED), (None, COVERED_IF)])
def test_a_replaced_part_has_its_own_length_where_the_unit_has_no_definite_one(matched, expected):
    paper = renewed("longer of", months(120, "matched system"))
    at = fixed("2020-02-01", matched_system=matched)
    assert asked(at, paper, "2020-02-01").result == expected
    assert asked(at, paper, "2021-02-01").result == COVERED
    assert asked(at, paper, "2021-02-02").result == expected
    assert span(asked(at, paper, "2020-03-01"))[:2] == ("2020-02-01", "2021-02-01")


def test_the_end_of_a_replaced_part_is_not_told_as_that_of_the_units_own_length():
    answer = asked(fixed("2020-02-01"), renewed("longer of"), "2021-03-01")
    assert answer.reasons[:2] == (
        Reason(Code.PART_REPLACED, what="sensor", day=day("2020-02-01"), until=day("2021-02-01")),
        Reason(Code.ENDED, until=day("2021-02-01")),
    )


def test_the_latest_replacement_counts():
    answer = asked(fixed("2021-06-01", "2020-02-01", "2022-12-01"), renewed("longer of"), "2022-05-01")
    assert answer.reasons[0] == Reason(
        Code.PART_REPLACED, what="sensor", day=day("2021-06-01"), until=day("2022-06-01")
    )


@pytest.mark.parametrize(
    ("at", "component", "kind"),
    [
        (fixed("2020-02-01", new_part=False), "sensor", "parts"),  # nothing new went in
        (fixed("2020-02-01"), "compressor", "parts"),  # another component
        (fixed("2020-02-01"), "sensor", "labor"),  # bears on parts alone
    ],
)
def test_what_is_no_replaced_part(at, component, kind):
    paper = terms(pays(months(60)), pays(months(60), kind="labor"), replacement={"rule": "fresh", "months": 12})
    answer = asked(at, paper, "2020-03-01", component=component, kind=kind)
    assert span(answer) == ("2015-04-14", "2020-04-14", None)


def test_the_days_of_a_replaced_part_follow_the_papers_own_convention():
    counted = renewed("fresh", counts_first_day=True)
    in_days = terms(pays(months(60)), replacement={"rule": "fresh", "days": 90})
    assert span(asked(fixed("2020-02-01"), counted, "2020-03-01"))[1] == "2021-01-31"
    assert span(asked(fixed("2020-02-01"), in_days, "2020-03-01"))[1] == "2020-05-01"


def test_a_replaced_part_knows_no_waiting():
    paper = terms(pays(months(12), waits_days=60), replacement={"rule": "fresh", "months": 12})
    assert asked(fixed("2015-05-01"), paper, "2015-05-02").result == COVERED


def test_where_fresh_decides_there_is_no_nearest_miss():
    paper = renewed("fresh", months(12), months(120, "registered"), registration=registration())
    assert codes(asked(fixed("2016-02-01"), paper, "2018-01-01", registered_on="2016-01-01")) == [
        "part_replaced",
        "ended",
    ]
    assert asked(fixed("2016-02-01"), paper, "2018-01-01", registered_on="2015-04-20").result == NOT_COVERED


def test_where_fresh_decides_there_are_no_waiting_days_either():
    paper = terms(pays(months(60), waits_days=400), replacement={"rule": "fresh", "days": 90})
    assert codes(asked(fixed("2015-05-01"), paper, "2015-08-31")) == ["part_replaced", "ended"]
    assert codes(asked(fixed("2015-05-01"), paper, "2015-05-01")) == ["waiting_days"]


def test_a_longer_possible_term_stands_beside_the_replaced_parts_own():
    paper = renewed("longer of", months(12), months(120, "matched system"))
    inside = asked(fixed("2016-02-01"), paper, "2017-02-01")
    after = asked(fixed("2016-02-01"), paper, "2017-02-03")
    assert (inside.result, span(inside)) == (COVERED, ("2016-02-01", "2017-02-01", "2025-04-14"))
    assert (after.result, codes(after), needs(after)) == (
        COVERED_IF,
        ["tier_used", "part_replaced"],
        ["condition_open"],
    )


@pytest.mark.parametrize(("before", "expected"), [("2020-02-01", None), ("2020-02-02", "2020-02-01")])
def test_a_replacement_counts_from_the_day_after_it(before, expected):
    found = last_replaced(fixed("2020-02-01").repairs, "sensor", before=day(before))
    assert found == (expected and day(expected))


# ---------------------------------------------------------------------------------------------------- terms held


def codes_held(at, *papers, withdrawn=()):
    told = [holding(paper) if isinstance(paper, Terms) else paper for paper in papers]
    return [found.terms.code for found in held(at, told, frozenset(withdrawn))]


@pytest.mark.parametrize(
    ("maker", "model", "fits"),
    [
        ("Halvik", "HW36", True),
        ("HALVIK", "hw 36-A", True),
        ("Hal-vik", "HW36", True),
        ("Halvik", "HC36", False),
        ("Halvik", "AHW36", False),
        ("Halvika", "HW36", False),
        ("", "HW36", False),
    ],
)
def test_terms_are_held_by_maker_and_model(maker, model, fits):
    at = unit(maker=maker, model=model, installed_on="2015-04-14")
    assert codes_held(at, terms(models=["HW*"])) == (["paper"] if fits else [])


@pytest.mark.parametrize(
    ("installed_on", "fits"),
    [("2014-12-31", False), ("2015-01-01", True), ("2021-12-31", True), ("2022-01-01", False), (None, True)],
)
def test_terms_are_held_by_the_day_on_which_they_would_start(installed_on, fits):
    paper = terms(installed_from=day("2015-01-01"), installed_to=day("2021-12-31"))
    at = unit(maker="Halvik", model="HW36", installed_on=installed_on)
    assert codes_held(at, paper) == (["paper"] if fits else [])


def test_terms_reckon_the_day_in_their_own_way():
    at = unit(maker="Halvik", model="HW36", installed_on="2014-12-31", started_on="2015-01-01")
    by_start = terms(installed_from=day("2015-01-01"), starts=[{"from": "started_on"}])
    assert codes_held(at, by_start) == ["paper"]
    assert codes_held(at, terms(installed_from=day("2015-01-01"))) == []


@pytest.mark.parametrize(("by_us", "expected"), [(True, ["ours"]), (False, [])])
def test_our_own_promise_is_for_what_we_installed(by_us, expected):
    ours = terms(code="ours", payer="installer", maker="*")
    assert (
        codes_held(unit(maker="Halvik", model="X", installed_on="2020-01-01", installed_by_us=by_us), ours) == expected
    )


def test_a_makers_promise_is_held_whoever_installed():
    at = unit(maker="Halvik", model="X", installed_on="2020-01-01", installed_by_us=False)
    assert codes_held(at, terms()) == ["paper"]


def test_a_labor_plan_is_held_only_where_it_was_bought():
    plan = terms(code="plan", payer="labor plan", maker="*")
    at = unit(maker="Halvik", model="X", installed_on="2020-01-01")
    assert codes_held(at, plan) == []
    assert codes_held(at, holding(plan, attached_on="2020-01-01")) == ["plan"]
    assert codes_held(at, holding(plan, attached=True)) == ["plan"]


def test_what_was_promised_for_the_unit_is_held_whatever_its_maker_model_and_days():
    other = terms(maker="Brantholm", models=["Z"], installed_from=day("2050-01-01"))
    at = unit(maker="Halvik", model="X", installed_on="2020-01-01", installed_by_us=False)
    assert codes_held(at, holding(other, attached_on="2020-01-01")) == ["paper"]


def test_terms_that_others_replace_are_held_no_more():
    old, new = terms(code="old"), terms(code="new")
    at = unit(maker="Halvik", model="X", installed_on="2020-01-01")
    assert codes_held(at, old, new, withdrawn=["old"]) == ["new"]
    assert codes_held(at, holding(old, attached_on="2020-01-01"), withdrawn=["old"]) == []


def test_answers_come_in_the_order_of_payers_codes_and_kinds():
    def paper(code, payer):
        return holding(
            terms(pays(months(12), kind="labor"), pays(months(12)), code=code, payer=payer), attached_on="2020-01-01"
        )

    told = [paper("a", "installer"), paper("b", "labor plan"), paper("d", "maker"), paper("c", "maker")]
    at = unit(maker="Halvik", installed_on="2020-01-01")
    found = answers(at, held(at, told), "sensor", on=day("2020-02-01"), asked=day("2020-02-01"))
    assert [(answer.terms, answer.kind) for answer in found] == [
        (code, kind) for code in ("c", "d", "b", "a") for kind in ("parts", "labor")
    ]


def test_only_kinds_that_some_coverage_pays_for_are_answered():
    paper = terms(pays(months(12), kind="freight", components=("compressor",)), pays(months(12)))
    found = answers(UNIT, [holding(paper)], "sensor", on=day("2016-01-01"), asked=day("2016-01-01"))
    assert [(answer.kind, answer.result) for answer in found] == [("parts", COVERED), ("freight", NOT_COVERED)]


# ----------------------------------------------------------------------------------------------------------- clocks

CLAIMS = {"file_within_days": 45, "part_back_within_days": 21}


def clocked(repairs=(), kind="parts", on="2016-01-31", component="sensor", at=UNIT, **claims):
    paper = terms(pays(months(60)), pays(months(60), kind="labor"), claims=CLAIMS | claims)
    answer = asked(at, paper, on, kind=kind, component=component)
    return clocks(answer, paper, repairs, component, on=day(on))


def both(file_by, part_back_by):
    return Clocks(file_by and day(file_by), part_back_by and day(part_back_by))


FIXED = repair("sensor", "2016-01-31", repaired_on="2016-02-10", part_taken_on="2016-02-08")


@pytest.mark.parametrize(
    ("claims", "repairs", "expected"),
    [
        ({}, (), both("2016-03-16", "2016-02-21")),
        ({"file_counted_from": "repaired_on"}, (), both(None, "2016-02-21")),
        ({"file_counted_from": "repaired_on"}, (FIXED,), both("2016-03-26", "2016-02-21")),
        ({"part_back_counted_from": "part_taken_on"}, (), both("2016-03-16", None)),
        ({"part_back_counted_from": "part_taken_on"}, (FIXED,), both("2016-03-16", "2016-02-29")),
        ({"old_part": "return if asked"}, (), both("2016-03-16", "2016-02-21")),
        ({"old_part": "plate only"}, (), both("2016-03-16", None)),
        ({"old_part": "keep until credited"}, (), both("2016-03-16", None)),
    ],
)
def test_the_clocks_of_a_claim(claims, repairs, expected):
    assert clocked(repairs, **claims) == expected


def test_the_old_part_goes_back_for_parts_alone():
    assert clocked(kind="labor") == both("2016-03-16", None)


def test_only_the_repair_of_this_very_failure_starts_a_clock():
    others = (
        repair("compressor", "2016-01-31", repaired_on="2016-02-10"),
        repair("sensor", "2016-01-30", repaired_on="2016-02-10"),
    )
    assert clocked(others, file_counted_from="repaired_on").file_by is None


@pytest.mark.parametrize(("on", "runs"), [("2020-04-14", True), ("2020-04-15", False)])
def test_nothing_runs_where_nothing_is_covered(on, runs):
    assert (clocked(on=on) != Clocks(None, None)) is runs


def test_terms_without_clocks_have_none():
    answer = asked(UNIT, FIVE, "2016-01-31")
    assert clocks(answer, FIVE, (FIXED,), "sensor", on=day("2016-01-31")) == Clocks(None, None)


# ----------------------------------------------------------------------------------------------------------- groups


def grouped(at, paper, on="2016-01-01"):
    return [(group.kind, group.components, group.answer.result) for group in groups(at, holding(paper), on=day(on))]


def test_components_are_grouped_by_what_is_promised_for_them():
    paper = terms(
        pays(months(6)),
        pays(months(84), components=("outdoor coil", "compressor")),
        pays(months(12), kind="labor"),
    )
    assert grouped(UNIT, paper) == [
        ("parts", ("*",), NOT_COVERED),
        ("parts", ("outdoor coil", "compressor"), COVERED),
        ("labor", ("*",), COVERED),
    ]


def test_a_part_that_was_replaced_stands_alone():
    paper = terms(pays(months(6), components=("sensor", "compressor")), replacement={"rule": "fresh", "months": 12})
    assert grouped(fixed("2015-12-01"), paper) == [
        ("parts", ("compressor",), NOT_COVERED),
        ("parts", ("sensor",), COVERED),
    ]
    assert grouped(fixed("2015-12-01"), terms(pays(months(6)), replacement={"rule": "fresh", "months": 12})) == [
        ("parts", ("*",), NOT_COVERED),
        ("parts", ("sensor",), COVERED),
    ]


@pytest.mark.parametrize(
    "mended",
    [
        repair("sensor", "2015-11-20", repaired_on="2015-12-01"),  # nothing new went in
        repair("sensor", "2015-11-20", new_part=True),  # the part was taken, and no day of the repair is on file
    ],
)
def test_a_failure_without_a_new_part_or_a_day_changes_nothing(mended):
    paper = terms(pays(months(6)), replacement={"rule": "fresh", "months": 12})
    at = unit(installed_on="2015-04-14", repairs=(mended,))
    assert grouped(at, paper) == grouped(UNIT, paper) == [("parts", ("*",), NOT_COVERED)]
    for on in ("2015-10-01", "2015-11-30", "2016-11-01"):
        assert next_change(at, holding(paper), on=day(on)) == next_change(UNIT, holding(paper), on=day(on))


def test_each_component_of_a_group_gets_the_groups_answer():
    paper = terms(
        pays(months(6)),
        pays(months(84), components=("outdoor coil", "compressor")),
        replacement={"rule": "longer of", "months": 12},
    )
    at = fixed("2015-12-01", component="compressor")
    for group in groups(at, holding(paper), on=day("2016-01-01")):
        for component in group.components:
            named = "any other" if component == "*" else component
            assert asked(at, paper, "2016-01-01", component=named) == group.answer


def test_results_are_words_that_programs_may_rely_on():
    assert [str(result) for result in Result] == [COVERED, COVERED_IF, NOT_COVERED, CANNOT_SAY]
    assert table()["coverage"] == [pays(months(60))]


# ---------------------------------------------------------------------- common practice in the trade, no source (CP-05)


@pytest.mark.parametrize(("on", "expected"), [("2026-11-20", COVERED), ("2026-11-21", NOT_COVERED)])
def test_a_registered_ductless_system_has_ten_years_on_parts_and_some_have_ten_on_labor(on, expected):
    """CP-05: common practice, no source."""
    paper = terms(
        pays(months(60), months(120, "registered")), pays(months(120), kind="labor"), registration=registration(90)
    )
    at = unit(installed_on="2016-11-20")
    for kind in ("parts", "labor"):
        assert asked(at, paper, on, kind=kind, registered_on="2016-12-01").result == expected
