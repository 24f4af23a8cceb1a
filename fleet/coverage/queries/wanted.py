"""Which facts are wanted, of which site or unit, and how many days of coverage each may open."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from django.db.models import BigIntegerField, Count, F, Min, Q, QuerySet, Sum, Value
from django.db.models.expressions import Combinable

from fleet import models
from fleet.coverage.pages import wanted as pages
from fleet.elements.counting import Counted, cut, reach
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.models.prepared import counted, prepared
from fleet.rules import words
from fleet.rules.dates import in_words

CHUNK = 500
SHORT = 5
# How far the facts are counted that are wanted.
MOST = 1_000
_CUSTOMER = "unit__system__site__customer__name"
_ORDER = {"fact": "fact", "customer": "customer", "units": "units", "worth_days": "worth"}
_USUAL = "-worth_days"
# In the place of the one unit that a fact is wanted of, for one of a site.
_NONE_ALONE = Value(0, output_field=BigIntegerField())


def page(asked: pages.Asked, *, sort: str, number: int, undo: pages.Undo | None = None) -> pages.WantedPage:
    """Show one page of what is wanted, worth most first."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    count = _count(asked, reach(MOST, number))
    number = within(number, count.number)
    first = (number - 1) * PER_PAGE
    if (asked, str(chosen), number) == (pages.Asked(), _USUAL, 1):
        found = _worth_most(PER_PAGE)
    elif asked == pages.Asked() and not first:
        found = _first(sort=chosen, number=PER_PAGE)
    else:
        found = list(_grouped(asked, chosen)[first : first + PER_PAGE])
    return pages.WantedPage(
        asked=asked,
        listing=Listing(pages.COLUMNS, tuple(_rows(found)), count.number, chosen, number, count.more),
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
    found = _worth_most(SHORT)
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
    count = _count(pages.Asked(), MOST)
    return pages.ShortWanted(count.number, tuple(wishes), count.more)


def _worth_most(number: int) -> list[dict[str, Any]]:
    """Give the facts that are worth most, ranked by the indexes alone; the rest is read of those few."""
    ranked = [tuple(row.values()) for row in _ranked(number=number)]
    of_units = _told_of_units({alone for _, site, alone, _ in ranked if site is None})
    of_sites = _told_of_sites({site for _, site, _, _ in ranked if site is not None})
    told = {(row["fact"], row["site"], row["alone"]): row for row in (*of_units, *of_sites)}
    return [told[fact, site, alone] for fact, site, alone, _ in ranked]


@prepared
def _ranked(*, number: int) -> QuerySet[models.FactRow, Any]:
    found = _found(pages.Asked())
    units = found.filter(site__isnull=True).values("fact", "site", alone=F("unit"), worth=F("worth_days"))
    sites = found.filter(site__isnull=False).values("fact", "site")
    ranked = units.union(sites.annotate(alone=_NONE_ALONE, worth=Sum("worth_days")), all=True)
    return ranked.order_by("-worth", "fact", "site", "alone")[:number]


@prepared
def _told_of_units(units: Iterable[int]) -> QuerySet[models.FactRow, Any]:
    return _of_each_unit(_found(pages.Asked()).filter(unit__in=units), Value(""))


@prepared
def _told_of_sites(sites: Iterable[int]) -> QuerySet[models.FactRow, Any]:
    return _of_each_site(_found(pages.Asked()).filter(site__in=sites), Value(""))


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


def _count(asked: pages.Asked, most: int) -> Counted:
    """Count the rows of the list: one for each fact of a site, whatever units ask for it, and of a unit."""
    if asked == pages.Asked():
        units = _of_all_units(most=most + 1)
        # Where those of units are more already, those of sites need not be counted.
        return cut(most, units if units > most else units + _of_all_sites(most=most + 1))
    return cut(most, _of_sites(asked)[: most + 1].count() + _of_units(asked)[: most + 1].count())


@counted
def _of_all_sites(*, most: int) -> QuerySet[models.FactRow, Any]:
    # In the order of the index, so that no more of it is read than is counted.
    return _of_sites(pages.Asked()).order_by("site", "fact")[:most]


@counted
def _of_all_units(*, most: int) -> QuerySet[models.FactRow, Any]:
    return _of_units(pages.Asked())[:most]


def _of_sites(asked: pages.Asked) -> QuerySet[models.FactRow, Any]:
    return _found(asked).filter(site__isnull=False).values_list("site", "fact").distinct()


def _of_units(asked: pages.Asked) -> QuerySet[models.FactRow, Any]:
    return _found(asked).filter(site__isnull=True).values_list("site")


def _grouped(asked: pages.Asked, sort: Sort) -> QuerySet[models.FactRow, Any]:
    """List facts: those of a unit as they stand, those of a site added up over the units that ask for them.

    Adding up needs all rows; those of units, nearly all of a large fleet's, come in their order from the index.
    """
    found, customer = _found(asked), _customer(sort)
    of_units, of_sites = _of_each_unit(found, customer), _of_each_site(found, customer)
    falling = "-" if sort.falling else ""
    order = dict.fromkeys((f"{falling}{_ORDER[sort.name]}", "-worth", "fact", "site", "alone"))
    return of_units.union(of_sites, all=True).order_by(*order)


def _of_each_unit(found: QuerySet[models.FactRow], customer: Combinable) -> QuerySet[models.FactRow, Any]:
    return found.filter(site__isnull=True).values(
        "fact",
        "site",
        alone=F("unit"),
        worth=F("worth_days"),
        units=Value(1),
        first_unit=F("unit"),
        **{kind: F(f"{kind}_days") for kind in words.KINDS},
        gap_first=F("first_on"),
        gap_last=F("last_on"),
        customer=customer,
    )


def _of_each_site(found: QuerySet[models.FactRow], customer: Combinable) -> QuerySet[models.FactRow, Any]:
    """Add up what units ask of a site; each asks for a fact of it once."""
    return (
        found.filter(site__isnull=False)
        .values("fact", "site")
        .annotate(
            alone=_NONE_ALONE,
            worth=Sum("worth_days"),
            units=Count("unit"),
            first_unit=Min("unit"),
            **{kind: Sum(f"{kind}_days") for kind in words.KINDS},
            gap_first=Min("first_on"),
            gap_last=Min("last_on"),
            customer=Min(customer),
        )
    )


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
