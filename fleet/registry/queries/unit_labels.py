"""Labels: the list of them, what one is on, the units that may get one, and what stands on each when it is printed."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.db.models import F, Q, QuerySet

from fleet import models
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.elements.named import as_it_stands, link
from fleet.elements.pieces import UnitLink
from fleet.registry.pages.unit_labels import Sticker
from fleet.rules import label_codes
from fleet.rules.company import Company

STATES = {
    "blank": Q(unit=None),
    "on": Q(unit__isnull=False, unit__removed_on=None),
    "gone": Q(unit__removed_on__isnull=False),
}
_WORDS = [("on", "on a unit"), ("blank", "blank"), ("gone", "on a unit that is gone")]


def _rows(filters: Any, on: dt.date) -> QuerySet[models.Label]:
    return models.Label.objects.select_related("unit__system__site__customer", "by")


def _state(label: models.Label) -> Cell:
    state = "blank" if label.unit is None else "on" if label.unit.removed_on is None else "gone"
    return Cell(state, said=dict(_WORDS)[state])


def _with_code(text: str) -> Q:
    code = text.strip().replace("-", "").replace(" ", "")
    return Q(code__icontains=code) | named.text_of_unit("unit")(text)


def _lead(listing: Listing) -> dict[str, Any]:
    return {"nothing_on_file": not listing.count and not models.Label.objects.exists()}


def _unit(label: models.Label) -> Cell:
    return named.unit_cell(label.unit) if label.unit else Cell("")


def _place(label: models.Label, kind: str) -> Cell:
    if label.unit is None:
        return Cell("")
    site = label.unit.system.site
    thing = site if kind == "site" else site.customer
    return Cell(thing.name, Link(kind, thing.pk))


LABELS = List(
    file="labels",
    caption="Labels, the newest first",
    rows=_rows,
    lead=_lead,
    usual="-printed",
    tie=("-at", "-pk"),
    columns=(
        Column("label", "Label", "serial", lambda label: Cell(str(label), Link("label_of", label.pk)), order=("code",)),
        Column("state", "State", value=_state),
        Column("unit", "Unit", "serial", _unit, order=("unit__serial_key",)),
        Column("room", "Room", value="unit.room"),
        Column("customer", "Customer", value=lambda label: _place(label, "customer")),
        Column("site", "Site", value=lambda label: _place(label, "site")),
        Column("printed", "Printed", "moment", lambda label: named.local(label.at), order=("at",)),
        Column("by", "By", value=lambda label: str(label.by or "")),
    ),
    filters=(
        Filter("state", "State", _WORDS, where=lambda state: STATES[state]),
        Filter("text", "Code, serial, model, site or customer has", where=_with_code),
    ),
)


def by_code(code: str) -> models.Label | None:
    """The label of a code, with the unit that it is on."""
    return _with_units().filter(code=code).first()


def by_key(pk: int) -> models.Label | None:
    """One label, with the unit that it is on."""
    return _with_units().filter(pk=pk).first()


def _with_units() -> QuerySet[models.Label]:
    return models.Label.objects.select_related("unit__system__site__customer", "unit__taken_over_by", "by")


def next_of(unit: models.Unit) -> models.Unit | None:
    """The unit that came for one that is gone: in exchange under warranty, or bought in its place."""
    came = models.Unit.objects.filter(Q(took_over_from=unit) | Q(in_place_of=unit))
    return came.order_by(F("took_over_from").desc(nulls_last=True)).first()


def of_unit(pk: int) -> list[models.Label]:
    """The labels of a unit, the newest first."""
    return list(models.Label.objects.filter(unit=pk))


def to_label(*, site: int | None = None, system: int | None = None, unit: int | None = None) -> list[UnitLink]:
    """The units in service that may get a label, as they stand: of a site, a system, or one alone."""
    asked = {"system__site": site, "system": system, "pk": unit}
    named_ones = {name: value for name, value in asked.items() if value is not None}
    if not named_ones:
        return []
    rows = list(models.Unit.objects.in_service().filter(**named_ones).select_related("system"))
    return [link(row) for row in sorted(rows, key=lambda row: (row.system.name, *as_it_stands(row)))]


def stickers(keys: Sequence[int], *, company: Company, host: str) -> list[Sticker]:
    """What stands on labels that are on file, in the order of the keys: the room in large letters, then the serial."""
    rows = models.Label.objects.select_related("unit").in_bulk(list(keys))
    ours = tuple(filter(None, (company.name, company.phone)))
    return [_sticker(rows[key], ours, host) for key in keys if key in rows]


def _sticker(label: models.Label, ours: tuple[str, ...], host: str) -> Sticker:
    words: tuple[str, ...] = ()
    if (unit := label.unit) is not None:
        words = (unit.room or named.what(unit).capitalize(), unit.serial or unit.model)
    return Sticker(label_codes.address(host, label.code), str(label), words, ours)
