"""The deadlines of a unit's or a site's page: whoever may see the list of all sees agreements and promises of ours among them."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest

from fleet import clock, models
from fleet.front.queries import deadlines
from fleet.front.queries import deadlines_of_ours as ours
from fleet.rules.caresheet import CareSheet
from fleet.web import access


def of_site(
    request: HttpRequest,
    found: Sequence[Any],
    site: int,
    promises: Sequence[models.OwnPromise],
    sheet: CareSheet | None = None,
) -> Sequence[Any]:
    """The deadlines of a site's units, with those of its agreements, by the care sheet where that was read, and of what was promised there."""
    if not _may(request):
        return found
    on = clock.today()
    return deadlines.in_order([*found, *ours.of_agreements(site, sheet, on=on), *ours.of_promises(promises, on=on)], on)


def of_system(request: HttpRequest, found: Sequence[Any], system: int) -> Sequence[Any]:
    """The deadlines of a unit, with those of what was promised for its system."""
    if not _may(request):
        return found
    on = clock.today()
    return deadlines.in_order([*found, *ours.of_system(system, on=on)], on)


def _may(request: HttpRequest) -> bool:
    return access.may_see(access.person(request).role, "deadlines")
