"""Facts that nobody can know any more: which they are, who set them aside, when and why."""

import datetime as dt
from dataclasses import replace
from typing import Any

from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce

from fleet import models
from fleet.coverage.pages.missing_facts import TITLES
from fleet.coverage.queries.missing_facts import whose
from fleet.elements import named
from fleet.elements.cells import Cell, Column
from fleet.elements.listing import Filter, List, text_in
from fleet.rules.dates import in_words


def _rows(filters: Any, on: dt.date) -> QuerySet[models.SetAside]:
    customer = Coalesce(F("unit__system__site__customer__name"), F("site__customer__name"))
    return models.SetAside.objects.annotate(customer=customer).select_related(
        "unit__system__site__customer", "site__customer", "by"
    )


def _complete(rows: list[Any], on: dt.date) -> list[Any]:
    for row in rows:
        row.title = TITLES[row.fact]
        row.period = "" if row.first_on is None else f"for the year from {in_words(row.first_on)}"
        if row.unit:
            row.site = row.unit.system.site
        row.whose = f"{whose(row).value}, {row.site.customer.name}"
    return rows


SET_ASIDE = List(
    file="nobody-knows",
    caption="Facts that nobody knows",
    rows=_rows,
    complete=_complete,
    usual="-set_aside_on",
    tie=("-pk",),
    columns=(
        Column("fact", "Fact", value=lambda row: Cell(row.title, note=row.period), order=("fact",)),
        Column("fact_of", "Unit or site", "serial", value=whose),
        replace(named.customer("site.customer"), order=("customer",)),
        Column("site", "Site", value="site.name", shown=False),
        Column("set_aside_on", "Set aside", "day", order=("set_aside_on",)),
        Column("by", "By", value=lambda row: str(row.by or "command line")),
        Column("note", "Why"),
    ),
    filters=(
        Filter(
            "text",
            "Customer has",
            where=text_in("unit__system__site__customer__name", "site__customer__name"),
        ),
    ),
)


def count() -> int:
    """How many were set aside."""
    return models.SetAside.objects.count()


def one(pk: int, *, on: dt.date) -> Any:
    """One that was set aside just now, to be brought back at once; None where there is none."""
    return next(iter(_complete(list(_rows(None, on).filter(pk=pk)), on)), None)
