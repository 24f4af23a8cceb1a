"""Registrations that a payer has in another name, or with another serial, than is on file with us by now.

In a former owner's name a registration is right where the house was sold since: of that the payer is told another way.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from fleet import models
from fleet.coverage.pages.registrations import Differing
from fleet.coverage.queries.registration_queue import SYSTEM
from fleet.elements import named
from fleet.elements.cells import Column
from fleet.elements.listing import Filter, List
from fleet.registry.facts.owners import name_at

_SITE = "unit__system__site"
NAME, SERIAL = "name", "serial"


def differing() -> QuerySet[models.Registration]:
    """The registrations of units in service that differ from ours, each with `owner`, in whose name it should be."""
    sold = models.Sale.objects.filter(
        site=OuterRef(f"{_SITE}_id"), seller__name=OuterRef("in_name"), sold_on__gte=OuterRef("registered_on")
    )
    rows = models.Registration.objects.filter(unit__removed_on=None).annotate(owner=name_at(_SITE))
    name = ~Q(in_name="") & ~Q(in_name=F("owner")) & ~Q(fine_name=F("owner")) & ~Exists(sold)
    serial = ~Q(serial_key="") & ~Q(serial_key=F("unit__serial_key")) & ~Q(fine_serial_key=F("unit__serial_key"))
    return rows.filter(name | serial)


def of_system(system: int, terms: Mapping[str, int]) -> Iterator[Differing]:
    """What differs in one system, in sentences: names that differ alike together, then each serial."""
    rows = list(differing().filter(unit__system=system).select_related("unit", "terms").order_by("pk"))
    by_name: dict[tuple[str, str], list[Any]] = {}
    for row in rows:
        if _name_differs(row):
            by_name.setdefault((_with(row), row.in_name), []).append(row)
    for (payer, name), those in by_name.items():
        units = f"{len(those)} units are" if len(those) > 1 else f"{_unit(those[0])} is"
        words = f"{payer} has {name} as the owner: {units} registered in that name. By our records the owner is {those[0].owner}."
        yield Differing(NAME, words, tuple(row.pk for row in those))
    for row in rows:
        if _serial_differs(row):
            ours = row.unit.serial or "not known"
            words = f"{_with(row)} has serial {row.serial} for {_unit(row)}. By our records it is {ours}."
            yield Differing(SERIAL, words, (row.pk,))


def _name_differs(row: Any) -> bool:
    return bool(row.in_name) and row.owner not in (row.in_name, row.fine_name)


def _serial_differs(row: Any) -> bool:
    return bool(row.serial_key) and row.unit.serial_key not in (row.serial_key, row.fine_serial_key)


def _with(row: models.Registration) -> str:
    if row.terms is None:
        return f"{row.unit.maker}"
    return row.unit.maker if row.terms.payer == "maker" else row.terms.title


def _unit(row: models.Registration) -> str:
    return row.unit.room or f"{row.unit.maker} {row.unit.model}"


# ------------------------------------------------------------------------------------------------------------ the list


def _systems(filters: Any, on: dt.date) -> list[dict[str, Any]]:
    """A row for each system, at hand: what differs is little, and is gone once somebody settled it."""
    # Of a large fleet, those of which a payer's name or serial is kept at all come first.
    kept = models.Registration.objects.filter(Q(in_name__gt="") | Q(serial_key__gt=""))
    rows = differing().filter(pk__in=kept.values("pk")).select_related("unit__system__site__customer", "terms")
    if filters.text:
        rows = rows.filter(named.text_of_unit("unit", "in_name")(filters.text))
    by_system: dict[int, list[Any]] = {}
    for row in rows.order_by("unit__system", "pk"):
        by_system.setdefault(row.unit.system_id, []).append(row)
    return [_of_one(those) for those in by_system.values()]


def _of_one(those: list[Any]) -> dict[str, Any]:
    """The row of one system, with what its first registration says."""
    one = those[0]
    theirs, ours = (one.in_name, one.owner) if _name_differs(one) else (one.serial, one.unit.serial or "not known")
    units = len({row.unit_id for row in those})
    return {"system": one.unit.system, "with": _with(one), "theirs": theirs, "ours": ours, "units": units}


REGISTERED_OTHERWISE = List(
    file="registered-otherwise",
    caption="Registrations that differ from our records",
    rows=_systems,
    usual="system",
    filters=(Filter("text", "Serial, model, site or customer has"),),
    columns=(
        SYSTEM,
        named.customer("system__site__customer", sorts=False),
        Column("with", "With whom"),
        Column("theirs", "They have"),
        Column("ours", "We have"),
        Column("units", "Units", "number", order=("units",)),
    ),
)
