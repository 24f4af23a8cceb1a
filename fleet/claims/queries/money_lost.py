"""What was lost on the failures of a period: claims that bring nothing, and registrations missed."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from django.db.models import Count, QuerySet

from fleet import models
from fleet.claims.queries.claim_sums import cents, dollars, total
from fleet.derived.failure_money import missed_of
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List
from fleet.rules import money as rules
from fleet.rules import money_parts as parts
from fleet.rules.claims import ZERO, State
from fleet.rules.wording import money as wording
from fleet.rules.wording.claim_steps import STATES
from fleet.rules.wording.names import failed, listed

_UNIT = "failure__unit"
_SITE = f"{_UNIT}__system__site"


@dataclass(frozen=True, slots=True)
class Period:
    """Failures from a first to a last day, both inside."""

    since: dt.date
    until: dt.date

    @property
    def days(self) -> tuple[dt.date, dt.date]:
        """The two, as a range of a query."""
        return self.since, self.until


def failure_cell(failure: models.Failure) -> Cell:
    """What failed, leading to the failure."""
    return Cell(failure.component, Link("failure", failure.pk), said=failed(failure.component))


def _denied(filters: Any, on: dt.date) -> QuerySet[models.Claim]:
    """The claims that will bring nothing as things stand."""
    gone = models.Claim.objects.filter(failed_on__range=filters.period.days, state__in=rules.WILL_NOT_COME)
    return gone.select_related(_UNIT)


def _with_reasons(rows: list[Any], on: dt.date) -> Iterable[Any]:
    """Claims with the reasons of the steps that said so."""
    reasons = _reasons([row.pk for row in rows])
    for row in rows:
        row.refused = parts.OnePayer(
            row.payer, row.payer_name, row.pk, State(row.state), row.expected, row.asked, row.approved, row.credited
        ).denied
        row.why = "; then: ".join(reasons.get(row.pk, ()))
    return rows


def _reasons(claims: Sequence[int]) -> dict[int, list[str]]:
    """The reasons by claim, in order of the steps: a payer's own stands before ours for writing it off."""
    steps = models.ClaimStep.objects.filter(claim__in=claims, went_to__in=rules.WILL_NOT_COME)
    found: dict[int, list[str]] = {}
    for claim, reason in steps.order_by("claim", "number").values_list("claim", "reason"):
        if reason and reason not in found.setdefault(claim, []):
            found[claim].append(reason)
    return found


DENIED = List(
    file="money-denied",
    caption="",
    rows=_denied,
    complete=_with_reasons,
    usual="payer",
    filters=(Filter("period"),),
    columns=(
        Column("claim", "Claim", value=lambda row: Cell(str(row.pk), Link("claim", row.pk))),
        Column("payer", "Payer", value="payer_name", order=("payer_name",)),
        Column("maker", "Manufacturer", value="failure.unit.maker"),
        Column("component", "Component", "word", value="failure.component"),
        named.unit(_UNIT, sorts=False),
        Column("state", "State", value=lambda row: Cell(row.state, said=STATES[State(row.state)])),
        Column("asked", "Claimed", "money"),
        Column("lost", "Lost", "money", value="refused"),
        Column("why", "Why"),
    ),
)


# ------------------------------------------------------------------------------------------------- missed registrations


@dataclass(frozen=True, slots=True)
class Missed:
    """What failures cost that a registration in time would have saved, and our hours where a payer bears them."""

    failures: int = 0
    rows: int = 0
    cost: Decimal = ZERO
    with_labor: int = 0
    labor: Decimal = ZERO
    short: Decimal = ZERO


def missed_in_all(period: Period) -> Missed:
    found = Missed()
    sums = {
        "failures": Count("*"),
        "missed": total(cents("missed_cost")),
        "with_labor": Count("labor_cost"),
        "labor": total(cents("labor_cost")),
        "short": total(cents("labor_short")),
    }
    rows = models.MoneyRow.objects.filter(failed_on__range=period.days).order_by().values("terms_missed")
    for terms, failures, cost, with_labor, labor, short in rows.annotate(**sums).values_list("terms_missed", *sums):
        found = Missed(
            found.failures + (failures if terms else 0),
            found.rows + terms * failures,
            found.cost + dollars(cost),
            found.with_labor + with_labor,
            found.labor + dollars(labor),
            found.short + dollars(short),
        )
    return found


def _missed(filters: Any, on: dt.date) -> QuerySet[models.MoneyRow]:
    lately = models.MoneyRow.objects.filter(failed_on__range=filters.period.days, terms_missed__gt=0)
    return lately.select_related(f"{_SITE}__customer")


def _each_missed(rows: list[Any], on: dt.date) -> Iterable[Any]:
    """A row for each terms that would have paid for a failure."""
    return [
        SimpleNamespace(failure=row.failure, failed_on=row.failed_on, says=one)
        for row in rows
        for one in missed_of(row)
    ]


MISSED = List(
    file="money-missed",
    caption="",
    rows=_missed,
    complete=_each_missed,
    usual="-failed_on",
    tie=(),
    filters=(Filter("period"),),
    columns=(
        named.unit(_UNIT, sorts=False),
        named.customer(f"{_SITE}__customer", sorts=False),
        named.site(_SITE, sorts=False),
        Column(
            "component",
            "Component",
            "word",
            value=lambda row: failure_cell(row.failure),
        ),
        Column("failed_on", "Failed on", "day", order=("failed_on", "failure")),
        Column("payer", "Payer", value="says.payer", shown=False),
        Column("pays_for", "For", value=lambda row: listed(row.says.kinds), shown=False),
        Column("registered_on", "Registered", "day", value="says.registered_on", shown=False),
        Column("deadline", "Register by", "day", value="says.deadline", shown=False),
        Column("why", "What happened", value=lambda row: wording.missed(row.says)),
        Column("amount", "Would have paid", "money", value="says.amount"),
    ),
)
