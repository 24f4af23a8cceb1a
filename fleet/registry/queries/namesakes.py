"""Customers who have one name, told apart by where their sites are."""

from collections.abc import Collection

from fleet import models
from fleet.elements.named import address
from fleet.registry.pages.namesakes import Namesake

# So many of one name are offered, and so many sites of each are named.
_MOST, _SITES = 20, 2


def of_name(name: str, *, but: int | None = None) -> tuple[Namesake, ...]:
    """The customers of exactly this name, the first on file first; without one of them, where `but` is given.

    It is asked before a form is checked, so a name may have in it what no database takes; nobody on file has that name.
    """
    if "\0" in name:
        return ()
    rows = models.Customer.objects.filter(name=name).exclude(pk=but or 0).order_by("pk").prefetch_related("sites")
    return tuple(_namesake(row) for row in rows[:_MOST])


def of_keys(keys: Collection[int]) -> tuple[Namesake, ...]:
    """Customers by their keys, the first on file first."""
    rows = models.Customer.objects.filter(pk__in=keys).order_by("pk").prefetch_related("sites")
    return tuple(_namesake(row) for row in rows[:_MOST])


def _namesake(row: models.Customer) -> Namesake:
    sites = sorted(row.sites.all(), key=lambda site: site.pk)
    where = [address(site) or f"{site.name}, no street on file" for site in sites[:_SITES]]
    more = [f"and {len(sites) - _SITES} more"] if len(sites) > _SITES else []
    words = "; ".join([*where, *more]) or "no site yet"
    return Namesake(
        row.pk, f"{row.name}: {words}{f'; {row.phone}' if row.phone else ''}", tuple(site.street for site in sites)
    )
