"""The clocks that run and those that were missed: as a list, and short for another page."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db.models import Count, Min, Q, QuerySet

from fleet import models
from fleet.claims.facts.clock_rows import LONG_AGO, clock_of, counting, too_late
from fleet.claims.pages import claims as pages
from fleet.derived.claim_rows import payer_name
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.facts import terms_on_file
from fleet.rules import words
from fleet.rules.dates import DAY
from fleet.rules.wording.claim_clocks import Together, clocks_in_words, to_do

FIRST = 10
# How the list is narrowed: the first where nobody chose; another page asks for those that run alone.
ALL, MISSED, TOO_LATE = "running or missed", "missed", "too late to claim"
RUNNING = "running"
_UNIT = "failure__unit"
_CUSTOMER = f"{_UNIT}__system__site__customer"


def _rows(filters: Any, on: dt.date) -> QuerySet[models.ClockRow]:
    since = on - LONG_AGO
    clocks = too_late(since=since) if filters.which == TOO_LATE else counting(since=since)
    if filters.which == MISSED:
        clocks = clocks.filter(last_on__lt=on)
    if filters.which == RUNNING:
        # What must come before what any day may bring is as urgent as what ends today.
        clocks = clocks.filter(Q(last_on__gte=on) | Q(first=True))
    return clocks.select_related("claim", _CUSTOMER)


def _complete(rows: list[Any], on: dt.date) -> Iterable[Any]:
    book = terms_on_file()
    for row in rows:
        clock, row.says = clock_of(row, asked=on), book.by_code[book.codes[row.terms_id]]
        row.to_do, row.days_left = to_do(clock, asked=on), clock.days_left(on)
        row.leads_to = Link("claim", row.claim_id) if row.claim_id else Link("claim_open", row.failure_id)
    return rows


def _claim(row: Any) -> Cell:
    return Cell(f"Claim {row.claim_id}, {row.claim.state}" if row.claim_id else "not opened yet", row.leads_to)


def _lead(listing: Listing) -> dict[str, Any]:
    return {"sentences": _sentences(on=listing.on), "too_late": _too_late(on=listing.on)}


CLOCKS = List(
    file="clocks",
    caption="Clocks by their last day",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="last_day",
    tie=("last_on", "-first", "failure_id", "pk"),
    columns=(
        Column("clock", "What is to be done", "word", value=lambda row: Cell(row.to_do, row.leads_to)),
        # What has no day yet comes last either way, and of those first what must come before something else.
        Column("last_day", "Last day", "day", value="last_on", order=("last_on",), blanks_last=True),
        Column("days_left", "Days left", "number"),
        Column("claim", "Claim", value=_claim),
        Column("payer", "Payer", "payer", value="says.payer", order=("terms__payer",)),
        Column("payer_name", "Asked of", value=lambda row: payer_name(row.says), shown=False),
        Column("component", "Component", "word", value="failure.component", order=("failure__component",)),
        Column("failed_on", "Failed on", "day", value="failure.failed_on", order=("failure__failed_on",)),
        named.unit(_UNIT),
        named.customer(_CUSTOMER, with_phone=True),
        Column("phone", "Phone", value="failure.unit.system.site.customer.phone", shown=False),
    ),
    filters=(
        Filter("which", "Clocks", (ALL, MISSED, TOO_LATE), blank="", usual=ALL, narrows=False),
        Filter("payer", choices=words.PAYERS, where="terms__payer"),
        Filter("text", "Serial, site or customer has", where=named.text_of_unit(_UNIT, keys=("serial",))),
    ),
)


def short(*, on: dt.date) -> pages.ShortClocks:
    """What the office must know today, in a fixed number of queries."""
    return pages.ShortClocks(
        sentences=_sentences(on=on),
        missed=CLOCKS.first(FIRST, on=on, which=MISSED),
        running=CLOCKS.first(FIRST, on=on, which=RUNNING),
        too_late=_too_late(on=on),
    )


def _sentences(*, on: dt.date) -> tuple[str, ...]:
    """What was missed, what closes this week and what must come first, in sentences."""
    missed, closing = Q(first=False, last_on__lt=on), Q(first=False, last_on__range=(on, on + 7 * DAY))
    told = counting(since=on - LONG_AGO).aggregate(
        missed=Count("pk", filter=missed),
        longest=Min("last_on", filter=missed),
        closing=Count("pk", filter=closing),
        next=Min("last_on", filter=closing),
        first=Count("pk", filter=Q(first=True)),
    )
    return clocks_in_words(
        missed=Together(told["missed"], told["longest"]),
        closing=Together(told["closing"], told["next"]),
        first=told["first"],
        asked=on,
    )


def _too_late(*, on: dt.date) -> int:
    """How many failures it is too late to claim, by the terms that would have paid."""
    return too_late(since=on - LONG_AGO).order_by().values("failure", "terms").distinct().count()
