"""Failures and claims in the small company of the tests, in one line each; days and amounts are written as text.

Where nothing else is said, a sensor fails on February 1, 2026, a step is taken on February 20, and all of it is asked on March 2
(`company.TODAY`).
"""

import datetime as dt
import itertools
from decimal import Decimal
from typing import Any

import pytest

from fleet import models
from fleet.claims.actions import claims
from fleet.derived import refresh
from fleet.refusals import Refused
from fleet.rules.claims import State
from tests import company, rows
from tests.company import TODAY

# Northrill pays for parts and labor for ten years, by an allowance, and wants the old part back.
PAYS: dict[str, Any] = company.MAKER | {
    "coverage": [{"pays_for": ["parts", "labor"], "components": ["*"], "tiers": [{"months": 120}]}],
    "registration": {"within_days": 60, "counted_from": "installed_on"},
    "claims": {
        "file_within_days": 45,
        "file_counted_from": "repaired_on",
        "part_back_within_days": 21,
        "part_back_counted_from": "part_taken_on",
        "wants": ["photo of the nameplate", "readings"],
        "fee": "35.00",
    },
    "allowance": {
        "call": "72.00",
        "hourly": "88.00",
        "hours": {"compressor": "4.5", "*": "1.25"},
        "handling": [{"below": "20", "pays": "6.00"}, {"pays": "30.00"}],
    },
}
# The same, with its last five years for the registered alone.
REGISTERED: dict[str, Any] = PAYS | {
    "code": "northrill-2",
    "coverage": [
        {
            "pays_for": ["parts", "labor"],
            "components": ["*"],
            "tiers": [{"months": 60}, {"months": 120, "when": ["registered"]}],
        }
    ],
}
# The same as the first, with every clock: the form before any part, and approval before a compressor.
STRICT: dict[str, Any] = PAYS | {
    "claims": PAYS["claims"] | {"form_before_part": True, "leave_first": ["compressor"]},
}
# A plan that promises the same beside it, but pays nothing for handling a part.
PLAN: dict[str, Any] = STRICT | {
    "code": "plan-1",
    "payer": "labor plan",
    "maker": "*",
    "title": "Ten years of labor",
    "allowance": {name: PAYS["allowance"][name] for name in ("call", "hourly", "hours")},
}
_serials = itertools.count(1)


def failure(unit: models.Unit | None = None, failed_on: str = "2026-02-01", **named: Any) -> models.Failure:
    """A sensor that failed; what it cost is 200.00 for the part and two hours, where nothing else is said.

    Without a unit it is on one of its own at a site of its own, a Northrill put in and started on June 1, 2021.
    """
    told: dict[str, Any] = {"component": "sensor", "parts_cost": "200.00", "labor_minutes": 120} | named
    for name in [name for name in told if name.endswith("_cost")]:
        told[name] = told[name] and Decimal(told[name])
    unit = unit or rows.unit(
        f"F-{next(_serials)}", maker="Northrill", model="NH-9", started_on="2021-06-01", installed_on="2021-06-01"
    )
    row = models.Failure.objects.create(unit=unit, failed_on=rows.day(failed_on), **rows.days(told))
    refresh.refresh([unit.pk], on=TODAY)
    return row


def plan_for(of: models.Failure) -> models.Terms:
    """Put a labor plan on file, which the unit that failed holds beside its maker's terms."""
    (plan,) = company.on_file(PLAN)
    models.Attachment.objects.create(unit=of.unit, terms=plan)
    refresh.refresh([of.unit_id], on=TODAY)
    return plan


def claim(of: models.Failure, terms: str = "northrill-1", **named: Any) -> models.Claim:
    """A claim that was just opened, on the payer of terms by their code."""
    return claims.open(of.pk, models.Terms.objects.get(code=terms).pk, **({"by": None, "on": TODAY} | named))


