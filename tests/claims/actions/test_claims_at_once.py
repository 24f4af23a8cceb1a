"""Two people step one claim at the same moment: one wins, the other is told, and nothing is lost."""

import datetime as dt
import threading
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection

from fleet import models
from fleet.claims.actions import claims
from fleet.derived import recheck
from fleet.refusals import Conflict, Refused
from fleet.rules.claims import State
from tests import claimed, company
from tests.claimed import step, taken_to

pytestmark = pytest.mark.django_db(transaction=True)
TODAY = company.TODAY


def _at_once(*calls: Callable[[], Any]) -> list[Any]:
    """What each call gave, or was refused with; each in a thread and on a connection of its own, from one moment on."""
    found: list[Any] = [None] * len(calls)
    start = threading.Barrier(len(calls))

    def run(place: int, call: Callable[[], Any]) -> None:
        try:
            start.wait(timeout=30)
            found[place] = call()
        except Exception as error:
            found[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=told) for told in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return found


def _step(claim: models.Claim, to: State, **named: Any) -> Callable[[], models.ClaimStep]:
    told = {"version": claim.version, "day": dt.date(2026, 2, 24), "by": None, "on": TODAY} | named
    return lambda: claims.step(claim.pk, to=to, **told)


def _filed() -> models.Claim:
    company.on_file(claimed.STRICT)
    return taken_to(State.FILED, claimed.failure(repaired_on="2026-02-02"))


def test_of_two_steps_at_once_one_wins_and_the_other_is_told():
    claim = _filed()
    found = _at_once(
        _step(claim, State.APPROVED, amount=Decimal("150.00")), _step(claim, State.DENIED, reason="too old")
    )
    told = [one for one in found if isinstance(one, Conflict)]
    won = [one for one in found if isinstance(one, models.ClaimStep)]
    assert (len(won), len(told)) == (1, 1), found
    assert "moved this claim to" in str(told[0])
    claim.refresh_from_db()
    assert (claim.state, claim.version) == (won[0].went_to, 2)
    assert [step.number for step in claim.steps.all()] == [1, 2]
    assert list(recheck.differences(on=TODAY)) == []


def test_the_same_step_sent_twice_at_once_is_one():
    claim, key = _filed(), uuid.uuid4()
    step = _step(claim, State.APPROVED, amount=Decimal("150.00"), key=key)
    found = _at_once(step, step)
    assert found[0] == found[1]
    assert claim.steps.count() == 2


def test_a_step_and_a_change_at_once_lose_nothing():
    claim = _filed()
    found = _at_once(
        _step(claim, State.DENIED, reason="too old"),
        lambda: claims.change(claim.pk, version=claim.version, edits={"reference": "TV 7"}, by=None, on=TODAY),
    )
    assert sum(isinstance(one, Conflict) for one in found) == 1, found
    claim.refresh_from_db()
    assert (claim.state, claim.reference) in (("denied", ""), ("filed", "TV 7"))
    assert claim.version == 2


def test_of_a_step_taken_back_twice_at_once_only_that_step_goes():
    claim = _filed()
    step(claim, State.DENIED, reason="too old")
    told = {"version": claim.version, "why": "the wrong claim", "by": None, "on": TODAY}
    found = _at_once(*[lambda: claims.take_back(claim.pk, **told)] * 2)
    assert sum(isinstance(one, Conflict) for one in found) == 1, found
    assert [step.went_to for step in claim.steps.all()] == ["filed"]
    assert list(recheck.differences(on=TODAY)) == []


def test_two_claims_on_one_payer_opened_at_once_are_one():
    company.on_file(claimed.STRICT)
    failure = claimed.failure(repaired_on="2026-02-02")
    found = _at_once(lambda: claimed.claim(failure), lambda: claimed.claim(failure))
    assert sum(isinstance(one, Refused) for one in found) == 1, found
    assert models.Claim.objects.count() == 1
    assert list(recheck.differences(on=TODAY)) == []
