"""Terms on file: which there are, what one says, who checked it when, and which units hold it."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from django.db.models import Exists, F, Max, OuterRef, Q, QuerySet

from fleet import facts as gather
from fleet import models
from fleet.coverage.pages import terms as pages
from fleet.elements import named_fields
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, in_order, sort_of, within
from fleet.rules import wording, words

CHUNK = 500
HELD, UNHELD, WITHDRAWN = pages.STANDINGS


def listed(asked: pages.Asked, *, sort: str, number: int) -> pages.TermsListPage:
    """Show one page of the terms on file."""
    everything = _rows()
    chosen = sort_of(sort, pages.COLUMNS, otherwise="title")
    found = [row for row in everything if _wanted(row, asked)]
    listing = Listing.cut(pages.COLUMNS, found, chosen, number)
    in_force = [row for row in everything if row[_STANDING].value != WITHDRAWN]
    oldest = min(in_force, key=lambda row: (str(row[_CHECKED].value), str(row[_CODE].value)), default=None)
    return pages.TermsListPage(
        asked=asked,
        listing=listing,
        on_file=len(everything),
        oldest=None if oldest is None else _named_in(oldest),
        oldest_on=None if oldest is None else _day(oldest[_CHECKED].value),
    )


def rows(asked: pages.Asked, *, sort: str) -> Sequence[Row]:
    """Give every row of the list."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise="title")
    return in_order([row for row in _rows() if _wanted(row, asked)], pages.COLUMNS, chosen)


_CODE, _PAYER, _MAKER, _CHECKED, _STANDING = (
    [column.name for column in pages.COLUMNS].index(name)
    for name in ("code", "payer", "maker", "checked_on", "standing")
)


def _rows() -> list[Row]:
    """All terms, unsorted: papers are tens or hundreds, not thousands."""
    book = gather.terms_on_file()
    held = Exists(models.HoldingRow.objects.filter(terms=OuterRef("pk")))
    found = models.Terms.objects.annotate(held=held, checked=Max("checks__checked_on")).order_by("code")
    return [_row(row, book) for row in found.only("pk", "code")]


def _row(row: Any, book: gather.TermsBook) -> Row:
    terms = book.by_code[row.code]
    standing = WITHDRAWN if row.code in book.withdrawn else HELD if row.held else UNHELD
    return (
        Cell(terms.title, Link("terms", row.pk), terms.code),
        Cell(terms.code),
        Cell(terms.payer),
        Cell("any maker" if terms.maker == "*" else terms.maker),
        Cell(terms.installed_from),
        Cell(terms.installed_to),
        Cell(max(terms.checked_on, row.checked or terms.checked_on)),
        Cell(standing),
    )


def _wanted(row: Row, asked: pages.Asked) -> bool:
    chosen = ((_PAYER, asked.payer), (_MAKER, asked.maker), (_STANDING, asked.standing))
    if any(wanted and row[place].value != wanted for place, wanted in chosen):
        return False
    return asked.text.casefold() in f"{row[0].value} {row[_CODE].value} {row[_MAKER].value}".casefold()


def _named_in(row: Row) -> pages.Named:
    assert row[0].to is not None
    return pages.Named(row[0].to.pk, str(row[_CODE].value), str(row[0].value))


def _day(value: Any) -> dt.date:
    assert isinstance(value, dt.date)
    return value


def page(pk: int, *, by: models.User, on: dt.date) -> pages.TermsPage | None:
    """Show one paper; None where there is none. Whoever checked it today may take that back."""
    row = models.Terms.objects.filter(pk=pk).first()
    if row is None:
        return None
    book = gather.terms_on_file()
    terms = book.by_code[row.code]
    family = models.Terms.objects.filter(Q(code=row.replaces or row.code) | Q(replaces=row.code)).exclude(pk=pk)
    others = [
        (other.code == row.replaces, _named(other)) for other in family.only("pk", "code", "title").order_by("code")
    ]
    checks = _checks(row, by=by, on=on)
    return pages.TermsPage(
        terms=_named(row),
        payer=terms.payer,
        maker=terms.maker,
        says=wording.terms_in_words(terms),
        source_title=terms.source_title,
        source_page=terms.source_page,
        checks=checks,
        replaces=next((named for before, named in others if before), None),
        replaced_by=tuple(named for before, named in others if not before),
        checked_on=max((terms.checked_on, *(check.day for check in checks))),
        held_by=models.HoldingRow.objects.filter(terms=row).count(),
    )


