"""The list of failures: of what, where, why, whether it is repaired, and whether it is claimed."""

import datetime as dt
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from fleet import models
from fleet.elements import makers, named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing, same_key
from fleet.rules import words
from fleet.rules.claims import State
from fleet.rules.dates import DAY, in_words
from fleet.rules.wording.claim_steps import STATES
from fleet.rules.wording.names import CAUSES, failed

_SITE = "unit__system__site"
_CLAIMED = Exists(models.Claim.objects.filter(failure=OuterRef("pk")))
COMPONENT_NOT_KNOWN = "component not known yet"
# What the list is narrowed to by what became of failures and by claims; the first where nobody chose.
SHOWN = {
    "all that count": Q(voided_on=None),
    "not repaired": Q(voided_on=None, repaired_on=None),
    COMPONENT_NOT_KNOWN: Q(voided_on=None, component=""),
    "old part still here": Q(voided_on=None, old_part_at__in=("truck", "shelf")),
    "voided": Q(voided_on__isnull=False),
}
CLAIMED = {"any": Q(), "claimed": Q(_CLAIMED), "not claimed": ~Q(_CLAIMED)}
DAYS = (0, 30, 90, 365)


def _rows(filters: Any, on: dt.date) -> QuerySet[models.Failure]:
    failures = models.Failure.objects.select_related("supplier", f"{_SITE}__customer").prefetch_related("claims")
    return failures.filter(failed_on__gte=on - filters.days * DAY) if filters.days else failures


def _claims(row: models.Failure) -> Cell:
    claims = [(claim.payer_name, claim.state) for claim in row.claims.all()]
    said = "; ".join(f"{payer}: {STATES[State(state)]}" for payer, state in claims)
    return Cell("; ".join(f"{payer}: {state}" for payer, state in claims) or "no", said=said)


def _voided(row: models.Failure) -> str:
    return "" if row.voided_on is None else f"{in_words(row.voided_on)}: {row.void_reason}"


def _lead(listing: Listing) -> dict[str, Any]:
    return {
        "not_repaired": listing.selected.filter(repaired_on=None, voided_on=None).count(),
        "nothing_on_file": not listing.count and not models.Failure.objects.exists(),
    }


FAILURES = List(
    file="failures",
    caption="Failures",
    rows=_rows,
    lead=_lead,
    usual="-failed_on",
    tie=("failed_on", "pk"),
    columns=(
        Column(
            "failed_on",
            "Found on",
            "day",
            value=lambda row: Cell(row.failed_on, Link("failure", row.pk)),
            order=("failed_on", "pk"),
        ),
        Column(
            "component",
            "What failed",
            "word",
            value=lambda row: Cell(row.component, said=failed(row.component)),
            order=("component",),
        ),
        named.unit("unit"),
        Column("maker", "Manufacturer", value="unit.maker", order=("unit__maker_key",), shown=False),
        Column("model", "Model", value="unit.model", order=("unit__model_key",), shown=False),
        Column("room", "Room", value="unit.room", shown=False),
        named.customer(f"{_SITE}__customer"),
        named.site(_SITE),
        Column("cause", "Cause", value=lambda row: Cell(row.cause, said=CAUSES.get(row.cause, "")), order=("cause",)),
        Column("repaired_on", "Repaired on", "day", order=("repaired_on",)),
        Column("new_part_number", "New part", shown=False),
        Column("part_serial", "Old part serial", shown=False),
        Column("new_part_serial", "New part serial", shown=False),
        Column("parts_cost", "Parts cost", "money", order=("parts_cost",)),
        Column("labor_minutes", "Labor, minutes", "number", shown=False),
        Column("refrigerant_cost", "Refrigerant cost", "money", shown=False),
        Column("freight_cost", "Freight", "money", shown=False),
        Column("supplier", "Supplier", value=lambda row: row.supplier.name if row.supplier else "", shown=False),
        Column("purchase_order", "Our purchase order", shown=False),
        Column("invoice", "Invoice", shown=False),
        Column("old_part_at", "Old part"),
        Column("claims", "Claimed", value=_claims),
        Column("voided", "Voided", value=_voided, shown=False),
    ),
    filters=(
        Filter("shown", "Show", tuple(SHOWN), blank="", usual="all that count", where=SHOWN.__getitem__),
        Filter("days", "Found", [(n, f"in the last {n} days" if n else "ever") for n in DAYS], blank="", usual=0),
        Filter("component", "What failed", words.COMPONENTS, where="component"),
        Filter("cause", choices=[(one, CAUSES.get(one, one)) for one in words.CAUSES], where="cause"),
        Filter("maker", "Manufacturer", choices=lambda: makers.of_units()[:200], where=same_key("unit__maker_key")),
        Filter("claimed", choices=tuple(CLAIMED), blank="", usual="any", where=CLAIMED.__getitem__),
        Filter(
            "text",
            "Serial, part, invoice, site or customer contains",
            where=named.text_of_unit(
                "unit", "invoice", "purchase_order", "new_part_number", "part_serial", "new_part_serial"
            ),
        ),
    ),
)
