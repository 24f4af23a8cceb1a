"""Rewriting what is kept of failures and claims: the open clocks, what each claim should bring, and what was lost."""

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

from django.db.models import Q

from fleet import models
from fleet.derived import claim_rows
from fleet.derived.failure_money import MoneyValues, PartValues
from fleet.facts import TermsBook, Told
from fleet.facts.house import house


class Rewritten(NamedTuple):
    """The new rows of units: clocks, money of failures, and where each dollar of it stands."""

    clocks: list[claim_rows.ClockValues]
    money: list[MoneyValues]
    parts: list[PartValues]


def rewrite(told: Mapping[int, Told], book: TermsBook, *, on: dt.date) -> Rewritten:
    """Take the clocks and money of units away, and write what each claim should bring; the new rows are for inserting."""
    failed = [pk for pk, unit in told.items() if unit.row.failures.all()]
    models.ClockRow.objects.filter(failure__unit__in=told).delete()
    models.MoneyRow.objects.filter(failure__unit__in=told).delete()
    models.MoneyPart.objects.filter(failure__unit__in=told).delete()
    if not failed:
        return Rewritten([], [], [])
    ours = house()
    on_file = claim_rows.failures_of(failed)
    rows = [
        row for pk, failures in on_file.items() for row in claim_rows.kept_of(told[pk], failures, book, ours, on=on)
    ]
    before = {
        claim.pk: claim for failures in on_file.values() for failure in failures for claim in failure.claims.all()
    }
    for row in rows:
        if isinstance(row, claim_rows.ClaimValues):
            values = row._asdict()
            claim = before[values.pop("claim_id")]
            if any(getattr(claim, name) != value for name, value in values.items()):
                models.Claim.objects.filter(pk=claim.pk).update(**values)
    return Rewritten(
        [row for row in rows if isinstance(row, claim_rows.ClockValues)],
        [row for row in rows if isinstance(row, MoneyValues)],
        [row for row in rows if isinstance(row, PartValues)],
    )


def due(*, on: dt.date) -> set[int]:
    """List the units of failures with a clock, a claim or money whose day has come."""
    of_clocks = models.ClockRow.objects.filter(next_on__lte=on).values_list("failure__unit_id", flat=True)
    of_claims = models.Claim.objects.order_by().filter(next_on__lte=on).values_list("failure__unit_id", flat=True)
    of_money = models.MoneyRow.objects.filter(next_on__lte=on).values_list("failure__unit_id", flat=True)
    return set(of_clocks.union(of_claims, of_money))


def hanging_on(supplier: models.Supplier | None = None) -> list[int]:
    """List the units whose failures hang on a supplier's rules or, where none is named, on our own rate."""
    found = models.Failure.objects.all()
    if supplier is not None:
        found = found.filter(Q(supplier=supplier) | Q(claims__supplier=supplier))
    return sorted(set(found.values_list("unit_id", flat=True)))
