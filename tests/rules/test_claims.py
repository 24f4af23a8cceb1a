"""Which step may a claim take? Every pair of states, each need there and missing, each amount and day on both sides of its edge."""

from decimal import Decimal
from itertools import product

import pytest

from fleet.rules.claims import (
    OVER,
    STEPS,
    Claim,
    Days,
    Need,
    State,
    Step,
    Taken,
    Why,
    beyond_approved,
    days_out_of_order,
    opening,
    refusals,
    standing,
    state_after,
)
from fleet.rules.findings import Result
from fleet.rules.money_parts import OnePayer
from tests.facts import day

S = State
# What may follow what, written out once more by hand: every pair that does not stand here is refused.
ALLOWED = {
    (S.GATHERING, S.FILED),
    (S.GATHERING, S.WITHDRAWN),
    (S.FILED, S.ASKED_FOR_MORE),
    (S.FILED, S.APPROVED),
    (S.FILED, S.PART_APPROVED),
    (S.FILED, S.DENIED),
    (S.FILED, S.WITHDRAWN),
    (S.ASKED_FOR_MORE, S.FILED),
    (S.ASKED_FOR_MORE, S.WITHDRAWN),
    (S.APPROVED, S.CREDITED),
    (S.APPROVED, S.WRITTEN_OFF),
    (S.PART_APPROVED, S.CREDITED),
    (S.PART_APPROVED, S.WRITTEN_OFF),
    (S.PART_APPROVED, S.FILED),
    (S.DENIED, S.FILED),
    (S.DENIED, S.WRITTEN_OFF),
    (S.CREDITED, S.FILED),
}
# For each state that a step leads to, an amount that belongs there: 500.00 was asked for.
AMOUNTS = {S.FILED: "500.00", S.APPROVED: "500.00", S.PART_APPROVED: "300.00", S.CREDITED: "500.00"}


def claim(
    state=S.FILED,
    asked="500.00",
    approved="500.00",
    credited="0",
    most="650.00",
    elsewhere="0",
    last_step_on="2024-03-20",
):
    return Claim(
        state,
        day("2024-03-08"),
        last_step_on and day(last_step_on),
        *map(Decimal, (asked, approved, credited, most, elsewhere)),
    )


def step(to, amount=None, reason="", on="2024-04-02", **told):
    return Step(to, day(on), amount and Decimal(amount), reason, **told)


def whole(to):
    """A step with everything that any step needs."""
    return step(to, AMOUNTS.get(to), "they say so", payers_correction=True)


def refused(at, wish, today="2024-04-02"):
    return [str(one.why) for one in refusals(at, wish, today=day(today))]


# ------------------------------------------------------------------------------------------------------------ steps


@pytest.mark.parametrize(("state", "to"), list(product(S, S)), ids=lambda state: str(state))
def test_every_pair_of_states(state, to):
    expected = [] if (state, to) in ALLOWED else ["no_such_step"]
    assert refused(claim(state), whole(to)) == expected


@pytest.mark.parametrize(
    ("amount", "refused_as", "asked", "out"),
    [
        pytest.param(None, [], "500.00", "500.00", id="all of the rest where nobody says how much"),
        pytest.param("200.00", [], "500.00", "500.00", id="the rest"),
        pytest.param("199.99", [], "499.99", "499.99", id="a cent less than the rest"),
        pytest.param("200.01", ["more_than_the_rest"], None, None, id="a cent more than the rest"),
        pytest.param("300.00", ["more_than_the_rest"], None, None, id="what was approved already"),
        pytest.param("500.00", [], "500.00", "500.00", id="the whole in place of the rest"),
    ],
)
def test_a_part_approved_claim_is_filed_again_for_the_rest(amount, refused_as, asked, out):
    """Of 500.00 asked for, 300.00 was approved: the rest is 200.00, and once asked for again all of it is out."""
    at, wish = claim(S.PART_APPROVED, approved="300.00"), step(S.FILED, amount, "a reading that was missing")
    assert refused(at, wish) == refused_as
    if refused_as:
        return
    steps = (
        Taken(S.FILED, S.FILED, day("2024-03-10"), Decimal("500.00")),
        Taken(S.PART_APPROVED, S.PART_APPROVED, day("2024-03-20"), Decimal("300.00")),
        Taken(S.FILED, S.FILED, day("2024-04-01"), None if amount is None else Decimal(amount)),
    )
    stands = standing(steps)
    assert (stands.state, str(stands.asked), str(stands.approved)) == (S.FILED, asked, "0")
    assert str(OnePayer("maker", "N", 1, stands.state, asked=stands.asked, credited=stands.credited).out) == out


