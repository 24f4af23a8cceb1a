"""When does a clock of a claim run out? Each on the day before, the day, the day after, and while its day is unknown."""

from decimal import Decimal

import pytest

from fleet.rules import answer_clocks, coverage
from fleet.rules.claims import Days, State
from fleet.rules.clocks import ClockKind, ClockState, SupplierRules, clocks, through, urgency
from fleet.rules.terms import ClaimTerms
from tests.facts import day, holding, repair, terms, unit


def found(
    kind,
    asked="2024-04-01",
    component="indoor coil",
    kinds=("parts",),
    state=State.GATHERING,
    part_asked_for=None,
    told=None,
    **rules,
):
    """The clock of one kind as (state, last day, days left), or None where there is none; it failed on March 8, 2024."""
    days = Days(day("2024-03-08"), **{name: day(text) for name, text in (told or {}).items()})
    all_found = clocks(
        days,
        ClaimTerms(**rules),
        component=component,
        kinds=kinds,
        state=state,
        asked=day(asked),
        part_asked_for=part_asked_for,
    )
    (clock,) = [clock for clock in all_found if clock.kind is kind] or [None]
    return clock and (str(clock.state), clock.last and str(clock.last), clock.days_left(day(asked)))


# ----------------------------------------------------------------------------------------------------------- filing

FILE = {"file_within_days": 45}


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        pytest.param("2024-03-08", ("running", "2024-04-22", 45), id="on the failure"),
        pytest.param("2024-04-21", ("running", "2024-04-22", 1), id="the day before"),
        pytest.param("2024-04-22", ("running", "2024-04-22", 0), id="the last day"),
        pytest.param("2024-04-23", ("missed", "2024-04-22", -1), id="the day after"),
        pytest.param("2024-06-01", ("missed", "2024-04-22", -40), id="long after"),
    ],
)
def test_the_last_day_to_file(asked, expected):
    assert found(ClockKind.FILE, asked, **FILE) == expected


@pytest.mark.parametrize(
    ("filed_on", "expected"),
    [
        ("2024-04-21", ("kept", "2024-04-22", None)),
        ("2024-04-22", ("kept", "2024-04-22", None)),
        ("2024-04-23", ("missed", "2024-04-22", None)),
    ],
)
def test_filed_around_the_last_day(filed_on, expected):
    assert found(ClockKind.FILE, "2024-06-01", state=State.FILED, told={"filed_on": filed_on}, **FILE) == expected


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        pytest.param({}, ("waiting", None, None), id="not repaired yet"),
        pytest.param({"repaired_on": "2024-03-12"}, ("running", "2024-04-26", 25), id="repaired four days later"),
        pytest.param({"filed_on": "2024-03-10"}, ("kept", None, None), id="filed before the repair"),
    ],
)
def test_filing_counted_from_the_repair(told, expected):
    assert found(ClockKind.FILE, told=told, file_counted_from="repaired_on", **FILE) == expected


def test_no_day_to_file_by_where_the_paper_names_none():
    assert found(ClockKind.FILE) is None


def test_zero_days_end_on_the_day_itself():
    assert found(ClockKind.FILE, "2024-03-08", file_within_days=0) == ("running", "2024-03-08", 0)
    assert found(ClockKind.FILE, "2024-03-09", file_within_days=0) == ("missed", "2024-03-08", -1)


def test_a_leap_day_counts():
    """45 days from February 1, 2024 end on March 17, a year later on March 18."""
    for year, last in (("2024", "2024-03-17"), ("2025", "2025-03-18")):
        (clock,) = clocks(
            Days(day(f"{year}-02-01")), ClaimTerms(**FILE), component="sensor", kinds=("labor",), state=State.GATHERING,
            asked=day(f"{year}-02-01"),
        )  # fmt: skip
        assert str(clock.last) == last


# ---------------------------------------------------------------------------------------------------- the old part back

BACK = {"part_back_within_days": 21}


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        pytest.param("2024-03-28", ("running", "2024-03-29", 1), id="the day before"),
        pytest.param("2024-03-29", ("running", "2024-03-29", 0), id="the last day"),
        pytest.param("2024-03-30", ("missed", "2024-03-29", -1), id="the day after"),
    ],
)
def test_the_last_day_for_the_old_part(asked, expected):
    assert found(ClockKind.PART_BACK, asked, **BACK) == expected


