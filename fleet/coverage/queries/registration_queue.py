"""The queue of registrations: which are due by when, system by system, and what the missed ones lost."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from django.db.models import Count, Min, OuterRef, QuerySet, Subquery

from fleet import models
from fleet.coverage.queries.registration_lead import sentences
from fleet.derived import rows as kept
from fleet.derived.claim_rows import payer_name
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.elements.named import address
from fleet.facts import TermsBook, terms_on_file
from fleet.rules import wording
from fleet.rules.dates import in_words
from fleet.rules.registration import Standing, State
from fleet.rules.terms import Terms
from fleet.rules.wording.lost import lost as lost_words

STATES = ("to do", "waiting for a date", "sent", "missed", "confirmed", "not required")
_SITE = "system__site"
_GROUP = ("deadline", "system_id", "terms_id")


def payers() -> list[str]:
    """Those with whom something may be registered."""
    return sorted({payer_name(terms) for terms in with_registration().values()}, key=str.casefold)


def with_registration() -> dict[int, Terms]:
    """The terms that ask for registering, by their keys."""
    book = terms_on_file()
    return {book.pks[terms.code]: terms for terms in book.all if terms.registration}


def _holdings(filters: Any) -> QuerySet[models.HoldingRow]:
    """The units, each under some terms, that stand so."""
    holdings = models.HoldingRow.objects.filter(registration=filters.state)
    # Terms that ask for no registering have holdings too, for which none is required.
    if filters.state in (State.NOT_REQUIRED, State.CONFIRMED) or filters.payer:
        asking = with_registration().items()
        holdings = holdings.filter(terms__in=[pk for pk, terms in asking if filters.payer in ("", payer_name(terms))])
    return holdings.filter(_HAS_TEXT(filters.text)) if filters.text else holdings


_HAS_TEXT = named.text_of_unit("unit", site=_SITE)


def _groups(filters: Any, on: dt.date) -> QuerySet[models.HoldingRow, Any]:
    """A row for each system and terms whose units have the same last day."""
    groups = _holdings(filters).order_by().values(*_GROUP)
    return groups.annotate(units=Count("pk"), sample=Min("unit_id"))


def complete(rows: list[Any], on: dt.date, book: TermsBook | None = None) -> Iterable[Any]:
    """Each row with where it stands, as one of its units does, by the terms on file where those were read already."""
    book = book or terms_on_file()
    samples = models.HoldingRow.objects.filter(
        unit__in=[row["sample"] for row in rows], terms__in=[row["terms_id"] for row in rows]
    )
    asked = models.Reminder.objects.filter(system=OuterRef("system"), terms=OuterRef("terms")).order_by("-reminded_on")
    samples = samples.select_related("system__site__customer").annotate(
        asked_on=Subquery(asked.values("reminded_on")[:1])
    )
    by_unit: dict[tuple[int, int], Any] = {(row.unit_id, row.terms_id): row for row in samples}
    for row in rows:
        holding, terms = by_unit[row["sample"], row["terms_id"]], book.by_code[book.codes[row["terms_id"]]]
        words = _standing_words(holding, terms, on=on)
        if holding.asked_on:
            words = f"{words} Homeowner asked on {in_words(holding.asked_on)}."
        row |= {
            "system": holding.system,
            "payer": payer_name(terms),
            "standing": words,
            "days_left": _left(holding, on=on),
        }
    return rows


def _left(row: Any, *, on: dt.date) -> int | None:
    """Days are left only where something is to do."""
    if row.registration != State.TO_DO or row.deadline is None:
        return None
    return int((row.deadline - on).days)


def _standing_words(row: Any, terms: Terms, *, on: dt.date) -> str:
    standing, rules = kept.standing_of(row), terms.registration
    said = [_short(standing, on=on)]
    if standing.state is State.MISSED:
        said.extend(f"{lost_words(one)}." for one in kept.lost_of(row))
    elif rules is not None and rules.by == "owner" and standing.state in (State.TO_DO, State.WAITING):
        said.append("Only the homeowner may register.")
    return " ".join(filter(None, said))


def _short(standing: Standing, *, on: dt.date) -> str:
    """Where it stands, without what the columns beside it say."""
    return "" if standing.state is State.TO_DO else wording.standing(standing, asked=on)


def _lead(listing: Listing) -> dict[str, Any]:
    return {
        "units": _holdings(listing.filters).count(),
        "sentences": sentences(on=listing.on),
        "nothing_on_file": not listing.count and not models.HoldingRow.objects.exists(),
    }


def _units(filters: Any, on: dt.date) -> QuerySet[models.HoldingRow]:
    return _holdings(filters).select_related("unit", "system__site__customer")


def _complete_units(rows: list[Any], on: dt.date) -> Iterable[Any]:
    book = terms_on_file()
    for row in rows:
        row.says = book.by_code[book.codes[row.terms_id]]
        row.days_left = _left(row, on=on)
        row.lost_words = "; ".join(map(lost_words, kept.lost_of(row)))
    return rows


_FILTERS = (
    Filter("state", choices=STATES, blank="", usual=STATES[0], narrows=False),
    Filter("payer", "With whom", payers),
    Filter("text", "Serial, model, site or customer has"),
)
# A file has a row per unit: what a maker's own form asks for.
_IN_FILES = List(
    file="registrations",
    caption="",
    rows=_units,
    complete=_complete_units,
    usual="deadline",
    filters=_FILTERS,
    columns=(
        Column("customer", "Customer", value="system.site.customer.name"),
        Column("phone", "Phone", value="system.site.customer.phone"),
        Column("email", "E-mail", value="system.site.customer.email"),
        Column("site", "Site", value="system.site.name"),
        Column("address", "Address", value=lambda row: address(row.system.site)),
        Column("system", "System", value="system.name"),
        Column("room", "Room", value="unit.room"),
        Column("maker", "Maker", value="unit.maker"),
        Column("model", "Model", value="unit.model"),
        Column("serial", "Serial", value="unit.serial"),
        Column("installed_on", "Installed on", "day", value="unit.installed_on"),
        Column("started_on", "Started on", "day", value="unit.started_on"),
        Column("payer", "With whom", value=lambda row: payer_name(row.says)),
        Column("terms", "Terms", value="says.code"),
        Column("state", "State", value="registration"),
        Column("deadline", "Last day", "day", order=("deadline", "unit_id", "terms_id")),
        Column("days_left", "Days left", "number"),
        Column("lost", "What was lost", value="lost_words"),
    ),
)
# A system with its site below, leading to its registration.
SYSTEM = Column(
    "system",
    "System",
    value=lambda row: Cell(row["system"].name, Link("registration", row["system"].pk), row["system"].site.name),
    order=("system__name",),
)
QUEUE = List(
    file="registrations",
    caption="Registrations by deadline",
    rows=_groups,
    complete=complete,
    lead=_lead,
    usual="deadline",
    tie=_GROUP,
    in_files=_IN_FILES,
    filters=_FILTERS,
    columns=(
        SYSTEM,
        named.customer(f"{_SITE}__customer"),
        Column("payer", "With whom", order=("terms__maker",)),
        Column("units", "Units", "number", order=("units",)),
        Column("deadline", "Deadline", "day", order=_GROUP),
        Column("days_left", "Days left", "number"),
        Column("standing", "Where it stands"),
    ),
)
# What was missed last may still be mended.
MISSED = replace(QUEUE, usual="-deadline")
