"""Rewriting what is kept of failures and claims: the open clocks, and what each claim should bring."""

import datetime as dt
from collections.abc import Mapping

from django.db.models import Q

from fleet import gather, models
from fleet.gather import claims
from fleet.gather.house import house


def rewrite(told: Mapping[int, gather.Told], book: gather.TermsBook, *, on: dt.date) -> list[claims.ClockValues]:
    """Drop the clocks of the failures of units and keep anew what each claim on them should bring; give the open clocks."""
    failed = [pk for pk, unit in told.items() if unit.row.failures.all()]
    models.ClockRow.objects.filter(failure__unit__in=told).delete()
    if not failed:
        return []
    ours = house()
    rows = [
        row
        for pk, failures in claims.failures_of(failed).items()
        for row in claims.kept_of(told[pk], failures, book, ours, on=on)
    ]
    for row in rows:
        if isinstance(row, claims.ClaimValues):
            models.Claim.objects.filter(pk=row.claim_id).update(
                expected=row.expected, possible=row.possible, next_on=row.next_on
            )
    return [row for row in rows if isinstance(row, claims.ClockValues)]


def due(*, on: dt.date) -> set[int]:
    """List the units of failures with a clock or a claim whose day has come."""
    of_clocks = models.ClockRow.objects.filter(next_on__lte=on).values_list("failure__unit_id", flat=True)
    of_claims = models.Claim.objects.order_by().filter(next_on__lte=on).values_list("failure__unit_id", flat=True)
    return set(of_clocks.union(of_claims))


def hanging_on(supplier: models.Supplier | None = None) -> list[int]:
    """List the units whose failures hang on a supplier's rules or, where none is named, on our own rate."""
    found = models.Failure.objects.all()
    if supplier is not None:
        found = found.filter(Q(supplier=supplier) | Q(claims__supplier=supplier))
    return sorted(set(found.values_list("unit_id", flat=True)))
