"""A claim takes the steps of its table and no other; its money follows from them; of two people at once one is told."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from fleet import models
from fleet.claims.actions import claims
from fleet.derived import recheck
from fleet.refusals import Conflict
from fleet.rules.claims import STEPS, State
from fleet.rules.wording.claim_steps import STATES
from tests import claimed, company, rows
from tests.claimed import ALL_IT_NEEDS, WAY, refused, step, taken_to, what_it_needs

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def _kept_is_what_the_facts_give():
    company.on_file(claimed.STRICT)
    yield
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


# ----------------------------------------------------------------------------------------------------- the steps


@pytest.mark.parametrize("state", list(State))
def test_a_claim_takes_the_steps_of_the_table_and_no_other(state):
    claim = taken_to(state)
    for to in State:
        if to in STEPS[state]:
            with rows.undone():
                step(claim, to, **what_it_needs(state, to))
                assert claim.state == to
        else:
            found = refused(step, claim, to, **ALL_IT_NEEDS)
            assert list(found) == ["to"]
            assert found["to"].startswith(f"A claim at “{STATES[state]}” cannot go to “{STATES[to]}”")
    claim.refresh_from_db()
    assert claim.state == state


@pytest.mark.parametrize("state", list(State))
def test_the_database_refuses_what_the_table_does_not_have(state):
    claim = claimed.claim(claimed.failure())
    for to in State:
        row = models.ClaimStep(claim=claim, number=1, came_from=state, asked_for=to, went_to=to, on=TODAY)
        if to in STEPS[state]:
            with rows.undone():
                row.save()
        else:
            with pytest.raises(IntegrityError), transaction.atomic():
                row.save()


def test_the_database_refuses_a_step_that_goes_elsewhere_than_it_says():
    claim = claimed.claim(claimed.failure())
    for went_to in (State.DENIED, State.GATHERING):
        with pytest.raises(IntegrityError), transaction.atomic():
            models.ClaimStep.objects.create(
                claim=claim, number=1, came_from=State.GATHERING, asked_for=State.FILED, went_to=went_to, on=TODAY
            )


@pytest.mark.parametrize(
    ("day", "said"),
    [
        pytest.param("2026-01-31", "The day of this step, January 31, 2026, is before the day it failed, February 1, 2026.", id="before it failed"),
        pytest.param("2026-02-01", "", id="the day it failed"),
        pytest.param("2026-03-02", "", id="today"),
        pytest.param("2026-03-03", "The day of this step, March 3, 2026, is later than today.", id="tomorrow"),
    ],
)  # fmt: skip
def test_the_day_of_a_step(day, said):
    claim = claimed.claim(claimed.failure(failed_on="2026-02-01"))
    if said:
        assert refused(step, claim, State.FILED, day, amount="1.00") == {"day": said}
    else:
        assert step(claim, State.FILED, day, amount="1.00").on.isoformat() == day


def test_a_step_is_not_before_the_step_before_it():
    claim = claimed.claim(claimed.failure())
    step(claim, State.FILED, "2026-02-10", amount="150.00")
    assert refused(step, claim, State.DENIED, "2026-02-09", reason="no") == {
        "day": "The day of this step, February 9, 2026, is before the day of the previous step, February 10, 2026."
    }
    step(claim, State.DENIED, "2026-02-10", reason="no")


def test_a_claim_is_not_filed_before_its_form_was_made_out():
    claim = claimed.claim(claimed.failure())
    claims.change(claim.pk, version=0, edits={"form_on": dt.date(2026, 2, 8)}, by=None, on=TODAY)
    assert list(refused(step, claim, State.FILED, "2026-02-07", amount="150.00")) == ["day"]
    step(claim, State.FILED, "2026-02-08", amount="150.00")


@pytest.mark.parametrize(
    ("amount", "taken"),
    [
        pytest.param("412.00", True, id="all that was spent, or that the allowance pays"),
        pytest.param("412.01", False, id="a cent more"),
        pytest.param("0.01", True, id="the least"),
        pytest.param("0.00", False, id="nothing"),
        pytest.param("-1.00", False, id="less than nothing"),
        pytest.param("1.005", False, id="half a cent"),
    ],
)
def test_what_may_be_asked_for(amount, taken):
    """200.00 for the part and 30.00 for handling it; labor by the allowance, 72.00 + 1.25 hours at 88.00 = 182.00."""
    claim = claimed.claim(claimed.failure())
    if taken:
        assert step(claim, State.FILED, amount=amount).amount == Decimal(amount)
    else:
        assert list(refused(step, claim, State.FILED, amount=amount)) == ["amount"]


def test_what_one_payer_credited_is_not_asked_of_another():
    failure = claimed.failure()
    plan = claimed.plan_for(failure)
    maker, labor = claimed.claim(failure), claimed.claim(failure, plan.code, kinds=["labor"])
    for to in WAY[State.CREDITED]:
        step(labor, to, amount="182.00")
    # Both pay the same allowance for labor: 412.00 in all, of which 182.00 came.
    assert refused(step, maker, State.FILED, amount="230.01") == {
        "amount": "$230.01 is more than the $230.00 that was spent and has not been credited yet."
    }
    step(maker, State.FILED, amount="230.00")


def test_a_credit_in_two_parts_is_over_with_the_second():
    claim = taken_to(State.APPROVED)
    first = step(claim, State.CREDITED, "2026-02-22", amount="100.00")
    assert (first.went_to, claim.state, claim.credited) == ("approved", "approved", Decimal("100.00"))
    second = step(claim, State.CREDITED, "2026-03-02", amount="50.00")
    assert (second.number, second.went_to, claim.state, claim.credited) == (
        4,
        "credited",
        "credited",
        Decimal("150.00"),
    )


def test_a_last_credit_that_is_less_says_why():
    claim = taken_to(State.APPROVED)
    assert refused(step, claim, State.CREDITED, amount="149.99", last=True) == {
        "reason": "Say why the payer pays less than it approved."
    }
    step(claim, State.CREDITED, amount="149.99", last=True, reason="their fee")
    assert (claim.state, claim.credited) == ("credited", Decimal("149.99"))


def test_filing_again_after_a_denial_says_what_changed_and_asks_anew():
    claim = taken_to(State.DENIED)
    assert refused(step, claim, State.FILED, amount="120.00") == {"reason": "Say what has changed since it was denied."}
    step(claim, State.FILED, "2026-02-27", amount="120.00", reason="the readings went along")
    assert (claim.state, claim.asked, claim.approved) == ("filed", Decimal("120.00"), Decimal(0))
    assert (claim.filed_on, claim.last_step_on) == (dt.date(2026, 2, 2), dt.date(2026, 2, 27))


def test_a_credited_claim_is_opened_again_only_by_the_payers_correction_with_a_reason():
    claim = taken_to(State.CREDITED)
    assert refused(step, claim, State.FILED) == {
        "reason": "Say what the payer corrected.",
        "payers_correction": "Only the payer’s own correction reopens a credited claim: check the box if that is what happened.",
    }
    step(claim, State.FILED, reason="credited to another claim", payers_correction=True)
    assert (claim.state, claim.asked, claim.approved, claim.credited) == (
        "filed", Decimal("150.00"), Decimal(0), Decimal("150.00"),
    )  # fmt: skip


# --------------------------------------------------------------------------------------------------- two at once


def test_the_same_step_sent_twice_is_one():
    claim, key = claimed.claim(claimed.failure()), uuid.uuid4()
    first = step(claim, State.FILED, amount="150.00", key=key)
    again = claims.step(
        claim.pk, version=0, to=State.FILED, day=dt.date(2026, 2, 20), amount=Decimal("150.00"), key=key, by=None, on=TODAY
    )  # fmt: skip
    assert again == first
    assert claim.steps.count() == 1


def test_whoever_comes_second_is_told_who_did_what_and_nothing_is_written():
    claim = claimed.claim(claimed.failure())
    wren = models.User.objects.create_user("wren", first_name="Wren", last_name="Halloran", role="office")
    step(claim, State.FILED, amount="150.00", by=wren)
    with pytest.raises(Conflict) as found:
        step(claim, State.WITHDRAWN, reason="a loose plug", version=0)
    assert found.value.faults == {
        "version": "Wren Halloran moved this claim to “filed” on February 20, 2026 meanwhile. Nothing of yours was saved."
    }
    with pytest.raises(Conflict):
        claims.change(claim.pk, version=0, edits={"reference": "7"}, by=None, on=TODAY)
    claims.change(claim.pk, version=1, edits={"reference": "7"}, by=wren, on=TODAY)
    with pytest.raises(Conflict) as found:
        step(claim, State.WITHDRAWN, reason="a loose plug", version=1)
    assert "Wren Halloran changed the reference of this claim" in found.value.faults["version"]
    assert claim.steps.count() == 1
