"""What was changed about a unit, a site or a customer: when, by whom, from what to what, and why."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Q, QuerySet

from fleet import models
from fleet.elements.named import local_moment
from fleet.registry.facts import corrections, swaps
from fleet.registry.facts.labels import label, said
from fleet.registry.pages import changes as pages
from fleet.rules.wording import changes as wording

TABLES: dict[str, Any] = {"customer": models.Customer, "site": models.Site, "unit": models.Unit}
# Shown on one page; a thing changed more often than this shows the newest.
MOST = 500


def page(kind: str, pk: int) -> pages.ChangesPage | None:
    """The last changes of a thing and its merges, newest first; None if it is not there."""
    match = TABLES[kind].objects.filter(pk=pk)
    thing = (match.prefetch_related("uses") if kind == "site" else match).first()
    if thing is None:
        return None
    found = _changes(kind, pk).select_related("by", "load")
    rows = list(found.order_by("-at", "-pk")[:MOST])
    names = _systems(rows) | _swapped_with(rows)
    swapped = swaps.why_not(rows)
    of = {(kind, pk): thing}
    if kind == "unit":
        of |= {("registration", row.pk): row for row in thing.registrations.all()}
    if kind == "site":
        of |= {("siteuse", use.pk): use for use in thing.uses.all()}
    merges = models.Merge.objects.filter(kind=kind, kept_id=pk).select_related("by", "undone_by").order_by("-at", "-pk")
    return pages.ChangesPage(
        kind=kind,
        pk=pk,
        name=str(thing),
        changes=tuple(_changed(row, names, of, swapped) for row in rows),
        merged=tuple(_merged(merge) for merge in merges),
        count=len(rows) if len(rows) < MOST else found.count(),
    )


def _changes(kind: str, pk: int) -> QuerySet[models.Change]:
    """Find what was changed about a thing itself, and about the rows that tell of it."""
    mine = Q(table=kind, object_id=pk)
    if kind == "unit":
        for table in (models.Registration, models.Attachment, models.Failure, models.MaintenanceRecord, models.Idle):
            below = table.objects.filter(unit=pk).values("pk")
            mine |= Q(table=table._meta.model_name, object_id__in=below)
        mine |= Q(table="place", object_id__in=models.Place.objects.filter(unit=pk).values("pk"))
        mine |= Q(table="historyrow", object_id__in=models.HistoryRow.objects.filter(unit=pk).values("pk"))
    if kind == "site":
        mine |= Q(table="siteuse", object_id__in=models.SiteUse.objects.filter(site=pk).values("pk"))
    return models.Change.objects.filter(mine)


def _systems(rows: list[models.Change]) -> dict[str, str]:
    """The names of the systems that changes point at, by key."""
    keys = {text for row in rows if row.field == "system" for text in (row.before, row.after) if text.isdecimal()}
    named = models.System.objects.filter(pk__in=keys).select_related("site__customer")
    return {str(one.pk): f"{one.site.customer}, {one.site}, {one}" for one in named}


def _swapped_with(rows: list[models.Change]) -> dict[str, str]:
    """What was swapped with which head, in words, by what the log keeps of it."""
    done = {row.after: swap for row in rows if row.field == swaps.FIELD and (swap := swaps.read(row.after))}
    units = models.Unit.objects.in_bulk({swap.other for swap in done.values()}) if done else {}
    return {
        text: f"{swap.what} with {units.get(swap.other, 'a head that is no longer on file')}"
        for text, swap in done.items()
    }


def _changed(
    row: models.Change, names: dict[str, str], of: dict[tuple[str, int], Any], swapped: Mapping[int, str]
) -> pages.Changed:
    table = "" if row.table in TABLES else f"{row.table.replace('maintenancerecord', 'maintenance')}: "
    why = ", ".join(
        filter(None, (row.why, f"file {row.load.name}" if row.load and row.load.name != "the rows" else ""))
    )
    return pages.Changed(
        pk=row.pk,
        at=local_moment(row.at),
        what=f"{table}{label(row.field)}",
        before=_value(row.before, row, names),
        after=_value(row.after, row, names),
        by=str(row.by) if row.by else "command line",
        why=why,
        why_not=swapped[row.pk]
        if row.pk in swapped
        else corrections.why_not(row, corrections.current(row, of.get((row.table, row.object_id)))),
        swap=row.pk in swapped,
    )


def before(change: models.Change) -> str:
    """What a fact said before a change, in words."""
    return _value(change.before, change, {}) or "blank"


def _value(text: str, row: models.Change, names: dict[str, str]) -> str:
    if row.field in ("system", swaps.FIELD):
        return names.get(text, text)
    if row.field.endswith("_on"):
        return wording.value(text)
    return said(row.field, text)


def _merged(merge: models.Merge) -> pages.Merged:
    undone = ""
    if merge.undone_at is not None:
        undone = f"{local_moment(merge.undone_at)}, by {merge.undone_by or 'command line'}"
    by = str(merge.by) if merge.by else "command line"
    return pages.Merged(merge.pk, merge.content["gone"], local_moment(merge.at), by, merge.why, undone)


def merged(pk: int) -> tuple[str, int] | None:
    """What a merge merged, and the key of its survivor; None if there is no such merge."""
    found: tuple[str, int] | None = models.Merge.objects.filter(pk=pk).values_list("kind", "kept_id").first()
    return found


def whose(change: int) -> tuple[str, int] | None:
    """Of which thing, by kind and key, the page of changes shows a change; None where there is none such."""
    row = models.Change.objects.filter(pk=change).first()
    if row is not None and row.table in TABLES and TABLES[row.table].objects.filter(pk=row.object_id).exists():
        return row.table, row.object_id
    if row is not None and row.table == "siteuse":
        site: int | None = models.SiteUse.objects.values_list("site_id", flat=True).filter(pk=row.object_id).first()
        return None if site is None else ("site", site)
    if row is not None and row.table == "registration":
        unit: int | None = (
            models.Registration.objects.values_list("unit_id", flat=True).filter(pk=row.object_id).first()
        )
        return None if unit is None else ("unit", unit)
    return None
