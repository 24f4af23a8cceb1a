"""Which coverage ends soon, on which units, and whether more is possible there."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db.models import Min, QuerySet

from fleet import models
from fleet.derived.rows import unpack
from fleet.elements import makers, named
from fleet.elements.cells import Column
from fleet.elements.listing import Filter, List, Listing, same_key
from fleet.facts import terms_on_file
from fleet.rules import payers, wording, words
from fleet.rules.dates import DAY, add_months
from fleet.rules.findings import Result

# How far ahead the list looks, in days; the first where nobody chose. 365 stands for a year: to the day before it comes again.
YEAR = 365
DAYS = (30, 90, 180, YEAR)


def _rows(filters: Any, on: dt.date) -> QuerySet[models.CoverageRow]:
    last_on = add_months(on, 12) - DAY if filters.days == YEAR else on + filters.days * DAY
    ending = models.CoverageRow.objects.filter(result=Result.COVERED, last_on__range=(on, last_on))
    return ending.select_related("unit__system__site__customer")


def _complete(rows: list[Any], on: dt.date) -> Iterable[Any]:
    book = terms_on_file()
    for row in rows:
        names = row.components.split(";")
        row.terms_code = book.codes[row.terms_id]
        others = "all other components" if book.by_code[row.terms_code].named(row.kind) else "all components"
        row.which = others if names == ["*"] else ", ".join(names)
        row.days_left = (row.last_on - on).days
        may_be_longer = row.possible_last_on or row.possible_lifetime
        row.longer = wording.longer(row.possible_last_on, unpack(row.hangs_on)) if may_be_longer else "no"
    return rows


def _lead(listing: Listing) -> dict[str, Any]:
    return {
        "first_on": listing.selected.aggregate(first=Min("last_on"))["first"],
        "nothing_on_file": not listing.count and not models.CoverageRow.objects.exists(),
    }


ENDING = List(
    file="coverage-ending",
    caption="Coverage by its last day",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="last_day",
    tie=("last_on", "unit_id", "pk"),
    columns=(
        named.unit("unit"),
        Column("maker", "Manufacturer", value="unit.maker", order=("unit__maker_key",), shown=False),
        Column("model", "Model", value="unit.model", order=("unit__model_key",), shown=False),
        Column("room", "Room", value="unit.room", shown=False),
        named.customer("unit__system__site__customer"),
        named.site("unit__system__site"),
        Column("phone", "Phone", value="unit.system.site.customer.phone", shown=False),
        Column("pays_for", "Pays for", value="kind", order=("kind",)),
        Column("components", "Components", value="which"),
        Column("payer", "Payer", "payer", order=("payer",)),
        Column("terms", "Terms", value="terms_code", shown=False),
        Column("last_day", "Last day", "day", value="last_on", order=("last_on",)),
        Column("days_left", "Days left", "number"),
        Column("possible_last_day", "Possibly until", "day", value="possible_last_on", shown=False),
        Column("hangs_on", "It may run longer", value="longer"),
    ),
    filters=(
        Filter(
            "days",
            "Ends in the next",
            [(n, "year" if n == YEAR else f"{n} days") for n in DAYS],
            blank="",
            usual=DAYS[0],
            narrows=False,
        ),
        Filter("payer", choices=payers.CHOICES, where="payer"),
        Filter("kind", "Pays for", words.KINDS, blank="anything", where="kind"),
        Filter("maker", "Manufacturer", choices=makers.of_terms, where=same_key("unit__maker_key")),
        Filter("text", "Serial, model, site or customer has", where=named.text_of_unit("unit")),
    ),
)
