"""Whose place a head took that was bought: a person says which, and until then it counts as one head more."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.facts import places


def take_place(pk: int, edit: Edit, *, by: models.User | None, on: dt.date) -> bool:
    """Record in whose place a head stands, by the other's key (blank: it was added); return whether anything changed."""
    with transaction.atomic():
        unit = models.Unit.objects.select_for_update().get(pk=pk)
        stored, now = str(unit.in_place_of_id or ""), edit.now.strip()
        if not edit.differs or now == stored:
            return False
        if stored != edit.was.strip():
            raise Conflict("Somebody changed this meanwhile. Look again.", "place", now={"place": stored})
        before = unit.in_place_of
        other = next((one for one in places.offered(unit, places.gone(unit.system_id)) if str(one.pk) == now), None)
        if now and other is None:
            raise Refused({"place": "Choose a head that was taken out of this system before this one was put in."})
        log = Log(by=by)
        log.note(None, unit, "in_place_of", before, other)
        unit.in_place_of = other
        check(unit)
        unit.save(update_fields=["in_place_of"])
        log.write()
        refresh.refresh([pk], on=on)
    return True
