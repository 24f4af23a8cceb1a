"""Which coverage ends soon, on which units, and whether more is possible there."""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import Min, Q, QuerySet

from fleet import facts as gather
from fleet import models
from fleet.coverage.pages import ending as pages
from fleet.derived.rows import unpack
from fleet.elements import named
from fleet.elements.counting import as_far_as, reach, up_to
from fleet.elements.lists import PER_PAGE, Cell, Listing, Row, Sort, sort_of, within
from fleet.models.prepared import counted, prepared
from fleet.rules import wording, words
from fleet.rules.dates import DAY
from fleet.rules.findings import Result

CHUNK = 500
# How far the list is counted.
MOST = 10_000
_USUAL = Sort("last_day")

_SITE = "unit__system__site"
_OF_UNIT, _OF_SITE = named.unit("unit"), named.linked(_SITE, "site")
_OF_CUSTOMER = named.linked(f"{_SITE}__customer", "customer")
_FIELDS = (
    "terms__code", "kind", "components", "payer", "last_on", "possible_last_on", "possible_lifetime", "hangs_on",
    *_OF_UNIT.fields, *_OF_SITE.fields, *_OF_CUSTOMER.fields, f"{_SITE}__customer__phone",
)  # fmt: skip
# The first of each is what is sorted by; the rest keeps equal ones in one order, so that no page repeats a row.
_ORDER = {
    "last_day": ("last_on", "unit_id", "pk"),
    "serial": ("unit__serial_key", "last_on", "pk"),
    "maker": ("unit__maker_key", "last_on", "pk"),
    "model": ("unit__model_key", "last_on", "pk"),
    "site": ("unit__system__site__name", "last_on", "unit_id", "pk"),
    "customer": ("unit__system__site__customer__name", "last_on", "unit_id", "pk"),
    "pays_for": ("kind", "last_on", "unit_id", "pk"),
    "payer": ("payer", "last_on", "unit_id", "pk"),
}


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.EndingPage:
    """Show one page of what ends from `on` to that many days later."""
    chosen, until = sort_of(sort, pages.COLUMNS, otherwise=_USUAL.name), on + asked.days * DAY
    most = reach(MOST, number)
    if not asked.narrowed and (chosen, number) == (_USUAL, 1):
        count = as_far_as(most, _count, on, until)
        rows = _first_page(on, until, most=PER_PAGE)
        first_on = rows[0].last_on if rows else None
    else:
        found = _found(asked, on=on)
        # Two questions, each of which the index alone answers; asked together they would read every row.
        count, first_on = up_to(most, found), found.aggregate(first=Min("last_on"))["first"]
        number = within(number, count.number)
        first = (number - 1) * PER_PAGE
        rows = list(_ordered(found, chosen)[first : first + PER_PAGE])
    return pages.EndingPage(
        asked=asked,
        on=on,
        until=until,
        listing=Listing(pages.COLUMNS, tuple(_rows(rows, on=on)), count.number, chosen, number, count.more),
        first_on=first_on,
        nothing_on_file=not rows and not models.CoverageRow.objects.exists(),
    )


def rows(asked: pages.Asked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL.name)
    yield from _rows(_ordered(_found(asked, on=on), chosen).iterator(chunk_size=CHUNK), on=on)


@counted
def _count(on: dt.date, until: dt.date, *, most: int) -> QuerySet[models.CoverageRow, Any]:
    return _ending(on, until).order_by().values_list("last_on")[:most]


@prepared
def _first_page(on: dt.date, until: dt.date, *, most: int) -> QuerySet[models.CoverageRow, Any]:
    return _ordered(_ending(on, until), _USUAL)[:most]


def _ending(on: dt.date, until: dt.date) -> QuerySet[models.CoverageRow]:
    return models.CoverageRow.objects.filter(result=Result.COVERED, last_on__range=(on, until))


def _found(asked: pages.Asked, *, on: dt.date) -> QuerySet[models.CoverageRow]:
    found = _ending(on, on + asked.days * DAY)
    if asked.payer:
        found = found.filter(payer=asked.payer)
    if asked.kind:
        found = found.filter(kind=asked.kind)
    if asked.maker:
        found = found.filter(unit__maker_key=words.key(asked.maker))
    if asked.text:
        site = "unit__system__site"
        texts = Q(**{f"{site}__name__icontains": asked.text}) | Q(**{f"{site}__customer__name__icontains": asked.text})
        if key := words.key(asked.text):
            texts |= Q(unit__serial_key__contains=key) | Q(unit__model_key__contains=key)
        found = found.filter(texts)
    return found


def _ordered(found: QuerySet[models.CoverageRow], sort: Sort) -> QuerySet[models.CoverageRow, Any]:
    falling = "-" if sort.falling else ""
    return found.order_by(*(f"{falling}{name}" for name in _ORDER[sort.name])).values_list(*_FIELDS, named=True)


def _rows(found: Iterable[Any], *, on: dt.date) -> Iterator[Row]:
    book = gather.terms_on_file()
    for row in found:
        yield (
            _OF_UNIT.cell(row),
            Cell(row.unit__maker),
            Cell(row.unit__model),
            Cell(row.unit__room),
            _OF_CUSTOMER.cell(row),
            _OF_SITE.cell(row),
            Cell(row.unit__system__site__customer__phone),
            Cell(row.kind),
            Cell(_components(row, book)),
            Cell(row.payer),
            Cell(row.terms__code),
            Cell(row.last_on),
            Cell((row.last_on - on).days),
            Cell(row.possible_last_on),
            Cell(_longer(row)),
        )


def _components(row: Any, book: gather.TermsBook) -> str:
    names = row.components.split(";")
    if names != ["*"]:
        return ", ".join(names)
    return "all other components" if book.by_code[row.terms__code].named(row.kind) else "all components"


def _longer(row: Any) -> str:
    """Say until when the promise may run longer and what that hangs on."""
    if not row.possible_last_on and not row.possible_lifetime:
        return "no"
    return wording.longer(row.possible_last_on, unpack(row.hangs_on))
