"""Suppliers: added, and put right; what hangs on their clocks and fees is worked out again."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.log import Log
from fleet.refusals import check
from fleet.registry.actions import correct as correcting

FIELDS = (
    "name", "phone", "email", "form_before_part", "file_within_days", "file_counted_from", "part_back_within_days",
    "part_back_counted_from", "old_part", "fee",
)  # fmt: skip


def add(*, told: Mapping[str, Any], by: models.User | None, on: dt.date) -> models.Supplier:
    """Add a supplier."""
    with transaction.atomic():
        row = models.Supplier(**correcting.known(told, FIELDS, of="a supplier"))
        check(row)
        row.save()
        log = Log(by=by)
        log.note(None, row, "name", "", row.name)
        log.write()
    return row


def correct(pk: int, *, was: Mapping[str, Any], told: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Put a supplier right; what somebody else changed since it was seen (`was`) is told, not lost. False: nothing changed."""
    with transaction.atomic():
        row = models.Supplier.objects.select_for_update().get(pk=pk)
        moved = correcting.changed(row, was=was, told=correcting.known(told, FIELDS, of="a supplier"))
        if not moved:
            return False
        log = Log(by=by)
        log.set(row, moved)
        check(row)
        row.save(update_fields=list(moved))
        log.write()
        refresh.refresh_claimed(supplier=row, on=on)
    return True
