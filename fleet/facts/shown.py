"""The few units that a page is about, with everything that bears on them, each question prepared.

What `UnitQuerySet.with_facts` brings for a whole fleet, this brings for a page, and the systems and sites with it.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Model, QuerySet

from fleet import models
from fleet.models.prepared import prepared


def site(pk: int) -> models.Site | None:
    """Give one site with its customer, its uses and its sales, None if there is none."""
    found = _site(pk)
    _of_sites(found)
    return found[0] if found else None


def unit(pk: int) -> models.Unit | None:
    """Give one unit with its facts, None if there is none."""
    found = _unit(pk)
    bring(found)
    return found[0] if found else None


def of_system(pk: int) -> list[models.Unit]:
    """Give the units in service in a system, with their facts."""
    found = _of_system(pk)
    bring(found)
    return found


def of_site(site: models.Site) -> list[models.Unit]:
    """Give all units whose system is at a site, which is at hand, system by system."""
    found = _of_site(site.pk)
    for row in found:
        row.system.site = site
    bring(found)
    return found


def failures(unit: int) -> list[models.Failure]:
    """Give the failures of a unit with their claims and ledgers, as `claims.failures_of` brings those of many units."""
    found = _failures_of(unit)
    keys = [row.pk for row in found]
    _hold(found, "claims", _claims(keys), "failure")
    _hold(found, "refrigerant_entries", _entries(keys), "failure")
    claims = [claim for row in found for claim in row.claims.all()]
    _hold(claims, "clock_notes", _clock_notes([claim.pk for claim in claims]), "claim")
    return found


def bring(units: Sequence[models.Unit]) -> None:
    """Bring the facts of units that were fetched with their systems and sites.

    Where one still stands where it was put, its system is not asked for again; nor what hangs on a site, if that is there.
    """
    keys = [row.pk for row in units]
    for name, rows in ((name, ask(keys)) for name, ask in _OF_UNITS.items()):
        _hold(units, name, rows, "unit")
    _places(units)
    sites = {place.system.site_id: place.system.site for row in units for place in row.places.all()}
    _of_sites([site for site in sites.values() if not {"uses", "sales"} <= _held(site).keys()])


def _of_sites(sites: Sequence[models.Site]) -> None:
    keys = [site.pk for site in sites]
    _hold(sites, "uses", _uses(keys), "site")
    _hold(sites, "sales", _sales(keys), "site")


def _places(units: Sequence[models.Unit]) -> None:
    """Name the systems of the stays; units of one system share it, and systems of one site share that."""
    systems = {row.system_id: row.system for row in units}
    stays = [place for row in units for place in row.places.all()]
    systems |= {row.pk: row for row in _systems({place.system_id for place in stays} - systems.keys())}
    sites: dict[int, models.Site] = {}
    for system in systems.values():
        system.site = sites.setdefault(system.site_id, system.site)
    for row in units:
        row.system = systems[row.system_id]
    for place in stays:
        place.system = systems[place.system_id]


def _held(row: Model) -> dict[str, Any]:
    found: dict[str, Any] = vars(row).setdefault("_prefetched_objects_cache", {})
    return found


def _hold(owners: Sequence[Model], name: str, rows: Iterable[Any], back: str) -> None:
    """Keep rows with those they belong to and name as `back`, as `prefetch_related` does."""
    found: dict[int, list[Any]] = {row.pk: [] for row in owners}
    by_key = {owner.pk: owner for owner in owners}
    for row in rows:
        key = getattr(row, f"{back}_id")
        setattr(row, back, by_key[key])
        found[key].append(row)
    for owner in owners:
        related: Any = type(owner)._meta.get_field(name).related_model
        held: Any = related._default_manager.all()
        held._result_cache, held._prefetch_done = found[owner.pk], True
        _held(owner)[name] = held


@prepared
def _site(pk: int) -> QuerySet[models.Site]:
    return models.Site.objects.filter(pk=pk).select_related("customer")


@prepared
def _unit(pk: int) -> QuerySet[models.Unit]:
    return models.Unit.objects.filter(pk=pk).select_related("system__site__customer")


@prepared
def _of_system(pk: int) -> QuerySet[models.Unit]:
    return models.Unit.objects.in_service().filter(system=pk).select_related("system__site__customer")


@prepared
def _of_site(pk: int) -> QuerySet[models.Unit]:
    here = models.Unit.objects.filter(system__site=pk).select_related("system")
    return here.order_by("system__name", "system_id", "room", "serial_key", "pk")


@prepared
def _systems(keys: Iterable[int]) -> QuerySet[models.System]:
    return models.System.objects.filter(pk__in=keys).select_related("site")


@prepared
def _uses(sites: Iterable[int]) -> QuerySet[models.SiteUse]:
    return models.SiteUse.objects.filter(site__in=sites)


@prepared
def _sales(sites: Iterable[int]) -> QuerySet[models.Sale]:
    return models.Sale.objects.filter(site__in=sites)


@prepared
def _stays(units: Iterable[int]) -> QuerySet[models.Place]:
    return models.Place.objects.filter(unit__in=units)


@prepared
def _registrations(units: Iterable[int]) -> QuerySet[models.Registration]:
    return models.Registration.objects.filter(unit__in=units)


@prepared
def _notices(units: Iterable[int]) -> QuerySet[models.Notice]:
    return models.Notice.objects.filter(unit__in=units)


@prepared
def _attachments(units: Iterable[int]) -> QuerySet[models.Attachment]:
    return models.Attachment.objects.filter(unit__in=units)


@prepared
def _failures(units: Iterable[int]) -> QuerySet[models.Failure]:
    return models.Failure.objects.filter(unit__in=units)


@prepared
def _failures_of(unit: int) -> QuerySet[models.Failure]:
    return models.Failure.objects.filter(unit=unit).select_related("supplier")


@prepared
def _claims(failures: Iterable[int]) -> QuerySet[models.Claim]:
    return models.Claim.objects.filter(failure__in=failures).select_related("supplier", "by")


@prepared
def _entries(failures: Iterable[int]) -> QuerySet[models.RefrigerantEntry]:
    return models.RefrigerantEntry.objects.filter(failure__in=failures)


@prepared
def _clock_notes(claims: Iterable[int]) -> QuerySet[models.ClockNote]:
    return models.ClockNote.objects.filter(claim__in=claims).select_related("by")


@prepared
def _records(units: Iterable[int]) -> QuerySet[models.MaintenanceRecord]:
    return models.MaintenanceRecord.objects.filter(unit__in=units)


@prepared
def _idles(units: Iterable[int]) -> QuerySet[models.Idle]:
    return models.Idle.objects.filter(unit__in=units)


_OF_UNITS: dict[str, Any] = {
    "places": _stays,
    "registrations": _registrations,
    "notices": _notices,
    "attachments": _attachments,
    "failures": _failures,
    "records": _records,
    "idles": _idles,
}
