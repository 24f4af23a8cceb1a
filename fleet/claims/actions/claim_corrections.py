"""Undoing a correction of what a claim has beside its steps, from its log."""

import datetime as dt
from typing import Any

from django.db import transaction

from fleet import models
from fleet.claims.actions import claims
from fleet.refusals import Conflict, Refused
from fleet.sheets.columns import in_plain


def undo(pk: int, change_pk: int, *, by: models.User | None, on: dt.date) -> models.Claim:
    """Undo a correction beside the steps that still holds: what it was about says again what it said before."""
    with transaction.atomic():
        row = models.Claim.objects.filter(pk=pk).first()
        if row is None:
            raise Refused({"claim": "This claim is no longer on file."})
        noted = models.Change.objects.filter(
            pk=change_pk, table="claim", object_id=pk, field__in=claims.CHANGEABLE
        ).first()
        if noted is None:
            raise Refused("This correction is no longer on file.")
        if in_plain(getattr(row, noted.field)) != noted.after:
            raise Conflict("This was changed again since. Correct it on the claim.")
        edits = {noted.field: _before(noted)}
        return claims.change(pk, version=row.version, edits=edits, by=by, on=on, why="correction undone")


def _before(noted: models.Change) -> Any:
    """What a fact said before a change, as the claim has it."""
    text = noted.before
    match noted.field:
        case "supplier":
            supplier = models.Supplier.objects.filter(name=text).first()
            if text and supplier is None:
                raise Refused(f"The supplier {text} is no longer on file.")
            return supplier
        case "kinds":
            return text.split(";")
        case "part_asked_for":
            return None if not text else text == "yes"
        case "reference" | "carrier":
            return text
        case _:
            return dt.date.fromisoformat(text) if text else None
