"""Agreements as the rules of revenue see them."""

from collections import defaultdict
from collections.abc import Collection, Mapping

from fleet import models
from fleet.rules import revenue

_FIELDS = (
    "start_on", "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing", "renews",
    "rise_percent", "terms_agreed", "ended_on", "reference",
)  # fmt: skip


def agreement_of(row: models.Agreement) -> revenue.Agreement:
    """Give an agreement as the rules of revenue see it."""
    return revenue.Agreement(*(getattr(row, name) for name in _FIELDS))


def of_sites(sites: Collection[int]) -> Mapping[int, tuple[revenue.Agreement, ...]]:
    """Gather the agreements of sites, by the site's key, the earliest first."""
    found: dict[int, tuple[revenue.Agreement, ...]] = defaultdict(tuple)
    rows = models.Agreement.objects.filter(site__in=sites).values_list("site_id", *_FIELDS)
    for site, *told in rows:
        found[site] = (*found[site], revenue.Agreement(*told))
    return found
