"""What else an owner looks ahead to: coverage that ends, money out on claims, registrations by where they stand."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.db.models import Count, Min
from django.db.models.functions import TruncMonth

from fleet import models
from fleet.rules import money
from fleet.rules.claims import ZERO, State
from fleet.rules.dates import Span, add_months
from fleet.rules.findings import Result
from fleet.rules.registration import State as Registered

YEAR = 12


def ending(span: Span) -> Iterator[dict[str, Any]]:
    """Count the coverage that is certain today and ends in each month, by who pays for what."""
    rows = models.CoverageRow.objects.filter(result=Result.COVERED, last_on__range=(span.first, span.last)).order_by()
    grouped = rows.annotate(month=TruncMonth("last_on")).values("month", "payer", "kind")
    for row in grouped.annotate(n=Count("pk"), units=Count("unit", distinct=True)).order_by("month", "payer", "kind"):
        yield {
            "month": f"{row['month']:%Y-%m}",
            "payer": row["payer"],
            "pays_for": row["kind"],
            "coverages": row["n"],
            "units": row["units"],
        }


def claims(*, on: dt.date) -> dict[str, Any]:
    """Sum what is out on claims, by its age; and what became of the claims on failures of the last year."""
    since = add_months(on, -YEAR)
    rows = models.Claim.objects.filter(failure__voided_on=None).select_related("failure")
    accounts = [(_account(row), row.failure.failed_on) for row in rows.iterator(chunk_size=500)]
    ages = money.fronted((account for account, _ in accounts), on=on)
    lately = [account for account, failed_on in accounts if failed_on >= since]
    whole = next(iter(money.recoveries(lately, lambda account: "")), None)
    nothing = ZERO
    return {
        "out": f"{sum((age.amount for age in ages), nothing):.2f}",
        "claims_out": sum(age.claims for age in ages),
        "by_age": [
            {"from_days": age.first, "to_days": age.last, "claims": age.claims, "amount": f"{age.amount:.2f}"}
            for age in ages
        ],
        "since": since.isoformat(),
        "claimable": f"{whole.claimable if whole else nothing:.2f}",
        "recovered": f"{whole.recovered if whole else nothing:.2f}",
        "lost": f"{whole.lost if whole else nothing:.2f}",
    }


def _account(row: models.Claim) -> money.Account:
    return money.Account("", "", State(row.state), row.filed_on, row.expected, row.asked, row.approved, row.credited)


def registration() -> dict[str, Any]:
    """Count registrations by where they stand, and give the next day on which one closes."""
    rows = models.HoldingRow.objects.order_by()
    counted = dict(rows.values_list("registration").annotate(n=Count("*")))
    first = rows.filter(registration=Registered.TO_DO).aggregate(first=Min("deadline"))["first"]
    return {str(state): counted.get(str(state), 0) for state in Registered} | {
        "next_closes_on": first and first.isoformat()
    }