def _named(row: models.Terms) -> pages.Named:
    return pages.Named(row.pk, row.code, row.title)


def _checks(row: models.Terms, *, by: models.User, on: dt.date) -> tuple[pages.Check, ...]:
    """List the checks, the latest first; the one first recorded came with the file, and nobody takes that back."""
    rows = list(row.checks.select_related("by"))
    of_the_file = min((check.pk for check in rows), default=None)
    return tuple(
        pages.Check(
            check.checked_on,
            str(check.by or ""),
            check.note,
            check.pk if check.by_id == by.pk and check.checked_on == on and check.pk != of_the_file else None,
        )
        for check in rows
    )


_OF_UNIT, _OF_SITE = named_fields.unit("unit"), named_fields.linked("unit__system__site", "site")
_OF_CUSTOMER = named_fields.linked("unit__system__site__customer", "customer")
_UNIT_FIELDS = (
    *_OF_UNIT.fields, *_OF_SITE.fields, *_OF_CUSTOMER.fields, "start_on", "start_assumed", "registration", "deadline",
    "attached",
)  # fmt: skip
_UNIT_ORDER = {
    "serial": "unit__serial_key",
    "site": "unit__system__site__name",
    "customer": "unit__system__site__customer__name",
    "starts": "start_on",
    "registration": "registration",
    "deadline": "deadline",
}


def units(pk: int, asked: pages.UnitsAsked, *, sort: str, number: int) -> pages.UnitsPage | None:
    """Show one page of the units that hold some terms; None where there are no such terms."""
    row = models.Terms.objects.only("pk", "code", "title").filter(pk=pk).first()
    if row is None:
        return None
    found = _holding(pk, asked)
    count = found.count()
    chosen = sort_of(sort, pages.UNIT_COLUMNS, otherwise="-starts")
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    shown = tuple(_unit_row(holding) for holding in _ordered(found, chosen)[first : first + PER_PAGE])
    return pages.UnitsPage(_named(row), asked, Listing(pages.UNIT_COLUMNS, shown, count, chosen, number))


def unit_rows(pk: int, asked: pages.UnitsAsked, *, sort: str) -> Iterator[Row]:
    """Give every unit that holds some terms, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.UNIT_COLUMNS, otherwise="-starts")
    for row in _ordered(_holding(pk, asked), chosen).iterator(chunk_size=CHUNK):
        yield _unit_row(row)


def _holding(pk: int, asked: pages.UnitsAsked) -> QuerySet[models.HoldingRow]:
    found = models.HoldingRow.objects.filter(terms=pk)
    if asked.registration:
        found = found.filter(registration=asked.registration)
    if asked.text:
        site = "unit__system__site"
        texts = Q(**{f"{site}__name__icontains": asked.text}) | Q(**{f"{site}__customer__name__icontains": asked.text})
        if key := words.key(asked.text):
            texts |= Q(unit__serial_key__contains=key) | Q(unit__model_key__contains=key)
        found = found.filter(texts)
    return found


def _ordered(found: QuerySet[models.HoldingRow], sort: Sort) -> QuerySet[models.HoldingRow, Any]:
    name = _UNIT_ORDER[sort.name]
    # Databases disagree on where a day that is not known belongs.
    first = F(name).desc(nulls_last=True) if sort.falling else F(name).asc(nulls_last=True)
    return found.order_by(first, "-pk" if sort.falling else "pk").values_list(*_UNIT_FIELDS, named=True)


def _unit_row(row: Any) -> Row:
    return (
        _OF_UNIT.cell(row),
        Cell(row.unit__maker),
        Cell(row.unit__model),
        _OF_CUSTOMER.cell(row),
        _OF_SITE.cell(row),
        Cell(row.start_on, note="assumed" if row.start_assumed else ""),
        Cell(row.registration),
        Cell(row.deadline),
        Cell("bought or promised" if row.attached else "by model"),
    )
