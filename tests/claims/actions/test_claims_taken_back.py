"""A step recorded by mistake is taken back: the claim stands exactly as before it, and what it said stays readable."""

import datetime as dt

import pytest

from fleet import models
from fleet.claims.actions import claims
from fleet.derived import recheck
from fleet.refusals import Conflict
from fleet.rules.claims import STEPS, State
from tests import claimed, company
from tests.claimed import WAY, clocks, refused, step, taken_to, what_it_needs

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def _kept_is_what_the_facts_give():
    company.on_file(claimed.STRICT)
    yield
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


def standing(claim: models.Claim) -> dict[str, object]:
    """Everything on file of a claim but how often it was changed."""
    row = models.Claim.objects.filter(pk=claim.pk).values().get()
    return {name: value for name, value in row.items() if name != "version"}


def back(claim: models.Claim, **named) -> str:
    claim.refresh_from_db()
    told = {"version": claim.version, "why": "the wrong claim", "by": None, "on": TODAY} | named
    return claims.take_back(claim.pk, **told)


@pytest.mark.parametrize(("state", "to"), [(state, to) for state in State for to in STEPS[state]])
def test_after_it_the_claim_stands_as_it_did_before_the_step(state, to):
    claim = taken_to(state)
    before, running, steps = standing(claim), clocks(claim.failure), list(claim.steps.values())
    step(claim, to, **what_it_needs(state, to))
    assert standing(claim) != before
    back(claim)
    assert (standing(claim), clocks(claim.failure), list(claim.steps.values())) == (before, running, steps)


def test_what_it_said_stays_readable_with_who_and_why():
    claim = taken_to(State.APPROVED)
    step(claim, State.CREDITED, day="2026-02-24", amount="15.00", note="by mail", reference="CR 9")
    told = back(claim, why=" meant for claim 2 ")
    assert told == "Credited on February 24, 2026: $15.00; by mail; their reference CR 9"
    change = models.Change.objects.get(table="claim", object_id=claim.pk)
    assert (change.field, change.before, change.after, change.why) == ("step", told, "", "meant for claim 2")
    claim.refresh_from_db()
    assert (claim.state, claim.credited) == ("approved", 0)


def test_step_by_step_it_goes_back_to_the_opening_and_no_further():
    claim = claimed.claim(claimed.failure())
    before = standing(claim)
    for to in WAY[State.CREDITED]:
        step(claim, to, amount="150.00")
    for _ in WAY[State.CREDITED]:
        back(claim)
    assert standing(claim) == before
    assert refused(back, claim) == {"why": "This claim has no step to undo yet."}


def test_a_payer_that_was_given_up_by_mistake_can_be_asked_after_all():
    claim = claims.forgo(claimed.failure().pk, models.Terms.objects.get().pk, because="too little", by=None, on=TODAY)
    back(claim, why="it pays labor too")
    step(claim, State.FILED, amount="150.00")
    assert claim.state == "filed"


def test_why_is_wanted_and_nothing_is_done_without_it():
    claim = taken_to(State.DENIED)
    before = standing(claim)
    assert refused(back, claim, why=" ") == {"why": "Say why you are undoing this step."}
    assert (standing(claim), claim.steps.count()) == (before, 2)


def test_somebody_who_saw_the_claim_before_it_moved_on_is_told():
    claim = taken_to(State.FILED)
    seen = claim.version
    step(claim, State.DENIED, reason="too old")
    with pytest.raises(Conflict) as found:
        back(claim, version=seen)
    assert "moved this claim to “denied” on February 20, 2026 meanwhile" in str(found.value)
    back(claim)
    with pytest.raises(Conflict) as found:
        claims.step(claim.pk, version=seen, to=State.WITHDRAWN, day=dt.date(2026, 2, 24), reason="x", by=None, on=TODAY)  # fmt: skip
    assert str(found.value) == "Somebody has undone a step of this claim meanwhile. Nothing of yours was saved."
