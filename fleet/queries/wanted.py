"""Which facts are wanted, of which site or unit, and how many days of coverage each may open."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from django.db.models import BigIntegerField, Count, F, Min, Q, QuerySet, Sum, Value
from django.db.models.expressions import Combinable

from fleet import models
from fleet.models.prepared import counted, prepared
from fleet.pages import wanted as pages
from fleet.pages.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.rules import words
from fleet.rules.dates import in_words

CHUNK = 500
SHORT = 5
_CUSTOMER = "unit__system__site__customer__name"
_ORDER = {"fact": "fact", "customer": "customer", "units": "units", "worth_days": "worth"}
_USUAL = "-worth_days"


def page(asked: pages.Asked, *, sort: str, number: int, undo: pages.Undo | None = None) -> pages.WantedPage:
    """Show one page of what is wanted, worth most first."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    count = _count(asked)
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    if asked == pages.Asked() and not first:
        found = _first(sort=chosen, number=PER_PAGE)
    else:
        found = list(_grouped(asked, chosen)[first : first + PER_PAGE])
    return pages.WantedPage(
        asked=asked,
        listing=Listing(pages.COLUMNS, tuple(_rows(found)), count, chosen, number),
        asks=tuple(pages.Ask(row["fact"], row["first_unit"], row["site"]) for row in found),
        undo=undo,
        nothing_on_file=not found and not models.Unit.objects.exists(),
    )


def rows(asked: pages.Asked, *, sort: str) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    found = _grouped(asked, chosen).iterator(chunk_size=CHUNK)
    while chunk := list(islice(found, CHUNK)):
        yield from _rows(chunk)


def short() -> pages.ShortWanted:
    """Give the few facts that are worth most."""
    found = _first(sort=Sort("worth_days", falling=True), number=SHORT)
    wishes = (
        pages.Wish(
            pages.TITLES[row["fact"]],
            f"{line[2].value}, {line[1].value}",
            str(line[7].value),
            row["units"],
            row["worth"] > 0,
        )
        for row, line in zip(found, _rows(found), strict=True)
    )
    return pages.ShortWanted(_count(pages.Asked()), tuple(wishes))


@prepared
def _first(*, sort: Sort, number: int) -> QuerySet[models.FactRow, Any]:
    return _grouped(pages.Asked(), sort)[:number]


def undo(change: int, *, by: models.User) -> pages.Undo | None:
    """Give what somebody filled in, to be undone, if it still stands as the last change of that fact."""
    found = models.Change.objects.filter(pk=change, by=by, before="").first()
    if found is None:
        return None
    name = "maintenance" if found.table == "maintenancerecord" else found.field
    later = models.Change.objects.filter(
        table=found.table, object_id=found.object_id, field=found.field, pk__gt=found.pk
    )
    if name not in pages.TITLES or later.exists():
        return None
    return pages.Undo(found.pk, pages.TITLES[name], found.after)


def _found(asked: pages.Asked) -> QuerySet[models.FactRow]:
    found = models.FactRow.objects.order_by()
    if asked.fact:
        found = found.filter(fact=asked.fact)
    if asked.text:
        found = found.filter(Q(**{f"{_CUSTOMER}__icontains": asked.text}))
    return found


def _count(asked: pages.Asked) -> int:
    """Count the rows of the list: one for each fact of a site, whatever units ask for it, and of a unit."""
    if asked == pages.Asked():
        return _of_all_sites() + _of_all_units()
    return _of_sites(asked).count() + _of_units(asked).count()


@counted
def _of_all_sites() -> QuerySet[models.FactRow, Any]:
    return _of_sites(pages.Asked())


@counted
def _of_all_units() -> QuerySet[models.FactRow, Any]:
    return _of_units(pages.Asked())


def _of_sites(asked: pages.Asked) -> QuerySet[models.FactRow, Any]:
    return _found(asked).filter(site__isnull=False).values_list("site", "fact").distinct()


def _of_units(asked: pages.Asked) -> QuerySet[models.FactRow, Any]:
    return _found(asked).filter(site__isnull=True).values_list("site")


def _grouped(asked: pages.Asked, sort: Sort) -> QuerySet[models.FactRow, Any]:
    """List facts: those of a unit as they stand, those of a site added up over the units that ask for them.

    Adding up needs all rows; those of units, nearly all of a large fleet's, come in their order from the index.
    """
    found = _found(asked)
    of_units = found.filter(site__isnull=True).values(
        "fact",
        "site",
        alone=F("unit"),
        worth=F("worth_days"),
        units=Value(1),
        first_unit=F("unit"),
        **{kind: F(f"{kind}_days") for kind in words.KINDS},
        gap_first=F("first_on"),
        gap_last=F("last_on"),
        customer=_customer(sort),
    )
    of_sites = (
        found.filter(site__isnull=False)
        .values("fact", "site")
        .annotate(
            alone=Value(0, output_field=BigIntegerField()),
            worth=Sum("worth_days"),
            units=Count("unit", distinct=True),
            first_unit=Min("unit"),
            **{kind: Sum(f"{kind}_days") for kind in words.KINDS},
            gap_first=Min("first_on"),
            gap_last=Min("last_on"),
            customer=Min(_customer(sort)),
        )
    )
    falling = "-" if sort.falling else ""
    order = dict.fromkeys((f"{falling}{_ORDER[sort.name]}", "-worth", "fact", "site", "alone"))
    return of_units.union(of_sites, all=True).order_by(*order)


def _customer(sort: Sort) -> Combinable:
    """Name the customer only where the list is sorted by it, for the names lie three tables away."""
    return F(_CUSTOMER) if sort.name == "customer" else Value("")


def _rows(found: Iterable[Any]) -> Iterator[Row]:
    """Write rows out, with the names of their units and sites."""
    found = list(found)
    sites = {site.pk: site for site in _sites({row["site"] for row in found if row["site"] is not None})}
    units = {unit.pk: unit for unit in _units({row["first_unit"] for row in found if row["site"] is None})}
    for row in found:
        if row["site"] is None:
            unit = units[row["first_unit"]]
            site = unit.system.site
            whose = Cell(
                unit.serial or unit.room,
                Link("unit", unit.pk),
                f"{unit.maker} {unit.model}, {site.name}",
                "" if unit.serial else "text",
            )
        else:
            site = sites[row["site"]]
            whose = Cell(site.name, Link("site", site.pk), site.street, "text")
        yield (
            Cell(pages.TITLES[row["fact"]], note=_period(row)),
            whose,
            Cell(site.customer.name, Link("customer", site.customer_id)),
            Cell(site.name),
            Cell(site.customer.phone),
            Cell(row["units"]),
            Cell(row["worth"]),
            Cell(pages.kinds(row["fact"], tuple(row[kind] for kind in words.KINDS))),
        )


@prepared
def _sites(keys: Iterable[int]) -> QuerySet[models.Site]:
    return models.Site.objects.filter(pk__in=keys).select_related("customer")


@prepared
def _units(keys: Iterable[int]) -> QuerySet[models.Unit]:
    return models.Unit.objects.filter(pk__in=keys).select_related("system__site__customer")


def _period(row: Any) -> str:
    if row["gap_first"] is None or row["gap_last"] is None:
        return ""
    return f"from {in_words(row['gap_first'])} to {in_words(row['gap_last'])}"
