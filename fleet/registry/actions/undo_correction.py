"""Undoing one correction from the log of changes: the fact says again what it said before, and the log says that too."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.elements.edits import Edit
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct
from fleet.registry.facts import corrections
from fleet.registry.facts.labels import label

_WHY = "correction undone"


def undo(pk: int, *, by: models.User | None, on: dt.date) -> models.Change:
    """Undo a correction that still holds; return it. Refused where something was said since, or where it was none."""
    with transaction.atomic():
        change = models.Change.objects.filter(pk=pk).first()
        if change is None:
            raise Refused("This change is no longer on file.")
        table = corrections.TABLES.get(change.table)
        row = None if table is None else table.objects.select_for_update().filter(pk=change.object_id).first()
        reason = corrections.why_not(change, corrections.current(change, row))
        if reason:
            raise Refused(f"Nothing was undone: {label(change.field)}. {reason}")
        edits = {change.field: Edit(change.after, change.before)}
        try:
            match row:
                case models.Customer():
                    correct.customer(row.pk, edits, by=by, on=on, why=_WHY)
                case models.Site():
                    correct.site(row.pk, edits, by=by, on=on, why=_WHY)
                case models.SiteUse():
                    correct.site(row.site_id, edits, by=by, on=on, why=_WHY)
                case _:
                    correct.unit(change.object_id, edits, by=by, on=on, why=_WHY)
        except Conflict:
            raise
        except Refused as refused:
            raise Refused(
                f"Nothing was undone: {label(change.field)} cannot be {change.before or 'blank'} now. {refused}"
            ) from refused
    return change
