"""Where each dollar stands, row by row, and the money by the day it moved."""

import datetime as dt
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.claims.queries.claim_sums import cents, dollars, total
from fleet.claims.queries.money_lost import failure_cell
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.rules.claims import ZERO, State
from fleet.rules.dates import written
from fleet.rules.money_parts import Figure
from fleet.rules.wording.money_parts import FIGURES

_UNIT = "failure__unit"
_SITE = f"{_UNIT}__system__site"


def _parts(filters: Any, on: dt.date) -> QuerySet[models.MoneyPart]:
    rows = models.MoneyPart.objects.select_related("claim", f"{_SITE}__customer")
    since, until = _day(filters.since), _day(filters.until)
    if since:
        rows = rows.filter(failed_on__gte=since)
    return rows.filter(failed_on__lte=until) if until else rows


def _day(text: str) -> dt.date | None:
    """A day as an address has it; one that cannot be read narrows nothing."""
    return written(text.strip())


def _claim_of(row: models.MoneyPart) -> Cell:
    return Cell(f"Claim {row.claim_id}", Link("claim", row.claim_id)) if row.claim_id else Cell("")


def _in_all(listing: Listing) -> dict[str, Decimal]:
    """What all rows add up to, and what they bring on top of the cost."""
    found = listing.selected.aggregate(inside=total(cents("amount")), on_top=total(cents("above")))
    return {"amount": dollars(found["inside"]), "above": dollars(found["on_top"])}


PARTS = List(
    file="money-rows",
    caption="Where each dollar stands",
    rows=_parts,
    lead=_in_all,
    usual="-failed_on",
    columns=(
        Column("figure", "Where it stands", value=lambda row: Cell(row.figure, said=FIGURES[Figure(row.figure)])),
        Column("amount", "Amount", "money", order=("amount",)),
        Column("above", "Above cost", "money", value=lambda row: row.above or None, order=("above",)),
        Column(
            "component",
            "Component",
            "word",
            value=lambda row: failure_cell(row.failure),
        ),
        Column("failed_on", "Failed on", "day", order=("failed_on", "failure_id")),
        Column("payer", "Payer", value="payer_name", order=("payer_name",)),
        Column("claim", "Claim", value=_claim_of),
        Column("maker", "Manufacturer", order=("maker",)),
        named.unit(_UNIT, sorts=False),
        named.customer(f"{_SITE}__customer", sorts=False),
        Column("site", "Site", value="failure.unit.system.site.name", shown=False),
    ),
    filters=(
        Filter("figure", "Where it stands", [(figure.value, said) for figure, said in FIGURES.items()], where="figure"),
        Filter("payer", where="payer_name"),
        Filter("maker", "Manufacturer", where="maker"),
        Filter("since", "Failures from", day=True),
        Filter("until", "to", day=True),
    ),
)


# ------------------------------------------------------------------------------------------------- by the day it moved


def _moved(filters: Any, on: dt.date) -> list[SimpleNamespace]:
    """What payers credited and customers paid, by the day on which the money moved."""
    since, until = _day(filters.since) or dt.date.min, _day(filters.until) or on
    steps = models.ClaimStep.objects.filter(asked_for=State.CREDITED, on__range=(since, until))
    paid = models.FailurePayment.objects.filter(paid_on__range=(since, until))
    found = [
        SimpleNamespace(
            on=step.on,
            what="credit",
            who=step.claim.payer_name,
            number=step.reference,
            amount=step.amount or ZERO,
            failure=step.claim.failure,
        )
        for step in steps.select_related("claim__failure__unit")
    ]
    found += [
        SimpleNamespace(
            on=one.paid_on,
            what="customer",
            who=one.bill.failure.unit.system.site.customer.name,
            number=one.bill.number,
            amount=one.amount,
            failure=one.bill.failure,
        )
        for one in paid.select_related("bill__failure__unit__system__site__customer")
    ]
    return sorted(found, key=lambda row: (row.on, row.what, row.failure.pk, row.amount))


_MOVES = {"credit": "credit from a payer", "customer": "payment by a customer"}
MOVED = List(
    file="money-by-day",
    caption="Money by the day it moved",
    rows=_moved,
    lead=lambda listing: {"amount": sum((row.amount for row in listing.selected), ZERO)},
    usual="",
    columns=(
        Column("on", "Day", "day"),
        Column("what", "What moved", value=lambda row: Cell(row.what, said=_MOVES[row.what])),
        Column("who", "From"),
        Column("number", "Number"),
        Column("amount", "Amount", "money"),
        Column("failure", "For", value=lambda row: failure_cell(row.failure)),
        named.unit(_UNIT, sorts=False),
    ),
    filters=(Filter("since", "From", day=True), Filter("until", "to", day=True)),
)
