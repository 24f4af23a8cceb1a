"""What was reported of units on site: the list, one of them, and what bears on a unit found there."""

import datetime as dt
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List
from fleet.registry.pages.reports import SERIAL_WHY, WORDS, Report, SiteHere, SystemChoice


def _rows(filters: Any, on: dt.date) -> QuerySet[models.UnitReport]:
    rows = models.UnitReport.objects.all()
    if filters.state != "any":
        rows = rows.filter(settled_on__isnull=filters.state == "open")
    return rows.select_related("unit__system__site__customer", "by", "settled_by")


REPORTS = List(
    file="reported-on-site",
    caption="What was reported of units on site",
    rows=_rows,
    usual="day",
    columns=(
        Column("day", "Reported", "day", value=lambda row: Cell(row.on, Link("unit_report", row.pk)), order=("on",)),
        Column("kind", "What", value=lambda row: Cell(row.kind, said=WORDS[row.kind]), order=("kind",)),
        named.unit("unit"),
        named.customer("unit__system__site__customer"),
        named.site("unit__system__site"),
        Column("said", "What was said"),
        Column("by", "By", value=lambda row: str(row.by), order=("by__username",)),
        Column("settled_on", "Settled", "day", order=("settled_on",), blanks_last=True),
        Column("settled_how", "What was done", shown=False),
        Column("settled_by", "Settled by", value=lambda row: str(row.settled_by or ""), shown=False),
    ),
    filters=(
        Filter(
            "state", "Show", [("open", "not settled"), ("settled", "settled"), ("any", "all")], blank="", usual="open",
            narrows=False,
        ),
        Filter("kind", "What", [(kind, words) for kind, words in WORDS.items()], blank="either", where="kind"),
        Filter("text", "Customer has", where="unit__system__site__customer__name__icontains"),
    ),
)  # fmt: skip


def of_unit(pk: int) -> tuple[Report, ...]:
    """What was reported of a unit and is not settled."""
    return tuple(map(_report, _with_all(models.UnitReport.objects.open().filter(unit=pk))))


def report(pk: int) -> Report | None:
    """One report; None if there is none such."""
    row = _with_all(models.UnitReport.objects.filter(pk=pk)).first()
    return None if row is None else _report(row)


def _with_all(rows: QuerySet[models.UnitReport]) -> QuerySet[models.UnitReport]:
    return rows.select_related("unit__system__site__customer", "by", "settled_by").order_by("on", "pk")


def _report(row: models.UnitReport) -> Report:
    site = row.unit.system.site
    return Report(
        pk=row.pk,
        kind=row.kind,
        unit=row.unit_id,
        named=str(row.unit),
        room=row.unit.room,
        site_pk=site.pk,
        site=site.name,
        customer=site.customer.name,
        said=row.said,
        on=row.on,
        by=str(row.by),
        by_pk=row.by_id,
        settled_on=row.settled_on,
        settled_how=row.settled_how,
        settled_by=str(row.settled_by or ""),
    )


def site(pk: int) -> SiteHere | None:
    """A site with its systems and what stands in each; None if there is none such."""
    row = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if row is None:
        return None
    units: dict[int, list[models.Unit]] = {}
    for unit in models.Unit.objects.in_service().filter(system__site=pk).order_by("pk"):
        units.setdefault(unit.system_id, []).append(unit)
    systems = sorted(row.systems.all(), key=lambda system: system.name)
    return SiteHere(
        pk=row.pk,
        name=row.name,
        customer_pk=row.customer_id,
        customer=row.customer.name,
        address=named.address(row),
        systems=tuple(SystemChoice(system.pk, _system(system, units.get(system.pk, []))) for system in systems),
    )


def _system(system: models.System, units: list[models.Unit]) -> str:
    rooms = [unit.room or unit.role for unit in sorted(units, key=named.as_it_stands)]
    more = f" and {len(rooms) - 4} more" if len(rooms) > 4 else ""
    return f"{system.name}: {', '.join(rooms[:4])}{more}" if rooms else f"{system.name}: nothing in it"


def own_serial(unit: int, by: models.User) -> int | None:
    """The change by which somebody put a unit's serial right on site, if it is the last of that serial; else None."""
    last = models.Change.objects.filter(table="unit", object_id=unit, field="serial").order_by("-pk").first()
    return last.pk if last is not None and last.by_id == by.pk and last.why == SERIAL_WHY else None
