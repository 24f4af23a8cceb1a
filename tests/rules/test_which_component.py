"""By when must somebody say which component failed? Each deadline on its day, the days around it, and while no day is known."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import which_component, words
from fleet.rules.claims import Days
from fleet.rules.terms import ClaimTerms
from fleet.rules.which_component import Possible, may_run, say_by
from tests.facts import day, holding, months, pays, terms, unit

BOARD_AND_PUMP = [
    pays(months(60), components=("control board",)),
    pays(months(24), components=("drain pump",)) | {"pays_for": ["parts", "labor"]},
]


def by(
    failed_on="2024-03-08",
    asked="2024-03-10",
    started_on="2022-03-08",
    named=("control board", "drain pump", "sensor"),
    rules=None,
    told=None,
    **of_terms,
):
    """By when to say it, as (terms, day, after which day nothing can be filed, kinds of cost); None where no payer may pay."""
    held = holding(terms(*BOARD_AND_PUMP, starts=[{"from": "started_on"}], **of_terms))
    found = may_run(
        unit(started_on=started_on),
        [held],
        named,
        {held.terms.code: ClaimTerms(**(rules or {}))},
        days=Days(day(failed_on), **{name: day(text) for name, text in (told or {}).items()}),
        asked=day(asked),
    )
    one = say_by(found)
    return one and (one.last and str(one.last), one.lapses_on and str(one.lapses_on), one.kinds)


@pytest.mark.parametrize(
    ("failed_on", "expected"),
    [
        pytest.param(
            "2024-03-07", ("2024-04-21", "2024-04-21", ("parts", "labor")), id="the day before the pump's last day"
        ),
        pytest.param("2024-03-08", ("2024-04-22", "2024-04-22", ("parts", "labor")), id="the pump's last day"),
        pytest.param("2024-03-09", ("2024-04-23", "2024-04-23", ("parts",)), id="the day after: the board alone"),
        pytest.param("2027-03-08", ("2027-04-22", "2027-04-22", ("parts",)), id="the board's last day"),
        pytest.param("2027-03-09", None, id="the day after: nothing may be paid"),
    ],
)
def test_only_what_may_be_paid_has_a_day(failed_on, expected):
    assert by(failed_on, failed_on, rules={"file_within_days": 45}) == expected


@pytest.mark.parametrize("asked", ["2024-04-21", "2024-04-22", "2024-04-23"])
def test_the_day_stays_the_same_the_day_before_it_on_it_and_after_it(asked):
    assert by(asked=asked, rules={"file_within_days": 45})[0] == "2024-04-22"


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        pytest.param({}, (None, None), id="no deadline at all"),
        pytest.param({"file_within_days": 45, "file_counted_from": "repaired_on"}, (None, None), id="filed from a repair that is not there"),
        pytest.param({"file_within_days": 45, "part_back_within_days": 21}, ("2024-03-29", "2024-04-22"), id="the part back comes first"),
        pytest.param({"file_within_days": 10, "part_back_within_days": 21}, ("2024-03-18", "2024-03-18"), id="filing comes first"),
        pytest.param({"part_back_within_days": 21}, ("2024-03-29", None), id="only the part back: it may be filed on any day"),
        pytest.param({"part_back_within_days": 21, "old_part": "keep until credited"}, (None, None), id="the part is not wanted back"),
        pytest.param({"form_before_part": True, "leave_first": ("control board",)}, (None, None), id="steps in order have no day"),
    ],
)  # fmt: skip
def test_the_first_of_what_runs(rules, expected):
    assert by(rules=rules)[:2] == expected


def test_a_component_that_no_terms_name_brings_no_deadline():
    assert by(named=("sensor", "louver"), rules={"file_within_days": 45}) is None
    assert by(named=(), rules={"file_within_days": 45}) is None


def test_our_own_workmanship_has_nobody_to_file_with_unless_its_paper_says_how():
    ours = {"payer": "installer", "maker": "*", "code": "ours-1"}
    assert by(**ours) is None
    assert by(**ours, rules={"file_within_days": 10}) == ("2024-03-18", "2024-03-18", ("parts", "labor"))


def test_what_is_not_certain_may_still_be_paid():
    """A start that nobody recorded leaves every answer open, so the deadline runs all the same."""
    found = may_run(
        unit(),
        [held := holding(terms(*BOARD_AND_PUMP))],
        ("control board",),
        {held.terms.code: ClaimTerms(file_within_days=45)},
        days=Days(day("2024-03-08")),
        asked=day("2024-03-10"),
    )
    assert say_by(found).last == day("2024-04-22")


def test_each_role_has_components_that_may_have_failed():
    for role in words.ROLES:
        assert which_component.possible(role), role
    assert "compressor" in which_component.possible("outdoor")
    assert "compressor" not in which_component.possible("head")


some_day = st.none() | st.dates(dt.date(2024, 1, 1), dt.date(2024, 12, 31))
some = st.builds(
    Possible,
    terms=st.sampled_from(["a", "b"]),
    last=some_day,
    lapses_on=some_day,
    kinds=st.sets(st.sampled_from(words.KINDS)).map(tuple),
)


@given(st.lists(some, min_size=1))
def test_no_claim_runs_out_before_the_day_that_is_said(found):
    one = say_by(found)
    known = [each.last for each in found if each.last]
    assert one.last == (min(known) if known else None)
    assert (one.lapses_on is None) == any(each.lapses_on is None for each in found)
    assert all(one.lapses_on is None or each.lapses_on <= one.lapses_on for each in found)
    assert set(one.kinds) == {kind for each in found for kind in each.kinds}


@given(st.lists(some), some)
def test_one_more_that_may_have_failed_never_brings_a_later_day(found, another):
    before, after = say_by(found), say_by([*found, another])
    if before is not None and before.last is not None:
        assert after.last <= before.last