@pytest.mark.parametrize(
    ("to", "credited", "amount", "more"),
    [
        (S.CREDITED, "0", "500.00", "0"),
        (S.CREDITED, "0", "500.01", "0.01"),
        (S.CREDITED, "300.00", "200.00", "0"),
        (S.CREDITED, "300.00", "250.00", "50.00"),
        (S.CREDITED, "0", None, "0"),
        (S.WRITTEN_OFF, "0", "600.00", "0"),
    ],
)
def test_by_how_much_a_credit_is_beyond_what_was_approved(to, credited, amount, more):
    assert beyond_approved(claim(S.APPROVED, credited=credited), step(to, amount)) == Decimal(more)


def test_the_table_knows_every_state():
    assert set(STEPS) == set(S)


def test_nothing_but_a_correction_follows_what_is_over():
    assert {state: list(STEPS[state]) for state in OVER} == {S.CREDITED: [S.FILED], S.WRITTEN_OFF: [], S.WITHDRAWN: []}


def test_of_a_step_that_is_not_there_nothing_more_is_said():
    (only,) = refusals(claim(S.WITHDRAWN), step(S.CREDITED, "-1", on="2030-01-01"), today=day("2024-04-02"))
    assert (only.why, only.state, only.to) == (Why.NO_SUCH_STEP, S.WITHDRAWN, S.CREDITED)


NEEDS = [
    (S.GATHERING, S.FILED, ["amount_wanted"]),
    (S.GATHERING, S.WITHDRAWN, ["reason_wanted"]),
    (S.FILED, S.ASKED_FOR_MORE, ["reason_wanted"]),
    (S.FILED, S.APPROVED, ["amount_wanted"]),
    (S.FILED, S.PART_APPROVED, ["reason_wanted", "amount_wanted"]),
    (S.FILED, S.DENIED, ["reason_wanted"]),
    (S.FILED, S.WITHDRAWN, ["reason_wanted"]),
    (S.ASKED_FOR_MORE, S.FILED, []),
    (S.ASKED_FOR_MORE, S.WITHDRAWN, ["reason_wanted"]),
    (S.APPROVED, S.CREDITED, ["amount_wanted"]),
    (S.APPROVED, S.WRITTEN_OFF, ["reason_wanted"]),
    (S.PART_APPROVED, S.CREDITED, ["amount_wanted"]),
    (S.PART_APPROVED, S.WRITTEN_OFF, ["reason_wanted"]),
    (S.PART_APPROVED, S.FILED, ["reason_wanted"]),
    (S.DENIED, S.FILED, ["reason_wanted", "amount_wanted"]),
    (S.DENIED, S.WRITTEN_OFF, ["reason_wanted"]),
    (S.CREDITED, S.FILED, ["reason_wanted", "correction_wanted"]),
]


@pytest.mark.parametrize(("state", "to", "expected"), NEEDS)
def test_what_each_step_needs(state, to, expected):
    assert refused(claim(state), step(to)) == expected


def test_the_needs_are_told_for_every_step():
    assert {(state, to) for state, to, _ in NEEDS} == ALLOWED


@pytest.mark.parametrize("reason", ["", "  ", "\n\t"])
def test_a_reason_says_something(reason):
    assert refused(claim(S.FILED), step(S.DENIED, reason=reason)) == ["reason_wanted"]


