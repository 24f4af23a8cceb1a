"""Failures as the rules of claims and money see them."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from fleet import models
from fleet.rules import claims, facts, words
from fleet.rules.money import Job
from fleet.rules.readings import OUNCES_A_POUND, Move


def job_of(failure: models.Failure, entries: Iterable[models.RefrigerantEntry], house: models.House) -> Job:
    """The job of repairing a failure, as the rules see it; `entries` are its rows of the refrigerant ledger.

    Everything put in counts by its kind of refrigerant, spelled as it was first written; a sixteenth of an ounce's number
    is exact in decimals.
    """
    spelled: dict[str, str] = {}
    added: dict[str, Decimal] = {}
    recovered = False
    for entry in entries:
        if entry.move == Move.RECOVERED:
            recovered = True
            continue
        kind = words.key(entry.refrigerant)
        spelled.setdefault(kind, entry.refrigerant)
        added[kind] = added.get(kind, Decimal(0)) + entry.ounces / OUNCES_A_POUND
    return Job(
        component=failure.component,
        parts=failure.parts_cost,
        labor_minutes=failure.labor_minutes,
        hourly=house.hourly_rate,
        refrigerant=failure.refrigerant_cost,
        freight=failure.freight_cost,
        added=tuple((spelled[kind], pounds) for kind, pounds in added.items()),
        recovered=recovered,
    )


def days_of(failure: models.Failure, claim: models.Claim | None = None) -> claims.Days:
    """The days that a claim on a failure rests on; without a claim, those of the failure alone."""
    return claims.Days(
        failed_on=failure.failed_on,
        repaired_on=failure.repaired_on,
        part_taken_on=failure.part_taken_on,
        approved_on=claim.approved_on if claim else None,
        form_on=claim.form_on if claim else None,
        filed_on=claim.filed_on if claim else None,
        part_back_on=claim.part_back_on if claim else None,
    )


def as_it_failed(unit: facts.Unit, failure: models.Failure) -> facts.Unit:
    """A unit as it stood when it failed: still there, where it was exchanged on that very day for this failure.

    From the day of an exchange on the new unit answers, but not for the failure that the exchange was for.
    """
    same_day = unit.exchanged_on is not None and unit.exchanged_on == failure.failed_on == failure.repaired_on
    return replace(unit, exchanged_on=None) if same_day else unit
