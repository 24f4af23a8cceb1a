"""Labels: made for units or blank, tied to a unit once, moved to another, and taken off.

A code is random, so that nobody can guess one from another, and never says a serial or a key of ours.
"""

import secrets
import uuid
from collections.abc import Iterator, Sequence

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.rules import label_codes

# Ten sheets of the usual kind.
MOST_AT_ONCE = 300


def make(*, units: Sequence[int], blank: int, batch: uuid.UUID, by: models.User) -> list[models.Label]:
    """The label of each unit, made where it has none, then so many new blank ones; the same `batch` makes no blank ones twice."""
    if not units and not blank:
        raise Refused({"units": "Choose at least one unit, or a number of blank labels."})
    if len(units) + blank > MOST_AT_ONCE:
        raise Refused({"blank": f"At most {MOST_AT_ONCE} labels can be made at once."})
    with transaction.atomic():
        rows = models.Unit.objects.in_service().select_for_update().in_bulk(units)
        if len(rows) != len(set(units)):
            raise Conflict("A unit was exchanged, taken out or merged meanwhile. Look at the list again.", "units")
        # The newest of each unit is the one that stands on its latest sheet.
        has: dict[int | None, models.Label] = {}
        for label in models.Label.objects.filter(unit__in=units).order_by("at", "pk"):
            has[label.unit_id] = label
        made = list(models.Label.objects.filter(batch=batch).order_by("pk"))
        bare = [pk for pk in units if pk not in has]
        fresh = _codes(len(bare) + (0 if made else blank))
        log = Log(by=by)
        for pk in bare:
            has[pk] = models.Label.objects.create(code=next(fresh), unit=rows[pk], by=by)
            log.note(None, rows[pk], "label", "", has[pk], why="printed for it")
        if not made:
            made = [models.Label.objects.create(code=code, batch=batch, by=by) for code in fresh]
        log.write()
    return [*(has[pk] for pk in units), *made]


def _codes(number: int) -> Iterator[str]:
    """So many codes that no label has."""
    for _ in range(number):
        code = _code()
        while models.Label.objects.filter(code=code).exists():
            code = _code()
        yield code


def _code() -> str:
    return "".join(secrets.choice(label_codes.ALPHABET) for _ in range(label_codes.LENGTH))


def tie(pk: int, *, unit: int, was: int | None, by: models.User) -> models.Label:
    """Put a label on a unit. `was` is the unit that it was on when somebody looked; from that one it is moved."""
    with transaction.atomic():
        label = models.Label.objects.select_for_update().get(pk=pk)
        row = models.Unit.objects.filter(pk=unit).first()
        if row is None:
            raise Refused({"unit": "This unit is no longer on file. Look it up again."})
        if label.unit_id == row.pk:
            return label
        before = label.unit
        if label.unit_id != was:
            now = f"is on {before} now" if before else "is on no unit any more"
            raise Conflict(f"Somebody changed this meanwhile: label {label} {now}. Nothing of yours was saved.")
        if row.removed_on is not None:
            raise Refused({"unit": f"{row} is no longer in service. Choose the unit that is there now."})
        log = Log(by=by)
        if before is not None:
            log.note(None, before, "label", label, "", why=f"moved to {row}"[:300])
        log.note(None, row, "label", "", label, why=f"moved from {before}"[:300] if before else "put on it")
        label.unit = row
        label.save(update_fields=["unit"])
        log.write()
    return label


def take_off(pk: int, *, by: models.User) -> models.Unit | None:
    """Take a label off its unit, so that it is blank again; return the unit, None where it was on none."""
    with transaction.atomic():
        label = models.Label.objects.select_for_update().get(pk=pk)
        unit = label.unit
        if unit is not None:
            label.unit = None
            label.save(update_fields=["unit"])
            log = Log(by=by)
            log.note(None, unit, "label", label, "", why="taken off")
            log.write()
    return unit
