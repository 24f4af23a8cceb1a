"""Suppliers: added, and put right; what hangs on their clocks and fees is worked out again."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet import models
from fleet.derived import refresh as kept
from fleet.log import Log
from fleet.registry.actions.refused import ByField
from fleet.sheets.columns import in_plain

FIELDS = (
    "name", "phone", "email", "form_before_part", "file_within_days", "file_counted_from", "part_back_within_days",
    "part_back_counted_from", "old_part", "fee",
)  # fmt: skip


class Refused(ByField):
    """Why a supplier was not written, by field; nothing was changed."""


def add(*, told: Mapping[str, Any], by: models.User | None, on: dt.date) -> models.Supplier:
    """Add a supplier."""
    with transaction.atomic():
        row = models.Supplier(**_known(told))
        _check(row)
        row.save()
        log = Log(by=by)
        log.note(None, row, "name", "", row.name)
        log.write()
    return row


def correct(pk: int, *, was: Mapping[str, Any], told: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Put a supplier right; what somebody else changed since it was seen (`was`) is told, not lost. False: nothing changed."""
    with transaction.atomic():
        row = models.Supplier.objects.select_for_update().get(pk=pk)
        moved = {name: value for name, value in _known(told).items() if was.get(name) != value}
        faults = {
            name: f"Somebody changed this meanwhile; it is now {in_plain(getattr(row, name)) or 'blank'}."
            for name, value in moved.items()
            if getattr(row, name) not in (was.get(name), value)
        }
        if faults:
            raise Refused(faults)
        moved = {name: value for name, value in moved.items() if getattr(row, name) != value}
        if not moved:
            return False
        log = Log(by=by)
        for name, value in moved.items():
            log.note(None, row, name, getattr(row, name), value)
            setattr(row, name, value)
        _check(row)
        row.save(update_fields=list(moved))
        log.write()
        kept.refresh_claimed(supplier=row, on=on)
    return True


def _known(told: Mapping[str, Any]) -> dict[str, Any]:
    unknown = set(told) - set(FIELDS)
    if unknown:
        raise KeyError(f"not facts of a supplier: {sorted(unknown)}")
    return {name: value.strip() if isinstance(value, str) else value for name, value in told.items()}


def _check(row: models.Supplier) -> None:
    try:
        row.full_clean(exclude=[field.name for field in row._meta.fields if getattr(row, field.attname) is None])
    except ValidationError as wrong:
        raise Refused({field: " ".join(texts) for field, texts in wrong.message_dict.items()}) from wrong
