"""Failures and claims in the small company of the tests, in one line each; days and amounts are written as text."""

import datetime as dt
from decimal import Decimal
from typing import Any

import time_machine

from fleet import models
from fleet.claims.actions import claims
from fleet.derived import refresh
from fleet.rules.claims import State
from tests import company, rows

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


def failure(unit: models.Unit, failed_on: str = "2026-02-01", **named: Any) -> models.Failure:
    """A sensor that failed; what it cost is 200.00 for the part and two hours, where nothing else is said."""
    told: dict[str, Any] = {"component": "sensor", "parts_cost": "200.00", "labor_minutes": 120} | named
    for name in [name for name in told if name.endswith("_cost")]:
        told[name] = told[name] and Decimal(told[name])
    row = models.Failure.objects.create(unit=unit, failed_on=company.day(failed_on), **rows.days(told))
    refresh.refresh([unit.pk], on=company.TODAY)
    return row


def claim(of: models.Failure, terms: str = "northrill-1", **named: Any) -> models.Claim:
    paper = models.Terms.objects.get(code=terms)
    return claims.open(of.pk, paper.pk, **({"by": None, "on": of.failed_on} | named))


def step(row: models.Claim, to: State, day: str, amount: str | None = None, **named: Any) -> models.Claim:
    """Let a claim take a step; gives the claim as it is then."""
    row.refresh_from_db()
    claims.step(
        row.pk,
        version=row.version,
        to=to,
        day=dt.date.fromisoformat(day),
        amount=None if amount is None else Decimal(amount),
        **({"by": None, "on": company.TODAY} | named),
    )
    row.refresh_from_db()
    return row


def approved(
    of: models.Failure, amount: str = "120.00", reference: str = "", *, on: str = "2026-02-20", **named: Any
) -> models.Claim:
    """A claim that was filed the day after the failure and approved for all that was asked."""
    row = claim(of, **named)
    step(row, State.FILED, (of.failed_on + dt.timedelta(days=1)).isoformat(), amount)
    if reference:
        claims.change(row.pk, version=row.version, edits={"reference": reference}, by=None, on=company.TODAY)
    return step(row, State.APPROVED, on, amount)


def on_day(day: str) -> time_machine.travel:
    """Let it be noon of another day."""
    return time_machine.travel(f"{day}T12:00:00-05:00", tick=True)
