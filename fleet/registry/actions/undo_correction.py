"""Undoing one correction from the log of changes: the fact says again what it said before, and the log says that too."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.actions import correct
from fleet.registry.facts import corrections
from fleet.registry.facts.labels import label
from fleet.rules import words

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
                case models.Registration():
                    _of_registration(row, change, by=by)
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


def _of_registration(row: models.Registration, change: models.Change, *, by: models.User | None) -> None:
    """What a payer has of a registration says again what it said; nothing is worked out from it."""
    log = Log(by=by)
    log.set(row, {change.field: change.before}, why=_WHY)
    row.serial_key = words.key(row.serial)
    check(row)
    row.save()
    log.write()
