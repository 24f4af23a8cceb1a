"""Templates of agreements: made, changed and deleted by the owner; agreements made from one are not touched."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.registry.actions import correct

TERMS = (
    "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing", "renews", "rise_percent",
)  # fmt: skip
FIELDS = ("name", *TERMS)


def make(*, facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> models.AgreementTemplate:
    """Make a template; a name that another has is refused."""
    del on
    with transaction.atomic():
        row = models.AgreementTemplate(**correct.known(facts, FIELDS, of="a template"))
        _check(row)
        row.save()
        log = Log(by=by)
        log.note(None, row, "name", "", row.name)
        log.write()
    return row


def change(pk: int, *, was: Mapping[str, Any], facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Change a template; what somebody else changed since it was seen (`was`) is said, not lost. False: nothing changed."""
    del on
    with transaction.atomic():
        row = models.AgreementTemplate.objects.select_for_update().get(pk=pk)
        moved = correct.changed(row, was=was, told=correct.known(facts, FIELDS, of="a template"))
        if not moved:
            return False
        log = Log(by=by)
        log.set(row, moved)
        _check(row)
        row.save(update_fields=list(moved))
        log.write()
    return True


def delete(pk: int, *, by: models.User | None, on: dt.date) -> None:
    """Delete a template."""
    del on
    with transaction.atomic():
        row = models.AgreementTemplate.objects.select_for_update().get(pk=pk)
        log = Log(by=by)
        log.note(None, row, "name", row.name, "")
        log.write()
        row.delete()


def _check(row: models.AgreementTemplate) -> None:
    if models.AgreementTemplate.objects.exclude(pk=row.pk).filter(name__iexact=row.name).exists():
        raise Refused("Another template has this name. Give each its own.", "name")
    check(row)