def step(
    row: models.Claim, to: State, day: str = "2026-02-20", amount: str | None = None, **named: Any
) -> models.ClaimStep:
    """Let a claim take a step; the claim is read anew before and after it."""
    row.refresh_from_db()
    taken = claims.step(
        row.pk,
        to=to,
        day=rows.day(day),
        amount=None if amount is None else Decimal(amount),
        **({"version": row.version, "by": None, "on": TODAY} | named),
    )
    row.refresh_from_db()
    return taken


# By which steps a claim comes to each state, and why it is taken where a step wants to know.
WAY: dict[State, tuple[State, ...]] = {
    State.GATHERING: (),
    State.FILED: (State.FILED,),
    State.ASKED_FOR_MORE: (State.FILED, State.ASKED_FOR_MORE),
    State.APPROVED: (State.FILED, State.APPROVED),
    State.PART_APPROVED: (State.FILED, State.PART_APPROVED),
    State.DENIED: (State.FILED, State.DENIED),
    State.CREDITED: (State.FILED, State.APPROVED, State.CREDITED),
    State.WRITTEN_OFF: (State.FILED, State.DENIED, State.WRITTEN_OFF),
    State.WITHDRAWN: (State.WITHDRAWN,),
}
_REASONS = {
    State.ASKED_FOR_MORE: "readings",
    State.PART_APPROVED: "their list",
    State.DENIED: "too old",
    State.WRITTEN_OFF: "enough",
    State.WITHDRAWN: "a loose plug",
}
_WITHOUT_AMOUNT = (State.ASKED_FOR_MORE, State.DENIED, State.WRITTEN_OFF, State.WITHDRAWN)


def taken_to(
    state: State,
    of: models.Failure | None = None,
    amount: str = "150.00",
    reference: str = "",
    *,
    on: str = "2026-02-20",
    **named: Any,
) -> models.Claim:
    """A claim at a state: filed the day after the failure, and whatever came then on one day; approved in part: a cent less."""
    of = of or failure()
    row = claim(of, **named)
    if reference:
        claims.change(row.pk, version=0, edits={"reference": reference}, by=None, on=TODAY)
    first = (of.failed_on + dt.timedelta(days=1)).isoformat()
    for number, to in enumerate(WAY[state]):
        less = Decimal("0.01") if to is State.PART_APPROVED else 0
        asked = None if to in _WITHOUT_AMOUNT else str(Decimal(amount) - less)
        step(row, to, on if number else first, asked, reason=_REASONS.get(to, ""))
    assert row.state == state
    return row


def approved(of: models.Failure, amount: str, reference: str = "", **named: Any) -> models.Claim:
    """A claim that was approved for all that was asked."""
    return taken_to(State.APPROVED, of, amount, reference, **named)


# Whatever a step may need, so that only the table can refuse it.
ALL_IT_NEEDS = {"amount": "150.00", "reason": "because", "payers_correction": True}


def what_it_needs(at: State, to: State) -> dict[str, Any]:
    """What a claim that was taken to a state needs for a lawful step, an amount only where one is in place."""
    amount: str | None = "149.00" if to is State.PART_APPROVED else "150.00"
    if (at, to) == (State.PART_APPROVED, State.CREDITED):
        amount = "149.99"  # more than was approved would be asked about
    if to in _WITHOUT_AMOUNT or at is State.CREDITED:
        amount = None
    return ALL_IT_NEEDS | {"amount": amount, "last": to is State.CREDITED}


def clocks(of: models.Failure) -> dict[str, tuple[str, bool, bool]]:
    """The kept clocks of a failure: last day, whether it has none but comes first, whether a claim has it."""
    return {
        row.kind: (row.last_on and row.last_on.isoformat(), row.first, row.claim_id is not None)
        for row in of.clocks.all()
    }


def refused(call: Any, *args: Any, **named: Any) -> dict[str, str]:
    """What is said against it, by field."""
    with pytest.raises(Refused) as found:
        call(*args, **named)
    return found.value.faults
