"""What write-ups said and what could not be recorded, until somebody settles it."""

import datetime as dt
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List


def _rows(filters: Any, on: dt.date) -> QuerySet[models.WriteUpCheck]:
    rows = models.WriteUpCheck.objects.filter(write_up__taken_back_on=None)
    if filters.state != "any":
        rows = rows.filter(settled_on__isnull=filters.state == "open")
    return rows.select_related("write_up__site__customer", "settled_by")


CHECKS = List(
    file="write-ups-to-check",
    caption="What write-ups said and what could not be recorded",
    rows=_rows,
    usual="day",
    tie=("write_up__on", "pk"),
    columns=(
        Column(
            "day",
            "Write-up",
            "day",
            value=lambda row: Cell(row.write_up.on, Link("write_up", row.write_up_id)),
            order=("write_up__on",),
        ),
        Column("technician", "Technician", value="write_up.technician", order=("write_up__technician",)),
        named.customer("write_up__site__customer"),
        named.site("write_up__site"),
        Column("why", "What had changed"),
        Column("said", "What was written"),
        Column("settled_on", "Settled", "day", order=("settled_on",), blanks_last=True),
        Column("settled_how", "What was done", shown=False),
        Column("settled_by", "Settled by", value=lambda row: str(row.settled_by or ""), shown=False),
    ),
    filters=(
        Filter(
            "state", "Show", [("open", "not settled"), ("settled", "settled"), ("any", "all")], blank="", usual="open",
            narrows=False,
        ),
        Filter("text", "Customer has", where="write_up__site__customer__name__icontains"),
    ),
)  # fmt: skip
