"""Settling what stands on our desk until somebody says what was done about it, and letting it stand there again."""

import datetime as dt
from typing import Any

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Refused

_LONGEST = 300


def settle(table: Any, pk: int, *, how: str, by: models.User, on: dt.date) -> Any:
    """Record how a row was settled, and return it; said twice, the first stands."""
    if not how.strip():
        raise Refused("Write what was done about it.", "how")
    return _set(table, pk, on, how.strip()[:_LONGEST], by=by)


def reopen(table: Any, pk: int, *, by: models.User) -> Any:
    """Let a row stand on our desk again, and return it."""
    return _set(table, pk, None, "", by=by)


def _set(table: Any, pk: int, day: dt.date | None, how: str, *, by: models.User) -> Any:
    with transaction.atomic():
        row = table.objects.select_for_update().get(pk=pk)
        if (row.settled_on is None) is not (day is None):
            log = Log(by=by)
            log.note(None, row, "settled_how", row.settled_how, how)
            log.write()
            row.settled_on, row.settled_how, row.settled_by = day, how, by if day is not None else None
            row.save(update_fields=["settled_on", "settled_how", "settled_by"])
    return row
