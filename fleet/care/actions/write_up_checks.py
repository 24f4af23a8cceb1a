"""Settling what a write-up said and what could not be recorded, and letting it stand open again."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Refused

_LONGEST = 300


def settle(pk: int, *, how: str, by: models.User, on: dt.date) -> models.WriteUpCheck:
    """Record how it was settled; said twice, the first stands."""
    if not how.strip():
        raise Refused("Write what was done about it.", "how")
    return _set(pk, on, how.strip()[:_LONGEST], by=by)


def reopen(pk: int, *, by: models.User) -> models.WriteUpCheck:
    """Let it stand on our desk again."""
    return _set(pk, None, "", by=by)


def _set(pk: int, day: dt.date | None, how: str, *, by: models.User) -> models.WriteUpCheck:
    with transaction.atomic():
        row = models.WriteUpCheck.objects.select_for_update().get(pk=pk)
        if (row.settled_on is None) is not (day is None):
            log = Log(by=by)
            log.note(None, row, "settled_how", row.settled_how, how)
            log.write()
            row.settled_on, row.settled_how, row.settled_by = day, how, by if day is not None else None
            row.save(update_fields=["settled_on", "settled_how", "settled_by"])
    return row
