"""Keeping the look-up's index: what each customer, site and unit may be known by, and what tells those of one name apart."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from fleet import models
from fleet.derived import apart
from fleet.models.lookup import LINE
from fleet.rules.lookalike import folded
from fleet.rules.typed import line_of

LONGEST = 200

# What is looked up of each kind of thing: the part's name, and the field that has it. Any words of a site's line find it.
PARTS = {
    "customer": (("name", "name"), ("phone", "phone")),
    "site": (("name", "name"), ("street", "street"), (LINE, "")),
    "unit": (("serial", "serial"),),
}


def index(
    *,
    customers: Iterable[models.Customer] = (),
    sites: Iterable[models.Site] = (),
    units: Iterable[models.Unit] = (),
) -> None:
    """Write what these may be known by, in place of what was written before; call it in the transaction that changes them.

    The lines of a customer's sites follow the customer.
    """
    payers, places = list(customers), list(sites)
    names = {row.name for row in payers} | _names_before(payers) | _names_at(places)
    for kind, rows in (("customer", payers), ("site", places), ("unit", list(units))):
        if rows:
            _write(kind, list(_entries(kind, rows)), PARTS[kind], rows)
    lines(list(models.Site.objects.filter(customer__in=[row.pk for row in payers])) if payers else [])
    apart.keep(names)


def _names_before(rows: Sequence[models.Customer]) -> set[str]:
    """The names by which customers were looked up until now."""
    if not rows:
        return set()
    entries = models.LookupEntry.objects.filter(kind="customer", part="name", object_id__in=[row.pk for row in rows])
    return set(entries.values_list("text", flat=True))


def _names_at(rows: Sequence[models.Site]) -> set[str]:
    """The names of those who have these sites."""
    keys = {row.customer_id for row in rows}
    return set(models.Customer.objects.filter(pk__in=keys).values_list("name", flat=True)) if rows else set()


def lines(sites: Sequence[models.Site]) -> None:
    """Write the lines of sites anew, whose contacts or customer changed."""
    if sites:
        _write("site", list(_lines(sites)), ((LINE, ""),), sites)


def _write(kind: str, entries: list[models.LookupEntry], parts: Iterable[tuple[str, str]], rows: Sequence[Any]) -> None:
    models.LookupEntry.objects.bulk_create(
        entries,
        update_conflicts=True,
        unique_fields=["kind", "object_id", "part"],
        update_fields=["text", "folded"],
    )
    written = {(entry.object_id, entry.part) for entry in entries}
    for part, _ in parts:
        emptied = [row.pk for row in rows if (row.pk, part) not in written]
        if emptied:
            models.LookupEntry.objects.filter(kind=kind, part=part, object_id__in=emptied).delete()


def _entries(kind: str, rows: Sequence[Any]) -> Iterator[models.LookupEntry]:
    if kind == "site":
        yield from _lines(rows)
    for row in rows:
        for part, field in PARTS[kind]:
            if part == LINE:
                continue
            text = getattr(row, field)[:LONGEST]
            fold = folded(text)[:LONGEST]
            if fold:
                yield models.LookupEntry(kind=kind, object_id=row.pk, part=part, text=text, folded=fold)


def _lines(sites: Sequence[models.Site]) -> Iterator[models.LookupEntry]:
    """The line of each site, with as much as fits: what is asked for most stands first."""
    payers = models.Customer.objects.in_bulk({site.customer_id for site in sites})
    people: dict[int, list[str]] = {}
    for pk, name, phone in models.Contact.objects.filter(site__in=[site.pk for site in sites]).values_list(
        "site", "name", "phone"
    ):
        people.setdefault(pk, []).extend((name, phone))
    for site in sites:
        payer = payers[site.customer_id]
        place = (site.street, site.city, site.postcode)
        parts = (payer.name, *place, payer.phone, site.name, *people.get(site.pk, ()))
        text = ", ".join(filter(None, parts))[:LONGEST]
        yield models.LookupEntry(
            kind="site", object_id=site.pk, part=LINE, text=text, folded=line_of(*parts)[:LONGEST].rstrip()
        )
