"""A claim takes the steps of its table and no other; its money follows from them, and its clocks from its failure."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from fleet import models
from fleet.actions import claims, kept, terms
from fleet.queries import recheck
from fleet.rules.claims import STEPS, State
from tests import rows

pytestmark = pytest.mark.django_db

TODAY = rows.TODAY
PAPER: dict[str, Any] = rows.TERMS | {
    "coverage": [
        {"pays_for": ["parts", "labor"], "components": ["*"], "tiers": [{"months": 120}]},
    ],
    "claims": {
        "form_before_part": True,
        "file_within_days": 30,
        "file_counted_from": "repaired_on",
        "part_back_within_days": 20,
        "part_back_counted_from": "part_taken_on",
        "leave_first": ["compressor"],
        "wants": ["photo of the nameplate"],
        "fee": "35.00",
    },
    "allowance": {"call": "72.00", "hourly": "88.00", "hours": {"compressor": "4.5", "*": "1.25"}},
}


@pytest.fixture
def paper() -> models.Terms:
    return _paper()


def _paper(**named: Any) -> models.Terms:
    terms.load_tables([PAPER | named], on=TODAY)
    return models.Terms.objects.get(code=(PAPER | named)["code"])


def failed(on: str = "2026-11-01", *, unit: models.Unit | None = None, **named: Any) -> models.Failure:
    """A fan motor that failed on a unit put in five years ago, with its unit's kept rows as they should be."""
    told = {"component": "indoor fan motor", "parts_cost": Decimal("200.00")} | rows._days(named)
    row = models.Failure.objects.create(
        unit=unit or rows.unit(f"S{uuid.uuid4().hex[:8]}", installed_on="2021-06-01"), failed_on=rows.day(on), **told
    )
    kept.refresh([row.unit_id], on=TODAY)
    return row


def opened(failure: models.Failure, paper: models.Terms, **named: Any) -> models.Claim:
    return claims.open(failure.pk, paper.pk, **{"by": None, "on": TODAY} | named)


def stepped(claim: models.Claim, to: State, day: str = "2026-11-10", **named: Any) -> models.ClaimStep:
    claim.refresh_from_db()
    told = {"version": claim.version, "by": None, "on": TODAY} | named
    if isinstance(told.get("amount"), str):
        told["amount"] = Decimal(told["amount"])
    return claims.step(claim.pk, to=to, day=dt.date.fromisoformat(day), **told)


def clocks(failure: models.Failure) -> dict[str, tuple[str, bool, bool]]:
    """The kept clocks of a failure: last day, whether it has none but comes first, whether a claim has it."""
    return {
        row.kind: (row.last_on and row.last_on.isoformat(), row.first, row.claim_id is not None)
        for row in failure.clocks.all()
    }


@pytest.fixture(autouse=True)
def _kept_is_what_the_facts_give():
    yield
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


def test_a_failure_that_nobody_claimed_has_the_clocks_a_claim_would_have(paper):
    failure = failed(repaired_on="2026-11-02", part_taken_on="2026-11-03")
    assert clocks(failure) == {
        "claim form": ("2026-11-03", False, False),
        "filing": ("2026-12-02", False, False),
        "old part back": ("2026-11-23", False, False),
    }


def test_an_opened_claim_takes_the_clocks_over_and_knows_what_should_come(paper):
    failure = failed(repaired_on="2026-11-02")
    claim = opened(failure, paper)
    assert (claim.payer, claim.payer_name, claim.kinds, claim.state) == (
        "maker",
        "Oldcastle",
        "parts;labor",
        "gathering",
    )
    # 200.00 for the part, 72.00 for the call, 1.25 hours at 88.00, less the fee of 35.00.
    assert claim.expected == Decimal("347.00")
    assert clocks(failure) == {
        "claim form": (None, True, True),
        "filing": ("2026-12-02", False, True),
        "old part back": (None, False, True),
    }
