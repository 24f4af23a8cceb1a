"""Suppliers: the list, and one of them as its form shows it."""

import datetime as dt
from typing import Any

from django.db.models import Count, Q

from fleet import models
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import List
from fleet.rules.claims import OVER

FIELDS = (
    "name", "phone", "email", "form_before_part", "file_within_days", "file_counted_from", "part_back_within_days",
    "part_back_counted_from", "old_part", "fee",
)  # fmt: skip
_FROM = {"failed_on": "the failure", "repaired_on": "the repair", "part_taken_on": "picking up the part"}


def shown(pk: int) -> dict[str, Any] | None:
    """What is on file of a supplier, by field; None if there is none."""
    return models.Supplier.objects.filter(pk=pk).values(*FIELDS).first()


def _file(row: models.Supplier) -> str:
    return "" if row.file_within_days is None else _within(row.file_within_days, row.file_counted_from)


def _back(row: models.Supplier) -> str:
    return "" if row.part_back_within_days is None else _within(row.part_back_within_days, row.part_back_counted_from)


def _within(days: int, counted_from: str) -> str:
    return f"{days} day{'' if days == 1 else 's'} from {_FROM[counted_from]}"


def _rows(filters: Any, on: dt.date) -> list[models.Supplier]:
    """All of them, by name: there are never so many that they would not fit in memory."""
    live = ~Q(claims__state__in=[str(state) for state in OVER])
    return list(
        models.Supplier.objects.annotate(open_claims=Count("claims", filter=live, distinct=True)).order_by("name")
    )


SUPPLIERS = List(
    file="suppliers",
    caption="Suppliers",
    rows=_rows,
    usual="name",
    columns=(
        Column("name", "Supplier", value=lambda row: Cell(row.name, Link("supplier", row.pk)), order=("name",)),
        Column("phone", "Phone"),
        Column("email", "E-mail", shown=False),
        Column("file_within", "File within", value=_file),
        Column("part_back_within", "Return the old part within", value=_back),
        Column(
            "form_before_part",
            "Claim form before the part",
            value=lambda row: {None: "", True: "yes", False: "no"}[row.form_before_part],
        ),
        Column("fee", "Fee", "money", order=("fee",)),
        Column(
            "open_claims",
            "Open claims",
            "number",
            value=lambda row: row.open_claims or None,
            order=("open_claims",),
        ),
    ),
)
