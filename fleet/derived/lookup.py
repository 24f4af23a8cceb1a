"""Keeping the look-up's index: what each customer, site and unit may be known by."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from fleet import models
from fleet.rules.lookalike import folded

LONGEST = 200

# What is looked up of each kind of thing: the part's name, and the field that has it.
PARTS = {
    "customer": (("name", "name"), ("phone", "phone")),
    "site": (("name", "name"), ("street", "street")),
    "unit": (("serial", "serial"),),
}


def index(
    *,
    customers: Iterable[models.Customer] = (),
    sites: Iterable[models.Site] = (),
    units: Iterable[models.Unit] = (),
) -> None:
    """Write what these may be known by, in place of what was written before; call it in the transaction that changes them."""
    for kind, found in (("customer", customers), ("site", sites), ("unit", units)):
        rows: Sequence[Any] = list(found)
        if rows:
            _write(kind, rows)


def _write(kind: str, rows: Sequence[Any]) -> None:
    entries = list(_entries(kind, rows))
    models.LookupEntry.objects.bulk_create(
        entries,
        update_conflicts=True,
        unique_fields=["kind", "object_id", "part"],
        update_fields=["text", "folded"],
    )
    written = {(entry.object_id, entry.part) for entry in entries}
    for part, _ in PARTS[kind]:
        emptied = [row.pk for row in rows if (row.pk, part) not in written]
        if emptied:
            models.LookupEntry.objects.filter(kind=kind, part=part, object_id__in=emptied).delete()


def _entries(kind: str, rows: Iterable[Any]) -> Iterator[models.LookupEntry]:
    for row in rows:
        for part, field in PARTS[kind]:
            text = getattr(row, field)[:LONGEST]
            fold = folded(text)[:LONGEST]
            if fold:
                yield models.LookupEntry(kind=kind, object_id=row.pk, part=part, text=text, folded=fold)