@pytest.mark.parametrize(
    ("part_back_on", "expected"),
    [("2024-03-28", "kept"), ("2024-03-29", "kept"), ("2024-03-30", "missed")],
)
def test_the_old_part_sent_around_its_last_day(part_back_on, expected):
    state, last, left = found(ClockKind.PART_BACK, told={"part_back_on": part_back_on}, **BACK)
    assert (state, last, left) == (expected, "2024-03-29", None)


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        pytest.param({}, ("waiting", None, None), id="no part taken yet"),
        pytest.param({"part_taken_on": "2024-03-11"}, ("running", "2024-04-01", 0), id="taken three days later"),
    ],
)
def test_the_old_part_counted_from_taking_the_new(told, expected):
    assert found(ClockKind.PART_BACK, told=told, part_back_counted_from="part_taken_on", **BACK) == expected


@pytest.mark.parametrize(
    ("old_part", "part_asked_for", "runs"),
    [
        ("return", None, True),
        ("return", True, True),
        ("return", False, True),
        ("return if asked", None, True),
        ("return if asked", True, True),
        ("return if asked", False, False),
        ("plate only", None, False),
        ("plate only", True, False),
        ("keep until credited", None, False),
    ],
)
def test_the_old_part_has_a_day_only_where_it_is_wanted(old_part, part_asked_for, runs):
    """Under "return if asked" it has one until the payer says no, so that nobody misses it silently."""
    assert (found(ClockKind.PART_BACK, old_part=old_part, part_asked_for=part_asked_for, **BACK) is not None) is runs


def test_without_parts_there_is_no_old_part():
    assert found(ClockKind.PART_BACK, kinds=("labor", "refrigerant"), **BACK) is None
    assert found(ClockKind.PART_BACK, kinds=("labor", "parts"), **BACK) is not None


def test_no_day_for_the_old_part_where_the_paper_names_none():
    assert found(ClockKind.PART_BACK) is None


# ------------------------------------------------------------------------------------------- the form before the part


@pytest.mark.parametrize(
    ("told", "asked", "expected"),
    [
        pytest.param({}, "2024-03-09", ("first", None, None), id="neither done"),
        pytest.param({"form_on": "2024-03-09"}, "2024-03-10", ("kept", None, None), id="form made out, no part taken"),
        pytest.param({"filed_on": "2024-03-09"}, "2024-03-10", ("kept", None, None), id="filed at once, no part taken"),
        pytest.param(
            {"form_on": "2024-03-10", "part_taken_on": "2024-03-11"},
            "2024-03-12",
            ("kept", "2024-03-11", None),
            id="the day before",
        ),
        pytest.param(
            {"form_on": "2024-03-11", "part_taken_on": "2024-03-11"},
            "2024-03-12",
            ("kept", "2024-03-11", None),
            id="the same day",
        ),
        pytest.param(
            {"form_on": "2024-03-12", "part_taken_on": "2024-03-11"},
            "2024-03-12",
            ("missed", "2024-03-11", None),
            id="the day after",
        ),
        pytest.param(
            {"part_taken_on": "2024-03-11"}, "2024-03-11", ("running", "2024-03-11", 0), id="taken today, form today"
        ),
        pytest.param(
            {"part_taken_on": "2024-03-11"}, "2024-03-12", ("missed", "2024-03-11", -1), id="taken without a form"
        ),
        pytest.param(
            {"form_on": "2024-03-10", "filed_on": "2024-03-20", "part_taken_on": "2024-03-11"},
            "2024-03-20",
            ("kept", "2024-03-11", None),
            id="the form counts, not the filing",
        ),
    ],
)
def test_the_claim_form_comes_before_the_part(told, asked, expected):
    assert found(ClockKind.FORM, asked, told=told, form_before_part=True) == expected


def test_the_form_is_only_a_clock_where_the_paper_says_so_and_a_part_is_claimed():
    assert found(ClockKind.FORM) is None
    assert found(ClockKind.FORM, kinds=("labor",), form_before_part=True) is None


# -------------------------------------------------------------------------------------------------------- leave first


