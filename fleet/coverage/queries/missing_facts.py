"""Which facts are missing, of which site or unit, and how many days of coverage each may add."""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from django.db.models import BigIntegerField, Count, F, Min, Q, QuerySet, Sum, Value
from django.db.models.expressions import Combinable

from fleet import models
from fleet.coverage.pages import missing_facts as pages
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link, Table
from fleet.elements.listing import Filter, List, Listing
from fleet.registry.facts.labels import said
from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.rules.missing_facts import DAYS, FACTS

SHORT = 5
# Each row has two forms.
PER_PAGE = 20
# What is written in another place than where it is asked for.
_ASKED_AS = {"matched_after": "matched_system"}
_CUSTOMER = "unit__system__site__customer__name"
# In the place of the one unit that a fact is missing for, for one of a site.
_NONE_ALONE = Value(0, output_field=BigIntegerField())


def undo(change: int, *, by: models.User) -> pages.Undo | None:
    """A fact that this person filled in, to be undone, if that still is the last change of the fact; else None."""
    found = models.Change.objects.filter(pk=change, by=by, before="").first()
    if found is None:
        return None
    name = "maintenance" if found.table == "maintenancerecord" else _ASKED_AS.get(found.field, found.field)
    later = models.Change.objects.filter(
        table=found.table, object_id=found.object_id, field=found.field, pk__gt=found.pk
    )
    if name not in pages.TITLES or later.exists():
        return None
    return pages.Undo(found.pk, pages.TITLES[name], _in_words(name, found.after))


def _in_words(fact: str, value: str) -> str:
    """A fact as the log keeps it, as people say it."""
    return in_words(dt.date.fromisoformat(value)) if fact in (*DAYS, "maintenance") else said(fact, value)


def _rows(filters: Any, on: dt.date) -> QuerySet[models.FactRow, Any]:
    """Facts of units as they stand, and those of sites added up over the units that ask for them.

    No more of each than it is ranked by, which an index has: the rest is read of the few that are shown.
    """
    missing = models.FactRow.objects.order_by()
    if filters.fact:
        missing = missing.filter(fact=filters.fact)
    if filters.text:
        missing = missing.filter(**{f"{_CUSTOMER}__icontains": filters.text})
    # The names lie three tables away.
    name: Combinable = F(_CUSTOMER) if filters.sort.name == "customer" else Value("")
    of_units = missing.filter(site=None).values(
        "fact", "site", alone=F("unit"), worth=F("worth_days"), units=Value(1), customer=name
    )
    of_sites = missing.filter(site__isnull=False).values("fact", "site")
    return of_units.union(
        of_sites.annotate(alone=_NONE_ALONE, worth=Sum("worth_days"), units=Count("pk"), customer=Min(name)),
        all=True,
    )


def _complete(rows: list[Any], on: dt.date) -> Iterable[Any]:
    """Each fact with its unit or site, the days that it may open by kind of cost, and the year it is of."""
    keys = {(row["fact"], row["site"], row["alone"]): row for row in rows}
    alone = Q(site=None, unit__in=[row["alone"] for row in rows if not row["site"]])
    told = models.FactRow.objects.filter(alone | Q(site__in=[row["site"] for row in rows if row["site"]]))
    missing: dict[Any, list[models.FactRow]] = {}
    for fact in told.select_related("unit__system__site__customer", "site__customer").order_by("unit"):
        key = (fact.fact, fact.site_id, 0 if fact.site_id else fact.unit_id)
        missing.setdefault(key, []).append(fact)
    return [_missing(missing[key], row) for key, row in keys.items()]


def _missing(rows: list[models.FactRow], key: Any) -> SimpleNamespace:
    """One fact: its rows are those of all the units that ask for it."""
    first = rows[0]
    site = first.site or first.unit.system.site
    days = tuple(max(getattr(row, f"{kind}_days") for row in rows) for kind in words.KINDS)
    gaining = sum(bool(row.worth_days) for row in rows)
    since, until = _of(rows, min, "first_on"), _of(rows, max, "last_on")
    return SimpleNamespace(
        ask=pages.Ask(first.fact, first.unit_id, first.site_id),
        period=f"from {in_words(since)} to {in_words(until)}" if since and until else "",
        unit=None if first.site else first.unit,
        site=site,
        units=key["units"],
        worth=key["worth"],
        kinds=pages.kinds(first.fact, days, gaining),
    )


def _of(rows: list[models.FactRow], which: Callable[..., Any], name: str) -> Any:
    return which((getattr(row, name) for row in rows if getattr(row, name)), default=None)


def whose(row: Any) -> Cell:
    """The unit, or the site, that a fact is of."""
    if row.unit is None:
        return Cell(row.site.name, Link("site", row.site.pk), row.site.street, "text")
    cell = named.unit_cell(row.unit)
    return cell._replace(note=f"{cell.note}, {row.site.name}")


def _lead(listing: Listing) -> dict[str, Any]:
    return {"nothing_on_file": not listing.count and not models.Unit.objects.exists()}


MISSING_FACTS = List(
    file="missing-information",
    caption="Missing information by the coverage it may add",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="-kinds",
    tie=("-worth", "fact", "site", "alone"),
    per_page=PER_PAGE,
    columns=(
        Column("fact", "Missing", value=lambda row: Cell(row.ask.title, note=row.period), order=("fact",)),
        Column("fact_of", "Unit or site", "serial", value=whose),
        replace(named.customer("site.customer"), order=("customer",)),
        Column("site", "Site", value="site.name", shown=False),
        Column("phone", "Phone", value="site.customer.phone", shown=False),
        Column("units", "Units", "number", order=("units",)),
        Column("worth_days", "Days of coverage", "number", value="worth", shown=False),
        Column("kinds", "What it may add", order=("worth",)),
    ),
    filters=(
        Filter("fact", choices=[(name, pages.TITLES[name]) for name in FACTS]),
        Filter("text", "Customer has"),
    ),
)


def short(*, on: dt.date) -> Table:
    """The few facts that are worth most."""
    return MISSING_FACTS.first(SHORT, on=on)
