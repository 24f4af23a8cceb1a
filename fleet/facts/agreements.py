"""Agreements as the rules of revenue see them, the heads that they are priced by, and how often they renewed."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from fleet import models
from fleet.facts.house import house
from fleet.rules import care, revenue
from fleet.rules.agreements import Agreement

_FIELDS = (
    "start_on", "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing", "renews",
    "rise_percent", "terms_agreed", "ended_on", "reference", "pk",
)  # fmt: skip


def agreement_of(row: models.Agreement) -> Agreement:
    """An agreement as the rules of revenue see it."""
    return Agreement(*(getattr(row, name) for name in _FIELDS))


def of_sites(sites: Collection[int]) -> Mapping[int, tuple[Agreement, ...]]:
    """Gather the agreements of sites, by the site's key, the earliest first."""
    found: dict[int, tuple[Agreement, ...]] = defaultdict(tuple)
    rows = models.Agreement.objects.filter(site__in=sites).values_list("site_id", *_FIELDS)
    for site, *told in rows:
        found[site] = (*found[site], Agreement(*told))
    return found


def heads_of(sites: Collection[int]) -> Mapping[int, Sequence[care.CareUnit]]:
    """Gather every head that ever stood at sites, by the site's key, with the days on which it was in service there."""
    found: dict[int, list[care.CareUnit]] = defaultdict(list)
    stays = models.Place.objects.filter(system__site__in=sites, unit__role="head").order_by("pk")
    rows = list(
        stays.values_list(
            "system__site_id", "unit_id", "unit__style", "joined_on", "left_on", "unit__replaced_on", "unit__removed_on",
            "unit__installed_on", "unit__started_on", "unit__in_place_of__removed_on",
        )
    )  # fmt: skip
    for site, unit, style, joined, left, came, gone, installed, started, replaces in rows:
        last = min((day for day in (left, gone) if day is not None), default=None)
        head = care.CareUnit(
            str(unit),
            style=style,
            replaced_on=came,
            joined_on=joined,
            left_on=last,
            installed_on=installed,
            started_on=started,
            replaces_on=replaces,
        )
        found[site].append(head)
    return found


def renewal_rate(*, today: dt.date) -> revenue.RenewalRate:
    """The share of agreements that renew: measured where enough have come up, else the owner's figure."""
    renewed = asked = 0
    for row in models.Agreement.objects.values_list(*_FIELDS).iterator(chunk_size=500):
        yes, all_told = revenue.came_up(Agreement(*row), today=today)
        renewed, asked = renewed + yes, asked + all_told
    return revenue.renewal_rate(renewed=renewed, came_up=asked, owners=house().renewal_percent / 100)
