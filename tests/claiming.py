"""A claim for tests in one line: a paper with every clock, a failure, the steps to any state."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from fleet import models
from fleet.claims.actions import claims
from fleet.coverage.actions import terms
from fleet.derived import refresh
from fleet.refusals import Refused
from fleet.rules.claims import State
from tests import rows

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


def paper(**named: Any) -> models.Terms:
    terms.load_tables([PAPER | named], on=TODAY)
    return models.Terms.objects.get(code=(PAPER | named)["code"])


def failed(on: str = "2026-11-01", *, unit: models.Unit | None = None, **named: Any) -> models.Failure:
    """A fan motor that failed on a unit put in five years ago, with its unit's kept rows as they should be."""
    told = {"component": "indoor fan motor", "parts_cost": Decimal("200.00")} | rows.days(named)
    row = models.Failure.objects.create(
        unit=unit or rows.unit(f"S{uuid.uuid4().hex[:8]}", installed_on="2021-06-01"), failed_on=rows.day(on), **told
    )
    refresh.refresh([row.unit_id], on=TODAY)
    return row


def opened(failure: models.Failure, under: models.Terms, **named: Any) -> models.Claim:
    return claims.open(failure.pk, under.pk, **{"by": None, "on": TODAY} | named)


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


def refused(call: Any, *args: Any, **named: Any) -> dict[str, str]:
    """What is said against it, by field."""
    with pytest.raises(Refused) as found:
        call(*args, **named)
    return found.value.faults


def taken_to(state: State, under: models.Terms) -> models.Claim:
    """A claim that was taken to a state by lawful steps, the last of them on November 10, 2026."""
    claim = opened(failed(), under)
    for to, named in WAY[state]:
        stepped(claim, to, **named)
    claim.refresh_from_db()
    assert claim.state == state
    return claim


_FILED = (State.FILED, {"amount": "150.00"})
_APPROVED = (State.APPROVED, {"amount": "150.00"})
_DENIED = (State.DENIED, {"reason": "too old"})
WAY: dict[State, tuple[tuple[State, dict[str, Any]], ...]] = {
    State.GATHERING: (),
    State.FILED: (_FILED,),
    State.ASKED_FOR_MORE: (_FILED, (State.ASKED_FOR_MORE, {"reason": "readings"})),
    State.APPROVED: (_FILED, _APPROVED),
    State.PART_APPROVED: (_FILED, (State.PART_APPROVED, {"amount": "149.99", "reason": "their list"})),
    State.DENIED: (_FILED, _DENIED),
    State.CREDITED: (_FILED, _APPROVED, (State.CREDITED, {"amount": "150.00"})),
    State.WRITTEN_OFF: (_FILED, _DENIED, (State.WRITTEN_OFF, {"reason": "enough"})),
    State.WITHDRAWN: ((State.WITHDRAWN, {"reason": "a loose plug"}),),
}
# Whatever a step may need, so that only the table can refuse it.
ALL_IT_NEEDS = {"amount": "150.00", "reason": "because", "payers_correction": True}