@pytest.mark.parametrize(
    ("told", "asked", "expected"),
    [
        pytest.param({}, "2024-03-09", ("first", None, None), id="neither"),
        pytest.param({"approved_on": "2024-03-09"}, "2024-03-10", ("kept", None, None), id="leave given, not replaced"),
        pytest.param(
            {"approved_on": "2024-03-11", "repaired_on": "2024-03-12"},
            "2024-03-13",
            ("kept", "2024-03-12", None),
            id="before",
        ),
        pytest.param(
            {"approved_on": "2024-03-12", "repaired_on": "2024-03-12"},
            "2024-03-13",
            ("kept", "2024-03-12", None),
            id="same day",
        ),
        pytest.param(
            {"approved_on": "2024-03-13", "repaired_on": "2024-03-12"},
            "2024-03-13",
            ("missed", "2024-03-12", None),
            id="after",
        ),
        pytest.param(
            {"repaired_on": "2024-03-12"}, "2024-03-13", ("missed", "2024-03-12", -1), id="replaced without leave"
        ),
    ],
)
def test_leave_comes_before_replacing_a_named_component(told, asked, expected):
    assert found(ClockKind.APPROVAL, asked, component="compressor", told=told, leave_first=("compressor",)) == expected


def test_leave_is_asked_for_named_components_only():
    assert found(ClockKind.APPROVAL, component="sensor", leave_first=("compressor", "indoor coil")) is None
    assert found(ClockKind.APPROVAL, component="compressor", kinds=("labor",), leave_first=("compressor",)) is None


# --------------------------------------------------------------------------------------------------- when it is over


@pytest.mark.parametrize(
    ("state", "expected"),
    [
        (State.GATHERING, "missed"),
        (State.FILED, "missed"),
        (State.ASKED_FOR_MORE, "missed"),
        (State.APPROVED, "missed"),
        (State.PART_APPROVED, "missed"),
        (State.DENIED, "missed"),
        (State.CREDITED, "stopped"),
        (State.WRITTEN_OFF, "stopped"),
        (State.WITHDRAWN, "stopped"),
    ],
)
def test_clocks_stop_when_a_claim_is_over(state, expected):
    at, _, left = found(ClockKind.PART_BACK, "2024-03-30", state=state, **BACK)
    assert at == expected
    assert (left is None) == (expected == "stopped")


def test_what_was_done_late_stays_late():
    assert found(ClockKind.FILE, state=State.CREDITED, told={"filed_on": "2024-04-23"}, **FILE)[0] == "missed"


# ---------------------------------------------------------------------------------------------------------- supplier

PAPER = ClaimTerms(
    form_before_part=False,
    file_within_days=45,
    file_counted_from="repaired_on",
    part_back_within_days=21,
    part_back_counted_from="failed_on",
    old_part="return if asked",
    leave_first=("compressor",),
    wants=("readings",),
    fee=Decimal("35.00"),
)


def test_without_a_supplier_the_paper_holds():
    assert through(PAPER, None) is PAPER
    assert through(PAPER, SupplierRules()) == PAPER


def test_a_suppliers_own_clocks_and_fee_hold():
    supplier = SupplierRules(
        form_before_part=True,
        file_within_days=30,
        part_back_within_days=7,
        part_back_counted_from="part_taken_on",
        old_part="return",
        fee=Decimal("50.00"),
    )
    assert through(PAPER, supplier) == ClaimTerms(
        form_before_part=True,
        file_within_days=30,
        file_counted_from="failed_on",
        part_back_within_days=7,
        part_back_counted_from="part_taken_on",
        old_part="return",
        leave_first=("compressor",),
        wants=("readings",),
        fee=Decimal("50.00"),
    )


def test_what_a_supplier_does_not_say_the_paper_does():
    rules = through(PAPER, SupplierRules(part_back_within_days=7, part_back_counted_from="part_taken_on"))
    assert (rules.file_within_days, rules.file_counted_from, rules.fee) == (45, "repaired_on", Decimal("35.00"))
    assert (rules.part_back_within_days, rules.part_back_counted_from) == (7, "part_taken_on")


def test_a_supplier_may_ask_for_no_fee():
    assert through(PAPER, SupplierRules(fee=Decimal(0))).fee == 0


