"""What a file of history did besides adding rows that bear its load: moves, exchanges, removals, times out of use and sales.

Each of its rows knows what came of it (`HistoryRow`), so they are undone one by one, the latest first, as somebody would on the
unit's page. Only what became of a unit last can be undone; where something became of it since, that stands in the way.
"""

import datetime as dt

from django.db.models import QuerySet

from fleet import models
from fleet.office.actions.import_undo_facts import CHUNK
from fleet.refusals import Refused
from fleet.registry.actions import undo_events

# Facts that a row writes and that go with it, by table and field.
TOLD_BY_ROWS = frozenset((("unit", "system"), ("unit", "removed_on"), ("idle", "back_on")))
_MOVES = ("moved", "exchanged", "removed", "idle", "back in use")


def check(load: models.Load) -> None:
    """Refuse where the file filled or changed what an earlier one had told: what that said before is not on file any more."""
    on_its_own = {"unit", "idle", "attachment"}
    changes = models.Change.objects.filter(load=load).exclude(table__in=on_its_own)
    if first := changes.order_by("pk").first():
        number = changes.values("table", "object_id").distinct().count()
        which = "a row" if number == 1 else f"{number:,} rows"
        raise Refused(
            f"It also filled in or changed {which} of an earlier file ({first.field.replace('_', ' ')} first), which cannot be"
            " undone with it. Correct those on the unit's page instead."
        )
    later = models.Change.objects.filter(table="historyrow", object_id__in=_rows(load).values("pk")).exclude(load=load)
    if change := later.order_by("pk").first():
        row = models.HistoryRow.objects.get(pk=change.object_id)
        raise Refused(f"A later file changed what this one said of {row.unit}. Undo the later import first.")


def units(load: models.Load) -> set[int]:
    """The units that the file told of, with all that stood at a house that it says was sold."""
    sales = _rows(load).filter(table="sale").values("object_id")
    sites = models.Sale.objects.filter(pk__in=sales).values("site")
    there = models.Place.objects.filter(system__site__in=sites).values_list("unit_id", flat=True)
    return {*_rows(load).values_list("unit_id", flat=True), *there}


def forget_facts(load: models.Load) -> None:
    """Let the rows go that only added something to a unit: what they added goes by itself."""
    _rows(load).exclude(content__kind__in=(*_MOVES, "sold")).delete()


def undo_moves(load: models.Load, *, why: str, by: models.User | None, on: dt.date) -> None:
    """Undo whatever moved a unit or sold a house, the latest first."""
    for row in _rows(load).select_related("unit").order_by("-pk").iterator(chunk_size=CHUNK):
        kind, day = row.content["kind"], dt.date.fromisoformat(row.content["day"])
        if kind == "sold":
            _unsold(row)
        elif row.table:  # else somebody undid it on the unit's page already
            try:
                undo_events.undo_event(row.unit_id, kind=kind, day=day, why=why, by=by, on=on)
            except Refused as refused:
                raise Refused(f"{row.unit}, {kind} on {day}: {refused}") from refused
        models.HistoryRow.objects.filter(pk=row.pk).delete()


def _unsold(row: models.HistoryRow) -> None:
    """Let a sale go of which nothing but this file told; one that names its seller was recorded on a screen as well."""
    if row.object_id is None:  # somebody undid it on the site's page already
        return
    sale = models.Sale.objects.filter(pk=row.object_id).first()
    others = models.HistoryRow.objects.filter(table="sale", object_id=row.object_id).exclude(pk=row.pk)
    if sale is None or sale.seller_id or sale.buyer_id or others.exists():
        return
    told = models.Notice.objects.filter(unit__system__site=sale.site_id, notified_on__gte=sale.sold_on)
    if notice := told.select_related("unit").first():
        raise Refused(f"A payer was told of the sale of {sale.site} on {notice.notified_on}. Undo that notice first.")
    sale.delete()


def _rows(load: models.Load) -> QuerySet[models.HistoryRow]:
    return models.HistoryRow.objects.filter(load=load)