def test_a_credited_claim_is_reopened_by_the_payers_correction_only():
    assert refused(claim(S.CREDITED), step(S.FILED, reason="we think it was more")) == ["correction_wanted"]
    assert refused(claim(S.CREDITED), step(S.FILED, payers_correction=True)) == ["reason_wanted"]
    assert refused(claim(S.CREDITED), step(S.FILED, reason="credit memo taken back", payers_correction=True)) == []


def test_a_denied_claim_says_what_has_changed_when_it_is_filed_again():
    assert refused(claim(S.DENIED), step(S.FILED, "500.00")) == ["reason_wanted"]
    assert refused(claim(S.DENIED), step(S.FILED, "500.00", "serial corrected")) == []


def test_the_needs_are_words_for_a_form():
    assert [str(need) for need in STEPS[S.CREDITED][S.FILED]] == [Need.REASON, Need.CORRECTION]


# ---------------------------------------------------------------------------------------------------------- amounts


@pytest.mark.parametrize(
    ("state", "to", "amount", "expected"),
    [
        pytest.param(S.GATHERING, S.FILED, "0.01", [], id="a cent"),
        pytest.param(S.GATHERING, S.FILED, "0", ["not_an_amount"], id="nothing"),
        pytest.param(S.GATHERING, S.FILED, "-1.00", ["not_an_amount"], id="less than nothing"),
        pytest.param(S.GATHERING, S.FILED, "10.005", ["not_an_amount"], id="half a cent"),
        pytest.param(S.GATHERING, S.FILED, "10.500", [], id="a nought too many is no half cent"),
        pytest.param(S.GATHERING, S.FILED, "NaN", ["not_an_amount"], id="no number"),
        pytest.param(S.GATHERING, S.FILED, "Infinity", ["not_an_amount"], id="without end"),
        pytest.param(S.GATHERING, S.FILED, "650.00", [], id="all that was spent"),
        pytest.param(S.GATHERING, S.FILED, "650.01", ["over_spent"], id="a cent over what was spent"),
        pytest.param(S.ASKED_FOR_MORE, S.FILED, "650.01", ["over_spent"], id="filed again after a question"),
        pytest.param(S.FILED, S.APPROVED, "499.99", ["less_than_asked"], id="approved for less is part approved"),
        pytest.param(S.FILED, S.APPROVED, "500.00", [], id="approved for what was asked"),
        pytest.param(S.FILED, S.APPROVED, "650.00", [], id="approved for more"),
        pytest.param(S.FILED, S.APPROVED, "650.01", ["over_spent"], id="approved for more than was spent"),
        pytest.param(S.FILED, S.PART_APPROVED, "0.01", [], id="a cent of it"),
        pytest.param(S.FILED, S.PART_APPROVED, "499.99", [], id="a cent less"),
        pytest.param(S.FILED, S.PART_APPROVED, "500.00", ["not_less_than_asked"], id="all of it is no part"),
        pytest.param(S.APPROVED, S.CREDITED, "650.00", [], id="credited for all that was spent"),
        pytest.param(S.APPROVED, S.CREDITED, "650.01", ["over_spent"], id="credited for more than was spent"),
        pytest.param(S.APPROVED, S.WRITTEN_OFF, "500.00", ["amount_out_of_place"], id="written off"),
        pytest.param(S.FILED, S.DENIED, "500.00", ["amount_out_of_place"], id="denied"),
        pytest.param(S.FILED, S.ASKED_FOR_MORE, "500.00", ["amount_out_of_place"], id="asked for more"),
        pytest.param(S.GATHERING, S.WITHDRAWN, "500.00", ["amount_out_of_place"], id="withdrawn"),
    ],
)
def test_amounts(state, to, amount, expected):
    assert refused(claim(state), step(to, amount, "they say so")) == expected