def test_a_supplier_may_lift_the_form():
    assert through(ClaimTerms(form_before_part=True), SupplierRules(form_before_part=False)).form_before_part is False


@pytest.mark.parametrize(
    ("paper", "supplier", "expected"),
    [
        ("return", None, "return"),
        ("return if asked", None, "return if asked"),
        ("plate only", None, "return"),
        ("keep until credited", None, "return"),
        ("return", "plate only", "plate only"),
    ],
)
def test_a_supplier_with_a_day_for_the_old_part_wants_it_back(paper, supplier, expected):
    rules = through(ClaimTerms(old_part=paper), SupplierRules(part_back_within_days=7, old_part=supplier))
    assert rules.old_part == expected


# ------------------------------------------------------------------------------------------------------------ order


def test_the_clocks_come_in_the_order_of_the_work():
    days = Days(day("2024-03-08"))
    rules = ClaimTerms(form_before_part=True, leave_first=("compressor",), **FILE, **BACK)
    all_found = clocks(
        days, rules, component="compressor", kinds=("parts",), state=State.GATHERING, asked=day("2024-03-09")
    )
    assert [clock.kind for clock in all_found] == [
        ClockKind.APPROVAL,
        ClockKind.FORM,
        ClockKind.FILE,
        ClockKind.PART_BACK,
    ]


def test_the_most_urgent_clock_comes_first():
    """Missed longest, missed, any day may break it, three days left, waiting for a day; and what is done comes last."""
    asked = day("2024-04-01")
    named = {
        "kept": ({"filed_on": "2024-03-20"}, {"file_within_days": 45}),
        "three days left": ({}, {"file_within_days": 27}),
        "waiting": ({}, {"file_within_days": 45, "file_counted_from": "repaired_on"}),
        "missed": ({}, {"file_within_days": 20}),
        "missed longest": ({}, {"file_within_days": 3}),
        "first": ({}, {"form_before_part": True}),
        "done late": ({"filed_on": "2024-03-20"}, {"file_within_days": 3}),
    }
    one_each = {}
    for name, (told, rules) in named.items():
        days = Days(day("2024-03-08"), **{key: day(text) for key, text in told.items()})
        (one_each[name],) = clocks(
            days, ClaimTerms(**rules), component="sensor", kinds=("parts",), state=State.GATHERING, asked=asked
        )
    ordered = sorted(one_each, key=lambda name: urgency(one_each[name], asked))
    assert ordered[:5] == ["missed longest", "missed", "first", "three days left", "waiting"]
    assert set(ordered[5:]) == {"kept", "done late"}
    assert one_each["first"].state is ClockState.FIRST


# ------------------------------------------------------------------------------------------- the same as on the command line


@pytest.mark.parametrize("file_counted_from", ["failed_on", "repaired_on"])
@pytest.mark.parametrize("part_back_counted_from", ["failed_on", "part_taken_on"])
@pytest.mark.parametrize("old_part", ["return", "return if asked", "plate only", "keep until credited"])
@pytest.mark.parametrize("told", [{}, {"repaired_on": "2024-03-12", "part_taken_on": "2024-03-11"}])
def test_a_claims_days_are_those_of_the_answer(file_counted_from, part_back_counted_from, old_part, told):
    """What `covered` prints and what a claim counts down to come from two places and must be the same days."""
    on = day("2024-03-08")
    rules = {
        "file_within_days": 45,
        "file_counted_from": file_counted_from,
        "part_back_within_days": 21,
        "part_back_counted_from": part_back_counted_from,
        "old_part": old_part,
    }
    paper = terms(claims=rules)
    broken = unit(installed_on="2022-01-01", repairs=(repair("sensor", "2024-03-08", **told),))
    (answer,) = coverage.answers(broken, [holding(paper)], "sensor", on=on, asked=on)
    printed = answer_clocks.clocks(answer, paper, broken.repairs, "sensor", on=on)
    assert (found(ClockKind.FILE, told=told, **rules) or (None, None))[1] == (printed.file_by and str(printed.file_by))
    assert (found(ClockKind.PART_BACK, told=told, **rules) or (None, None))[1] == (
        printed.part_back_by and str(printed.part_back_by)
    )
