"""Deadlines of every kind: their order, the day of a step that comes before the work, what hangs on them, and what to say first."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import conditions, lost
from fleet.rules.coverage import answers
from fleet.rules.deadlines import Deadline, Kind, Who, before_anyone_goes_out, of_decision, rank, registers, step_day
from fleet.rules.decisions import Decision
from fleet.rules.facts import Holding, Site, Stay, Unit, Use
from fleet.rules.lost import Lost
from fleet.rules.terms_table import read
from fleet.rules.wording import deadlines as wording
from tests.facts import day
from tests.rows import TERMS

ON = day("2026-03-02")


def deadline(kind=Kind.FILE, last=None, **named):
    return Deadline(kind, last and day(last), Who.WE, **named)


def test_a_step_whose_work_is_ahead_stands_first_and_what_waits_for_a_day_last():
    in_order = [
        deadline(Kind.APPROVAL, ahead=True),
        deadline(last="2026-02-01"),
        deadline(Kind.REGISTER, "2026-03-02"),
        deadline(Kind.APPROVAL, "2026-03-05", ahead=True),
        deadline(last="2026-03-09"),
        deadline(),
    ]
    in_any = [*in_order[3:], *in_order[:3]]
    assert sorted(in_any, key=rank) == in_order


@pytest.mark.parametrize(
    ("booked", "expected"),
    [
        pytest.param([], None, id="nothing is booked"),
        pytest.param(["2026-03-01"], None, id="a visit of yesterday"),
        pytest.param(["2026-03-02"], "2026-03-02", id="a visit today"),
        pytest.param(["2026-03-09", "2026-03-03", "2026-03-01"], "2026-03-03", id="the first of those to come"),
    ],
)
def test_a_step_before_the_work_has_the_day_of_the_booked_visit(booked, expected):
    assert step_day(map(day, booked), on=ON) == (expected and day(expected))


@given(st.lists(st.dates(day("2026-01-01"), day("2026-05-01"))))
def test_the_day_of_a_step_is_never_past(booked):
    found = step_day(booked, on=ON)
    assert (found is None) == all(one < ON for one in booked)
    assert found is None or found == min(one for one in booked if one >= ON)


@pytest.mark.parametrize(("last", "left"), [("2026-03-01", -1), ("2026-03-02", 0), ("2026-03-03", 1), (None, None)])
def test_the_days_left(last, left):
    assert deadline(last=last).days_left(ON) == left


@pytest.mark.parametrize(("by", "who"), [("owner", Who.CUSTOMER), ("installer", Who.WE), ("either", Who.EITHER)])
def test_who_can_register(by, who):
    assert registers(by) is who


@pytest.mark.parametrize(
    ("what", "kind", "last"),
    [
        ("renewal", Kind.DECIDE, "2026-03-02"),
        ("over", Kind.DECIDE, "2026-03-02"),
        ("notice", Kind.NOTICE, "2026-03-02"),
        ("unpaid", Kind.DECIDE, "2026-04-01"),  # 30 days to pay
    ],
)
def test_the_last_day_of_what_an_agreement_waits_for(what, kind, last):
    assert of_decision(Decision(what, ON)) == (kind, day(last))


# ------------------------------------------------------------------------------------------------ what hangs on it


def table(**named):
    tiers = [{"months": 60}, {"months": 120, "when": ["registered", "first owner"]}]
    return read(
        TERMS
        | {
            "registration": {"within_days": 60, "counted_from": "installed_on"},
            "coverage": [{"pays_for": ["parts"], "components": ["*"], "tiers": tiers}],
            "transfer": {"rule": "notice", "within_days": 90},
        }
        | named
    )


def unit(installed="2026-01-15", sold=()):
    site = Site("US-ME", (Use("owner home"),), sold_on=tuple(map(day, sold)))
    return Unit("Osmarik", "OC-9", (Stay(site),), installed_on=day(installed))


def test_what_hangs_on_registering_is_what_would_be_lost():
    found = lost.by_not_registering(unit(), Holding(table()), on=ON)
    # To January 15, 2031 in place of January 15, 2036: 1,826 days.
    assert found == (Lost("parts", ("*",), 1826, day("2031-01-15"), day("2036-01-15"), perhaps=False),)
    assert wording.worth(None, found, units=3) == "5 more years of parts on 3 units"


def test_where_nothing_hangs_on_it_nothing_is_lost():
    paper = table(coverage=[{"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60}]}])
    assert lost.by_not_registering(unit(), Holding(paper), on=ON) == ()


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        pytest.param("2025-08-31", None, id="the day before the sale"),
        pytest.param("2025-09-01", "2025-11-30", id="the day of the sale"),
        pytest.param("2025-11-29", "2025-11-30", id="the day before the last"),
        pytest.param("2025-11-30", "2025-11-30", id="the last day"),
        pytest.param("2025-12-01", None, id="the day after"),
    ],
)
def test_a_payer_is_to_be_told_of_a_sale_until_the_last_day(asked, expected):
    """Ninety days from September 1, 2025 end on November 30."""
    here = unit("2021-01-15", sold=["2025-09-01"])
    holding = Holding(table(), registered_on=day("2021-02-01"))
    found = conditions.notice_by(here, holding, start=day("2021-01-15"), asked=day(asked))
    assert found == (expected and (day("2025-09-01"), day(expected)))
    if expected:
        stake = lost.by_not_notifying(here, holding, day(expected), on=day(asked))
        assert stake == (Lost("parts", ("*",), 1826, day("2026-01-15"), day("2031-01-15"), perhaps=False),)


def test_a_payer_that_was_told_need_not_be_told_again():
    here = unit("2021-01-15", sold=["2025-09-01"])
    holding = Holding(table(), registered_on=day("2021-02-01"), notified_on=(day("2025-10-01"),))
    assert conditions.notice_by(here, holding, start=day("2021-01-15"), asked=day("2025-11-01")) is None
    assert conditions.notice_by(here, Holding(table(transfer={"rule": "none"})), start=ON, asked=ON) is None


def test_a_second_sale_leaves_only_until_the_day_before_it():
    here = unit("2021-01-15", sold=["2025-09-01", "2025-10-01"])
    holding = Holding(table(), registered_on=day("2021-02-01"))
    first = conditions.notice_by(here, holding, start=day("2021-01-15"), asked=day("2025-09-30"))
    assert first == (day("2025-09-01"), day("2025-09-30"))
    after = conditions.notice_by(here, holding, start=day("2021-01-15"), asked=day("2025-10-01"))
    assert after == (day("2025-10-01"), day("2025-12-30"))


# --------------------------------------------------------------------------------------------- before anyone goes out


def steps(component, on="2026-03-02", **claims):
    paper = table(claims=claims)
    here, holding = unit(), Holding(paper)
    found = answers(here, (holding,), component, on=day(on), asked=ON)
    return [step.kind for step in before_anyone_goes_out(found, [paper], component)]


@pytest.mark.parametrize(
    ("component", "on", "claims", "expected"),
    [
        ("compressor", "2026-03-02", {}, []),
        ("compressor", "2026-03-02", {"leave_first": ["compressor"]}, [Kind.APPROVAL]),
        ("sensor", "2026-03-02", {"leave_first": ["compressor"]}, []),
        ("sensor", "2026-03-02", {"leave_first": ["compressor"], "form_before_part": True}, [Kind.FORM]),
        (
            "compressor",
            "2026-03-02",
            {"leave_first": ["compressor"], "form_before_part": True},
            [Kind.APPROVAL, Kind.FORM],
        ),
        # Nothing is covered any more on the day that it failed.
        ("compressor", "2036-01-16", {"leave_first": ["compressor"], "form_before_part": True}, []),
    ],
)
def test_what_must_be_done_before_anyone_goes_out(component, on, claims, expected):
    assert steps(component, on, **claims) == expected


def test_what_is_done_is_not_said_again():
    paper = table(claims={"leave_first": ["compressor"], "form_before_part": True})
    found = answers(unit(), (Holding(paper),), "compressor", on=ON, asked=ON)
    left = before_anyone_goes_out(found, [paper], "compressor", done=[Kind.APPROVAL])
    assert [step.kind for step in left] == [Kind.FORM]
    assert wording.before(left[0], "Northrill", "compressor") == (
        "Before anyone goes out: fill out the claim form for Northrill before picking up the new part."
    )


# ------------------------------------------------------------------------------------------------------------ words


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (Lost("parts", ("*",), 30, ON, ON), "1 more month of parts"),
        (Lost("parts", ("*",), 10, ON, ON), "10 more days of parts"),
        (Lost("labor", ("compressor",), 548, None, ON), "1 year and 6 months of labor for the compressor"),
        (Lost("labor", ("*",), 548, ON, ON, perhaps=True), "up to 1 more year and 6 months of labor"),
        (Lost("parts", ("*",), None, ON, None), "the rest of a lifetime of parts"),
        (Lost("parts", ("*",), None, None, None), "a lifetime of parts"),
    ],
)
def test_what_would_be_lost_in_words(one, said):
    assert wording.worth(None, [one]) == said
    assert wording.worth(Decimal("80.00"), [one]) == "up to $80.00"


def test_the_same_length_is_said_once():
    both = [Lost(kind, ("*",), 1826, ON, ON) for kind in ("parts", "labor")]
    assert wording.worth(None, both, units=2) == "5 more years of parts and labor on 2 units"
    longer = replace(both[0], days=3652)
    assert wording.worth(None, [longer, both[1]]) == "10 more years of parts; 5 more years of labor"


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_words(kind):
    assert wording.KINDS[kind]
    about_a_payer = kind not in (Kind.DECIDE, Kind.NOTICE, Kind.PROMISE)
    assert ("Northrill" in wording.to_do(kind, "Northrill", component="compressor")) is about_a_payer
