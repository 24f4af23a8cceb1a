"""The list of failures: of what, where, why, whether it is repaired, and whether it is claimed."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from itertools import islice
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from fleet import models
from fleet.claims.pages import failures as pages
from fleet.elements import named_fields
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.elements.ordering import order_of
from fleet.models.prepared import prepared
from fleet.rules import words
from fleet.rules.dates import DAY, in_words

CHUNK = 500
# The first of each is what is sorted by; the rest keeps equal ones in one order, so that no page repeats a row.
_ORDER = {
    "failed_on": ("failed_on", "pk"),
    "component": ("component", "failed_on", "pk"),
    "serial": ("unit__serial_key", "failed_on", "pk"),
    "maker": ("unit__maker_key", "failed_on", "pk"),
    "model": ("unit__model_key", "failed_on", "pk"),
    "customer": ("unit__system__site__customer__name", "failed_on", "pk"),
    "site": ("unit__system__site__name", "failed_on", "pk"),
    "cause": ("cause", "failed_on", "pk"),
    "repaired_on": ("repaired_on", "failed_on", "pk"),
    "parts_cost": ("parts_cost", "failed_on", "pk"),
}
_SITE = "unit__system__site"
_OF_UNIT, _OF_SITE = named_fields.unit("unit"), named_fields.linked(_SITE, "site")
_OF_CUSTOMER = named_fields.linked(f"{_SITE}__customer", "customer")
_FIELDS = (
    "pk", "failed_on", "component", "cause", "repaired_on", "new_part_number", "parts_cost", "labor_minutes",
    "refrigerant_cost", "freight_cost", "supplier__name", "invoice", "old_part_at", "voided_on", "void_reason",
    *_OF_UNIT.fields, *_OF_SITE.fields, *_OF_CUSTOMER.fields,
)  # fmt: skip
_MAY_BE_NONE = ("repaired_on", "parts_cost")
_USUAL = "-failed_on"


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.FailuresPage:
    """Show one page of the failures asked for, the newest first."""
    found = _found(asked, on=on)
    count = found.count()
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    rows = list(_ordered(found, chosen)[first : first + PER_PAGE])
    return pages.FailuresPage(
        asked=asked,
        listing=Listing(pages.COLUMNS, tuple(_rows(rows)), count, chosen, number),
        not_repaired=found.filter(repaired_on=None, voided_on=None).count(),
        nothing_on_file=not rows and not models.Failure.objects.exists(),
    )


def rows(asked: pages.Asked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    yield from _rows(_ordered(_found(asked, on=on), chosen).iterator(chunk_size=CHUNK))


def _found(asked: pages.Asked, *, on: dt.date) -> QuerySet[models.Failure]:
    found = _shown(asked.shown)
    if asked.days:
        found = found.filter(failed_on__gte=on - asked.days * DAY)
    if asked.component:
        found = found.filter(component=asked.component)
    if asked.cause:
        found = found.filter(cause=asked.cause)
    if asked.maker:
        found = found.filter(unit__maker_key=words.key(asked.maker))
    if asked.claimed != pages.CLAIMED[0]:
        claimed = Exists(models.Claim.objects.filter(failure=OuterRef("pk")))
        found = found.filter(claimed if asked.claimed == "claimed" else ~claimed)
    if asked.text:
        site = "unit__system__site"
        texts = Q(**{f"{site}__name__icontains": asked.text}) | Q(**{f"{site}__customer__name__icontains": asked.text})
        texts |= Q(invoice__icontains=asked.text) | Q(new_part_number__icontains=asked.text)
        if key := words.key(asked.text):
            texts |= Q(unit__serial_key__contains=key) | Q(unit__model_key__contains=key)
        found = found.filter(texts)
    return found


def _shown(name: str) -> QuerySet[models.Failure]:
    if name == "voided":
        return models.Failure.objects.exclude(voided_on=None)
    found = models.Failure.objects.filter(voided_on=None)
    if name == "not repaired":
        return found.filter(repaired_on=None)
    return found.filter(old_part_at__in=("truck", "shelf")) if name == "old part still here" else found


def _ordered(found: QuerySet[models.Failure], sort: Sort) -> QuerySet[models.Failure, Any]:
    ordered = found.order_by(*order_of(_ORDER[sort.name], falling=sort.falling, may_be_none=_MAY_BE_NONE))
    return ordered.values_list(*_FIELDS, named=True)


def _rows(found: Iterable[Any]) -> Iterator[Row]:
    told = iter(found)
    while chunk := list(islice(told, CHUNK)):
        claims = _claims([row.pk for row in chunk])
        yield from (_row(row, claims.get(row.pk, ())) for row in chunk)


def _claims(failures: list[int]) -> dict[int, list[str]]:
    """Say of each failure's claims on whom they are and where they stand, the latest first."""
    found: dict[int, list[str]] = {}
    for failure, payer_name, state in _of_failures(failures):
        found.setdefault(failure, []).append(f"{payer_name}: {state}")
    return found


@prepared
def _of_failures(failures: Iterable[int]) -> QuerySet[models.Claim, Any]:
    return models.Claim.objects.filter(failure__in=failures).values_list("failure_id", "payer_name", "state")


def _row(row: Any, claims: Collection[str]) -> Row:
    return (
        Cell(row.failed_on, Link("failure", row.pk)),
        Cell(row.component),
        _OF_UNIT.cell(row),
        Cell(row.unit__maker),
        Cell(row.unit__model),
        Cell(row.unit__room),
        _OF_CUSTOMER.cell(row),
        _OF_SITE.cell(row),
        Cell(row.cause),
        Cell(row.repaired_on),
        Cell(row.new_part_number),
        Cell(row.parts_cost),
        Cell(row.labor_minutes),
        Cell(row.refrigerant_cost),
        Cell(row.freight_cost),
        Cell(row.supplier__name or ""),
        Cell(row.invoice),
        Cell(row.old_part_at),
        Cell("; ".join(claims) or "no"),
        Cell("" if row.voided_on is None else f"{in_words(row.voided_on)}: {row.void_reason}"),
    )