@pytest.mark.parametrize(
    ("credited", "elsewhere", "amount", "limit"),
    [
        pytest.param("400.00", "0", "250.00", None, id="the rest of what was spent"),
        pytest.param("400.00", "0", "250.01", "250.00", id="a cent over the rest"),
        pytest.param("100.00", "300.00", "250.00", None, id="with what another payer paid"),
        pytest.param("100.00", "300.00", "250.01", "250.00", id="a cent over, with what another payer paid"),
        pytest.param("650.00", "300.00", "0.01", "0", id="nothing is left"),
    ],
)
def test_all_credits_together_stay_within_what_was_spent(credited, elsewhere, amount, limit):
    found = refusals(
        claim(S.APPROVED, credited=credited, elsewhere=elsewhere), step(S.CREDITED, amount), today=day("2024-04-02")
    )
    assert [(one.why, str(one.limit), str(one.amount)) for one in found] == (
        [] if limit is None else [(Why.OVER_SPENT, limit, amount)]
    )


def test_what_another_payer_paid_is_not_asked_for_again():
    assert refused(claim(S.GATHERING, elsewhere="200.00"), step(S.FILED, "450.00")) == []
    assert refused(claim(S.GATHERING, elsewhere="200.00"), step(S.FILED, "450.01")) == ["over_spent"]


# ------------------------------------------------------------------------------------------------- credits in parts


@pytest.mark.parametrize(
    ("credited", "amount", "last", "expected"),
    [
        pytest.param("0", "499.99", False, S.APPROVED, id="a cent is still to come"),
        pytest.param("0", "500.00", False, S.CREDITED, id="at once"),
        pytest.param("0", "510.00", False, S.CREDITED, id="more than was approved"),
        pytest.param("300.00", "199.99", False, S.APPROVED, id="in parts, not all"),
        pytest.param("300.00", "200.00", False, S.CREDITED, id="in parts, the last"),
        pytest.param("300.00", "150.00", True, S.CREDITED, id="the payer pays no more"),
    ],
)
def test_a_credit_in_parts(credited, amount, last, expected):
    """500.00 were approved."""
    assert state_after(claim(S.APPROVED, credited=credited), step(S.CREDITED, amount, last=last)) is expected


def test_a_part_approved_claim_stays_part_approved_until_the_last_credit():
    at = claim(S.PART_APPROVED, approved="300.00")
    assert state_after(at, step(S.CREDITED, "299.99")) is S.PART_APPROVED
    assert state_after(at, step(S.CREDITED, "300.00")) is S.CREDITED


@pytest.mark.parametrize(
    ("amount", "reason", "expected"),
    [("465.00", "", ["reason_wanted"]), ("465.00", "fee kept back", []), ("500.00", "", [])],
)
def test_a_last_credit_that_falls_short_says_why(amount, reason, expected):
    assert refused(claim(S.APPROVED), step(S.CREDITED, amount, reason, last=True)) == expected


def test_the_rest_of_a_part_credit_may_be_written_off():
    assert refused(claim(S.APPROVED, credited="300.00"), step(S.WRITTEN_OFF, reason="payer closed its books")) == []


@pytest.mark.parametrize("to", [S.FILED, S.DENIED, S.WRITTEN_OFF, S.WITHDRAWN, S.PART_APPROVED])
def test_every_other_step_leads_where_it_says(to):
    assert state_after(claim(S.FILED), step(to)) is to


# ------------------------------------------------------------------------------------------------------------- days


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        pytest.param("2024-03-07", ["out_of_order", "out_of_order"], id="before the failure"),
        pytest.param("2024-03-08", ["out_of_order"], id="on the failure, before the last step"),
        pytest.param("2024-03-19", ["out_of_order"], id="the day before the last step"),
        pytest.param("2024-03-20", [], id="on the last step"),
        pytest.param("2024-04-02", [], id="today"),
        pytest.param("2024-04-03", ["later_than_today"], id="tomorrow"),
    ],
)
def test_the_day_of_a_step(on, expected):
    """It failed on March 8, the last step was taken on March 20, today is April 2."""
    assert refused(claim(S.FILED), step(S.DENIED, reason="no proof", on=on)) == expected


