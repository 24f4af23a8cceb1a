"""Taking back what became of a unit, or what was told of it: a mistake put right, which stays readable with who and why."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from fleet import models
from fleet.derived import refresh
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.registry.actions.hanging import called, is_free, rows_on
from fleet.registry.facts import became
from fleet.rules.words import key

# What was told of a unit beside where it is: the table of each.
TOLD: dict[str, Any] = {"record": models.MaintenanceRecord, "promise": models.Attachment, "notice": models.Notice}


def became_of(pk: int, *, kind: str, day: dt.date, why: str, by: models.User | None, on: dt.date) -> str:
    """Take back what became of a unit last, which is what somebody saw; return in words what it was."""
    with transaction.atomic():
        unit = _held(pk, why)
        last = became.latest(unit)
        if last != became.Became(kind, day):
            now = "nothing more" if last is None else last.words
            raise Conflict(f"What is on file of it last is {now}. Nothing of yours was written.")
        systems = set(unit.places.values_list("system", flat=True))
        rows = models.HistoryRow.objects.filter(unit=unit, content__kind=kind, content__day=day.isoformat())
        told = rows.order_by("pk").last()
        log = Log(by=by)
        log.note(None, unit, "taken_back", last.words, "", why=why.strip()[:300])
        match kind:
            case "exchanged":
                _not_exchanged(unit, told, log)
            case "removed":
                _in_service(unit)
            case "moved":
                _where_it_was(unit, told, day, log)
            case "idle":
                unit.idles.filter(back_on=None).delete()
            case _:
                unit.idles.filter(back_on=day).update(back_on=None)
        forget(rows)
        log.write()
        there = models.Place.objects.filter(system__in=systems).values_list("unit_id", flat=True)
        refresh.refresh(sorted({pk, *there}), on=on)
    return last.words


def told_of(pk: int, *, what: str, row: int, why: str, by: models.User | None, on: dt.date) -> str:
    """Take back a record of upkeep, a promise, or a notice to a payer; return in words what it was."""
    table = TOLD[what]
    with transaction.atomic():
        unit = _held(pk, why)
        found = table.objects.select_for_update().filter(unit=unit, pk=row).first()
        if found is None:
            raise Conflict("Somebody took this back meanwhile. Nothing of yours was written.")
        if what == "promise":
            _nothing_claimed(found)
        words = became.told_words(found)
        log = Log(by=by)
        log.note(None, unit, "taken_back", words, "", why=why.strip()[:300])
        forget(models.HistoryRow.objects.filter(table=table._meta.model_name, object_id=found.pk))
        found.delete()
        log.write()
        refresh.refresh([pk], on=on)
    return words


def _held(pk: int, why: str) -> models.Unit:
    unit = models.Unit.objects.select_for_update().get(pk=pk)
    if not why.strip():
        raise Refused({"why": "Say why it is taken back."})
    return unit


def forget(rows: QuerySet[models.HistoryRow]) -> None:
    """Let rows of history count no more: one of a file stays known, so that the file brings nothing back; others go."""
    for row in rows.select_related("load"):
        if row.load is not None and row.load.digest:
            row.table, row.object_id = "", None
            row.save(update_fields=["table", "object_id"])
        else:
            row.delete()


def _nothing_claimed(promise: models.Attachment) -> None:
    claim = models.Claim.objects.filter(failure__unit=promise.unit_id, terms=promise.terms_id).first()
    if claim is not None:
        raise Refused({"": f"Claim {claim.pk} on {claim.payer_name} rests on this promise; it is {claim.state}."})


# ------------------------------------------------------------------------------------------- what became of it


def _in_service(unit: models.Unit) -> None:
    _told_apart(unit, unit.system_id)
    unit.gone_on, unit.gone_how = None, ""
    unit.save(update_fields=["gone_on", "gone_how"])


def _told_apart(unit: models.Unit, system: int) -> None:
    """Refuse where a unit without a serial could not be told from one that has come to its room."""
    if not unit.serial_key and models.Unit.objects.taken_for(unit, system).exists():
        words = f"Another {unit.role} without a serial stands in {unit.room} now; give one of them its serial first."
        raise Refused({"": words})


def _not_exchanged(unit: models.Unit, told: models.HistoryRow | None, log: Log) -> None:
    """Take the new unit away that the exchange brought, and let the old one stand where it stood."""
    heir = models.Unit.objects.filter(took_over_from=unit).first()
    if heir is None and told is not None and told.object_id not in (None, unit.pk):
        heir = models.Unit.objects.filter(pk__in=[told.object_id]).first()
    if heir is not None:
        if told is None or heir.load_id is None or heir.load_id != told.load_id:
            words = f"{heir} was on file before it came for this one, so it cannot simply go."
            raise Refused({"": f"{words} Merge them if they are one, or correct each on its own page."})
        if hanging := list(_hanging_on(heir)):
            raise Refused({"": f"{heir} came for it, and has {', '.join(hanging)}. Take that back first."})
        for failure in unit.failures.exclude(new_serial=""):
            if key(failure.new_serial) == heir.serial_key:
                log.note(None, failure, "new_serial", failure.new_serial, "", why="exchange taken back")
                failure.new_serial = ""
                failure.save(update_fields=["new_serial"])
        models.LookupEntry.objects.filter(kind="unit", object_id=heir.pk).delete()
        heir.delete()
    _in_service(unit)


def _hanging_on(heir: models.Unit) -> Iterator[str]:
    """The rows recorded of a unit since it came, by table, in words with their numbers."""
    for _, found in rows_on(models.Unit, [heir.pk]):
        if found.model is models.Place:
            found = found.exclude(came_on=heir.came_on)
        if number := found.count():
            yield called(found, number)


def _where_it_was(unit: models.Unit, told: models.HistoryRow | None, day: dt.date, log: Log) -> None:
    before, place = unit.places.get(left_on=day), unit.places.select_related("system").get(came_on=day)
    _told_apart(unit, before.system_id)
    log.note(None, unit, "system", place.system_id, before.system_id, why="move taken back")
    place.delete()
    before.left_on = None
    before.save(update_fields=["left_on"])
    unit.system_id = before.system_id
    unit.save(update_fields=["system"])
    made = place.system
    if told is not None and made.load_id is not None and made.load_id == told.load_id and is_free(made):
        made.delete()
