"""Undoing what happened to a unit, or a record of it: a mistake put right, which stays readable with who and why.

Only the last event can be undone, since everything later was recorded of the unit as it stood then. A merge keeps a list of
its steps and walks it backward (`merges.undo`); an event has none, so each kind says here what it changed.
"""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.registry.actions.undoing import called, drop, forget, is_free, loosen, reason, rows_on
from fleet.registry.facts import events
from fleet.rules.words import key

# What else is recorded of a unit: the table of each.
RECORDS: dict[str, Any] = {"record": models.MaintenanceRecord, "promise": models.Attachment, "notice": models.Notice}


def undo_event(pk: int, *, kind: str, day: dt.date, why: str, by: models.User | None, on: dt.date) -> str:
    """Undo the last event of a unit, which must be the one that somebody saw; return in words what it was."""
    with transaction.atomic():
        why, unit = reason(why), models.Unit.objects.select_for_update().get(pk=pk)
        last = events.last_event(unit)
        if last != events.Event(kind, day):
            now = "Nothing is recorded of it any more." if last is None else f"Its last event is now: {last.words}."
            raise Conflict(f"Somebody changed this unit meanwhile. {now} Nothing of yours was saved.")
        systems = set(unit.places.values_list("system", flat=True))
        rows = models.HistoryRow.objects.filter(unit=unit, content__kind=kind, content__day=day.isoformat())
        told = rows.order_by("pk").last()
        log = Log(by=by)
        log.note(None, unit, "taken_back", last.words, "", why=why)
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


def undo_record(pk: int, *, what: str, row: int, why: str, by: models.User | None, on: dt.date) -> str:
    """Undo a record of maintenance, a promise, or a notice to a payer; return in words what it was."""
    table = RECORDS[what]
    with transaction.atomic():
        why, unit = reason(why), models.Unit.objects.select_for_update().get(pk=pk)
        record = table.objects.select_for_update().filter(unit=unit, pk=row).first()
        if record is None:
            raise Conflict("Somebody undid this meanwhile. Nothing of yours was saved.")
        if what == "promise":
            _nothing_claimed(record)
        words = events.record_words(record)
        log = Log(by=by)
        log.note(None, unit, "taken_back", words, "", why=why)
        forget(models.HistoryRow.objects.filter(table=table._meta.model_name, object_id=record.pk))
        record.delete()
        log.write()
        refresh.refresh([pk], on=on)
    return words


def _nothing_claimed(promise: models.Attachment) -> None:
    claim = models.Claim.objects.filter(failure__unit=promise.unit_id, terms=promise.terms_id).first()
    if claim is not None:
        raise Refused({"": f"Claim {claim.pk} to {claim.payer_name} rests on this promise, so it stays."})


# ------------------------------------------------------------------------------------------- events


def _in_service(unit: models.Unit) -> None:
    if (other := models.Unit.objects.filter(in_place_of=unit).first()) is not None:
        raise Refused({"": f"{other} took its place. Say on that unit's page that it did not, then undo this."})
    _told_apart(unit, unit.system_id)
    unit.removed_on, unit.removal_reason, unit.matched_after = None, "", ""
    unit.save(update_fields=["removed_on", "removal_reason", "matched_after"])


def _told_apart(unit: models.Unit, system: int) -> None:
    """Refuse where a unit without a serial could not be told from one that has come to its room."""
    if not unit.serial_key and models.Unit.objects.taken_for(unit, system).exists():
        words = f"Another {unit.role} without a serial is in {unit.room} now. Enter the serial of one of them first."
        raise Refused({"": words})


def _not_exchanged(unit: models.Unit, told: models.HistoryRow | None, log: Log) -> None:
    """Take the new unit away that the exchange brought, and let the old one stand where it stood."""
    heir = models.Unit.objects.filter(took_over_from=unit).first()
    if heir is None and told is not None and told.object_id not in (None, unit.pk):
        heir = models.Unit.objects.filter(pk__in=[told.object_id]).first()
    if heir is not None:
        if told is None or heir.load_id is None or heir.load_id != told.load_id:
            words = f"{heir} was on file before it replaced this one, so it stays."
            raise Refused({"": f"{words} Merge the two if they are one unit, or correct each on its own page."})
        if hanging := list(_hanging_on(heir)):
            raise Refused({"": f"{heir} replaced it and has {', '.join(hanging)}. Undo that first."})
        for failure in unit.failures.exclude(new_serial=""):
            if key(failure.new_serial) == heir.serial_key:
                log.set(failure, {"new_serial": ""}, why="exchange undone")
                failure.save(update_fields=["new_serial"])
        loosen([heir.pk], log, why="exchange undone")
        drop(heir)
    _in_service(unit)


def _hanging_on(heir: models.Unit) -> Iterator[str]:
    """The rows recorded of a unit since it came, by table, in words with their numbers."""
    for _, rows in rows_on(models.Unit, [heir.pk]):
        if rows.model is models.Place:
            rows = rows.exclude(joined_on=heir.replaced_on)
        if number := rows.count():
            yield called(rows, number)


def _where_it_was(unit: models.Unit, told: models.HistoryRow | None, day: dt.date, log: Log) -> None:
    before, place = unit.places.get(left_on=day), unit.places.select_related("system").get(joined_on=day)
    _told_apart(unit, before.system_id)
    log.note(None, unit, "system", place.system_id, before.system_id, why="move undone")
    place.delete()
    before.left_on = None
    before.save(update_fields=["left_on"])
    unit.system_id = before.system_id
    unit.save(update_fields=["system"])
    made = place.system
    if told is not None and made.load_id is not None and made.load_id == told.load_id and is_free(made):
        made.delete()