@pytest.mark.parametrize(("on", "expected"), [("2024-03-07", ["out_of_order"]), ("2024-03-08", [])])
def test_the_first_step_is_not_before_the_failure(on, expected):
    assert refused(claim(S.GATHERING, last_step_on=None), step(S.FILED, "500.00", on=on)) == expected


def test_a_day_out_of_order_names_both_days():
    (only,) = refusals(claim(S.FILED), step(S.DENIED, reason="no", on="2024-03-19"), today=day("2024-04-02"))
    assert (only.what, only.day, only.other, only.other_day) == (
        "step_on", day("2024-03-19"), "last_step_on", day("2024-03-20"),
    )  # fmt: skip


def test_everything_that_stands_against_a_step_is_said_at_once():
    assert refused(claim(S.FILED), step(S.PART_APPROVED, "651.00", on="2024-04-03")) == [
        "reason_wanted", "over_spent", "not_less_than_asked", "later_than_today",
    ]  # fmt: skip


def disordered(today="2024-06-01", failed_on="2024-03-08", **told):
    found = days_out_of_order(
        Days(day(failed_on), **{name: day(text) for name, text in told.items()}), today=day(today)
    )
    return [(str(one.why), one.what, one.other) for one in found]


@pytest.mark.parametrize("name", ["repaired_on", "part_taken_on", "approved_on", "form_on", "filed_on", "part_back_on"])
def test_no_day_of_a_claim_comes_before_the_failure(name):
    assert disordered(**{name: "2024-03-07"}) == [("out_of_order", name, "failed_on")]
    assert disordered(**{name: "2024-03-08"}) == []


@pytest.mark.parametrize("name", ["repaired_on", "part_taken_on", "approved_on", "form_on", "filed_on", "part_back_on"])
def test_no_day_of_a_claim_is_later_than_today(name):
    assert disordered(**{name: "2024-06-01"}) == []
    assert disordered(**{name: "2024-06-02"}) == [("later_than_today", name, "")]


def test_a_failure_is_not_later_than_today():
    assert disordered(failed_on="2024-06-02") == [("later_than_today", "failed_on", "")]


def test_a_claim_is_not_filed_before_its_form_is_made_out():
    assert disordered(form_on="2024-03-12", filed_on="2024-03-12") == []
    assert disordered(form_on="2024-03-12", filed_on="2024-03-11") == [("out_of_order", "filed_on", "form_on")]


def test_the_payers_part_may_be_taken_after_a_repair_from_the_truck():
    assert disordered(repaired_on="2024-03-08", part_taken_on="2024-03-15") == []


def test_days_that_nobody_recorded_are_in_order():
    assert disordered() == []


# ---------------------------------------------------------------------------------------------------------- opening

R = Result


@pytest.mark.parametrize(
    ("results", "reason", "expected"),
    [
        pytest.param([R.COVERED], "", [], id="covered"),
        pytest.param([R.NOT_COVERED, R.COVERED], "", [], id="one kind of cost covered"),
        pytest.param([R.COVERED_IF], "", [], id="covered if"),
        pytest.param([R.CANNOT_SAY], "", [], id="cannot say: worth asking"),
        pytest.param([R.NOT_COVERED, R.NOT_COVERED], "", [Why.NOTHING_PROMISED], id="nothing covered"),
        pytest.param([], "", [Why.NOTHING_PROMISED], id="no terms of this payer"),
        pytest.param([R.NOT_COVERED], " ", [Why.NOTHING_PROMISED], id="a blank is no reason"),
        pytest.param([R.NOT_COVERED], "their man said to send it in", [], id="a stated reason"),
    ],
)
def test_opening_a_claim_on_a_payer(results, reason, expected):
    assert [one.why for one in opening(results, reason=reason)] == expected
