"""Suppliers: the list, and one of them as its form shows it."""

from collections.abc import Iterator
from typing import Any

from django.db.models import Count, Q

from fleet import models
from fleet.claims.pages import suppliers as pages
from fleet.elements.lists import Cell, Link, Listing, Row, sort_of
from fleet.rules.claims import OVER

FIELDS = (
    "name", "phone", "email", "form_before_part", "file_within_days", "file_counted_from", "part_back_within_days",
    "part_back_counted_from", "old_part", "fee",
)  # fmt: skip


def page(*, sort: str, number: int) -> pages.SuppliersPage:
    """Show one page of suppliers; there are never so many that they would not fit in memory."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise="name")
    return pages.SuppliersPage(Listing.cut(pages.COLUMNS, list(rows()), chosen, number))


def rows() -> Iterator[Row]:
    """Give every supplier, by name."""
    live = ~Q(claims__state__in=[str(state) for state in OVER])
    found = models.Supplier.objects.annotate(open_claims=Count("claims", filter=live, distinct=True))
    for row in found.order_by("name"):
        yield (
            Cell(row.name, Link("supplier", row.pk)),
            Cell(row.phone),
            Cell(row.email),
            Cell(_file(row)),
            Cell(_back(row)),
            Cell({None: "", True: "yes", False: "no"}[row.form_before_part]),
            Cell(row.fee),
            Cell(row.open_claims or None),
        )


def shown(pk: int) -> dict[str, Any] | None:
    """Give what is on file of a supplier; None if there is none."""
    return models.Supplier.objects.filter(pk=pk).values(*FIELDS).first()


def _file(row: models.Supplier) -> str:
    return "" if row.file_within_days is None else _within(row.file_within_days, row.file_counted_from)


def _back(row: models.Supplier) -> str:
    return "" if row.part_back_within_days is None else _within(row.part_back_within_days, row.part_back_counted_from)


def _within(days: int, counted_from: str) -> str:
    return f"{days} day{'' if days == 1 else 's'} from {pages.FROM[counted_from]}"
