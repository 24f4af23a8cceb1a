"""Facts that nobody can know any more: which they are, who set them aside, when and why."""

from collections.abc import Iterable, Iterator

from django.db.models import F, Q, QuerySet
from django.db.models.functions import Coalesce

from fleet import models
from fleet.coverage.pages import set_aside as pages
from fleet.coverage.pages.wanted import TITLES, Asked
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.rules.dates import in_words

CHUNK = 500
_ORDER = {"fact": "fact", "customer": "customer", "set_aside_on": "set_aside_on"}
_USUAL = "-set_aside_on"


def page(asked: Asked, *, sort: str, number: int) -> pages.SetAsidePage:
    """Show one page of what was set aside, the latest first."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    found = _chosen(asked, chosen)
    count = found.count()
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    shown = list(found[first : first + PER_PAGE])
    listing = Listing(pages.COLUMNS, tuple(_rows(shown)), count, chosen, number)
    return pages.SetAsidePage(asked, listing, tuple(_named(row) for row in shown))


def rows(asked: Asked, *, sort: str) -> Iterator[Row]:
    """Give every row of the list."""
    found = _chosen(asked, sort_of(sort, pages.COLUMNS, otherwise=_USUAL))
    yield from _rows(found.iterator(chunk_size=CHUNK))


def count() -> int:
    """Count what was set aside."""
    return models.SetAside.objects.count()


def one(pk: int) -> pages.SetAside | None:
    """Give one that was set aside just now, to be brought back at once."""
    found = _chosen(Asked(), Sort("fact")).filter(pk=pk).first()
    return None if found is None else _named(found)


def _chosen(asked: Asked, sort: Sort) -> QuerySet[models.SetAside]:
    customer = Coalesce(F("unit__system__site__customer__name"), F("site__customer__name"))
    found = models.SetAside.objects.annotate(customer=customer)
    found = found.select_related("unit__system__site__customer", "site__customer", "by")
    if asked.text:
        found = found.filter(
            Q(unit__system__site__customer__name__icontains=asked.text) | Q(site__customer__name__icontains=asked.text)
        )
    return found.order_by(f"{'-' if sort.falling else ''}{_ORDER[sort.name]}", "-pk")


def _named(row: models.SetAside) -> pages.SetAside:
    whose, site = _whose(row)
    return pages.SetAside(row.pk, TITLES[row.fact], f"{whose.value}, {site.customer.name}")


def _rows(found: Iterable[models.SetAside]) -> Iterator[Row]:
    for row in found:
        whose, site = _whose(row)
        gap = "" if row.first_on is None else f"for the year from {in_words(row.first_on)}"
        yield (
            Cell(TITLES[row.fact], note=gap),
            whose,
            Cell(site.customer.name, Link("customer", site.customer_id)),
            Cell(site.name),
            Cell(row.set_aside_on),
            Cell(str(row.by) if row.by else "command line"),
            Cell(row.note),
        )


def _whose(row: models.SetAside) -> tuple[Cell, models.Site]:
    """Name the unit or the site it is a fact of, and the site."""
    if row.unit is not None:
        unit, site = row.unit, row.unit.system.site
        note, shape = f"{unit.maker} {unit.model}, {site.name}", "" if unit.serial else "text"
        return Cell(unit.serial or unit.room, Link("unit", unit.pk), note, shape), site
    assert row.site is not None
    return Cell(row.site.name, Link("site", row.site.pk), row.site.street, "text"), row.site
