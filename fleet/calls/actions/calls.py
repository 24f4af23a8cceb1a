"""Calls: noted, put right, put first, closed without work; each step is kept, and the last of them can be undone."""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from fleet import models
from fleet.calls.actions import houses
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.actions import correct as correcting
from fleet.rules import calls as rules
from fleet.rules.calls import State

FIELDS = (
    "came_on", "came_at", "caller", "phone", "site", "unit", "said", "trouble", "component", "answer", "cost_from",
    "cost_to", "promised_on",
)  # fmt: skip


def note(
    *,
    facts: Mapping[str, Any],
    key: UUID,
    house: Mapping[str, Any] | None = None,
    by: models.User | None,
    on: dt.date,
) -> models.Call:
    """Note a call; sent twice under its key, it is noted once. `house` is what is told of one to be put on file, and whose it is."""
    try:
        with transaction.atomic():
            return models.Call.objects.filter(key=key).first() or _note(facts, key, house, by=by, on=on)
    except IntegrityError:
        known = models.Call.objects.filter(key=key).first()
        if known is None:
            raise
        return known


def _note(
    facts: Mapping[str, Any], key: UUID, house: Mapping[str, Any] | None, *, by: models.User | None, on: dt.date
) -> models.Call:
    call = models.Call(key=key, by=by, **correcting.known(facts, FIELDS, of="a call"))
    if house is not None:
        call.site = houses.put(**house, by=by, on=on)
    _check(call, on=on)
    call.save()
    log = Log(by=by)
    log.note(None, call, "trouble", "", call.trouble)
    log.write()
    return call


def correct(pk: int, *, was: Mapping[str, Any], facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Change what is noted of a call; a Conflict where somebody else changed it since it was seen. False: nothing changed."""
    with transaction.atomic():
        call = locked(pk)
        moved = correcting.changed(call, was=was, told=correcting.known(facts, FIELDS, of="a call"))
        if not moved:
            return False
        log = Log(by=by)
        log.set(call, moved)
        _check(call, on=on)
        call.save(update_fields=list(moved))
        log.write()
    return True


def put_first(pk: int, *, why: str, by: models.User | None, on: dt.date) -> None:
    """Put a call before all others, and say why; without a reason it goes back to its own place."""
    with transaction.atomic():
        call = locked(pk)
        log = Log(by=by)
        log.note(None, call, "first_why", call.first_why, why.strip())
        call.first_why = why.strip()
        check(call)
        call.save(update_fields=["first_why"])
        log.write()


def at_house(pk: int, house: Mapping[str, Any], *, by: models.User | None, on: dt.date) -> None:
    """Put the house of a call that has no site on file: what is told of it, and whose it is."""
    with transaction.atomic():
        call = locked(pk)
        if call.site_id is not None:
            raise Conflict("This call has a site by now. Look again.")
        log = Log(by=by)
        log.set(call, {"site": houses.put(**house, by=by, on=on)})
        call.save(update_fields=["site"])
        log.write()


def forget_site(pk: int, *, was: int, by: models.User | None, on: dt.date) -> None:
    """Take a site off a call that is about another one; `was` is the site that somebody saw. A visit or a write-up there stands in the way."""
    with transaction.atomic():
        call = locked(pk)
        if call.site_id != was:
            raise Conflict("Somebody changed the site of this call meanwhile. Look again.")
        if call.visits.filter(booking__state="booked").exists():
            raise Refused("A visit to this site is booked for this call. Cancel the visit first.")
        if call.steps.filter(undone_on=None, write_up__isnull=False).exists():
            raise Refused("A write-up at this site mentions this call. Undo the write-up first.")
        log = Log(by=by)
        log.set(call, {"site": None, "unit": None}, why="it is about another site")
        _check(call, on=on)
        call.save(update_fields=["site", "unit"])
        log.write()


def step(pk: int, to: State, *, why: str = "", by: models.User | None, on: dt.date) -> models.CallStep:
    """Take a call one step on: put right, open again, closed without work (which needs a reason)."""
    with transaction.atomic():
        call = locked(pk)
        if to in rules.NEEDS_REASON and not why.strip():
            raise Refused("Say why the call is closed without work.", "why")
        if not rules.may_go(State(call.state), to):
            raise Conflict(f"This call is {call.state} by now, so it can’t be {to}.")
        made = stand(call, to, why=why, by=by, on=on)
        Log(by=by).write()
        return made


def undo_step(pk: int, *, was: int, by: models.User | None, on: dt.date) -> None:
    """Undo the last step that somebody took by hand; `was` is the step they saw.

    A step of a visit or a write-up goes with what it rests on: the visit is cancelled, the write-up is undone.
    """
    with transaction.atomic():
        call = locked(pk)
        last = call.steps.filter(undone_on=None).last()
        if last is None or last.pk != was:
            raise Conflict("Somebody took another step meanwhile. Look again.")
        if last.write_up_id is not None:
            raise Refused("A write-up said this. Undo the write-up instead.")
        if last.booking_id is not None:
            raise Refused("A visit is booked for this call. Cancel the visit instead.")
        _undo(call, [last], by=by, on=on)


def answer_call_back(
    pk: int, *, came_back: bool | None, work: rules.Work | None, by: models.User | None, on: dt.date
) -> None:
    """Decide whether a call came back to our work, and name that work; None takes the decision back."""
    with transaction.atomic():
        call = locked(pk)
        if came_back is not None and work is None:
            raise Refused("None of our work here is recent enough for this call to be a call-back.")
        log = Log(by=by)
        new = "" if came_back is None else "yes" if came_back else "no"
        log.note(None, call, "call_back", call.call_back, new)
        call.call_back = new
        named = work if came_back is not None else None
        call.work, call.work_on = (named.kind, named.on) if named else ("", None)
        call.work_technician, call.work_key = (named.technician, named.key) if named else ("", "")
        check(call)
        call.save(update_fields=["call_back", "work", "work_on", "work_technician", "work_key"])
        log.write()


# ------------------------------------------------------------------------------------------------------------ parts


def add_part(pk: int, *, facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> models.CallPart:
    """Note a part that a call waits for; a call that is booked then waits for it."""
    with transaction.atomic():
        call = locked(pk)
        if call.state in (State.PUT_RIGHT, State.CLOSED):
            raise Conflict(f"This call is {call.state} by now. Open it again first.")
        part = models.CallPart(call=call, by=by, **facts)
        _check_part(part, on=on)
        part.save()
        log = Log(by=by)
        log.note(None, part, "what", "", part.what)
        log.write()
        return part


def change_part(
    pk: int, *, was: Mapping[str, Any], facts: Mapping[str, Any], by: models.User | None, on: dt.date
) -> bool:
    """Change what is noted of a part, such as the day it arrived. False: nothing changed."""
    with transaction.atomic():
        part = models.CallPart.objects.select_for_update().get(pk=pk)
        moved = correcting.changed(part, was=was, told=facts)
        if not moved:
            return False
        log = Log(by=by)
        log.set(part, moved)
        _check_part(part, on=on)
        part.save(update_fields=list(moved))
        log.write()
        return True


# --------------------------------------------------------------------------------------------- visits and write-ups


def booked(calls: Mapping[int, models.Booking], *, by: models.User | None, on: dt.date) -> None:
    """Have calls served by a visit that was booked for them, each by its key."""
    for pk, booking in calls.items():
        call = locked(pk)
        if call.site_id is None:
            log = Log(by=by)
            log.set(call, {"site": booking.site}, why="a visit was booked there")
            call.save(update_fields=["site"])
            log.write()
        if call.site_id != booking.site_id:
            raise Refused("This call is about another site.", "calls")
        if not (rules.may_go(State(call.state), State.BOOKED) or call.state == State.BOOKED):
            raise Conflict(f"This call is {call.state} by now, so no visit can be booked for it.", "calls")
        models.CallVisit.objects.get_or_create(call=call, booking=booking)
        if call.state != State.BOOKED:
            stand(call, State.BOOKED, booking=booking, by=by, on=on)


def cancelled(booking: models.Booking, *, why: str, by: models.User | None, on: dt.date) -> None:
    """Open again what a cancelled visit was to serve, unless another visit is booked for it."""
    for visit in models.CallVisit.objects.filter(booking=booking):
        call = locked(visit.call_id)
        others = call.visits.exclude(booking=booking).filter(booking__state="booked")
        if call.state == State.BOOKED and not others.exists():
            stand(call, State.OPEN, why=why, booking=booking, by=by, on=on)


def stand(
    call: models.Call,
    to: State,
    *,
    why: str = "",
    booking: models.Booking | None = None,
    write_up: models.WriteUp | None = None,
    by: models.User | None,
    on: dt.date,
) -> models.CallStep:
    """Put a call where a step takes it, and keep the step; `call` is locked."""
    log = Log(by=by)
    log.note(None, call, "state", call.state, to, why=why.strip()[:300])
    made = models.CallStep(call=call, to=to, on=on, why=why.strip(), booking=booking, write_up=write_up, by=by)
    check(made)
    made.save()
    call.state = to
    call.save(update_fields=["state"])
    log.write()
    return made


def written_up(
    calls: Mapping[int, Mapping[str, Any]], write_up: models.WriteUp, *, by: models.User | None, on: dt.date
) -> dict[str, str]:
    """What a write-up says of the calls on its stop, each by its key: `outcome`, `why`, and the `part` that it needs.

    The faults by call, in words; a call that somebody else has put right meanwhile is left as it is, since the work was done.
    """
    outcomes = {"put right": State.PUT_RIGHT, "needs a part": State.WAITING_FOR_PART, "needs another trip": State.OPEN}
    faults = {}
    for pk, said in calls.items():
        call = models.Call.objects.select_for_update().filter(pk=pk, site=write_up.site).first()
        to = outcomes.get(str(said.get("outcome", "")))
        if call is None or to is None:
            faults[f"call-{pk}-outcome"] = (
                "Choose what happened with this call: put right, needs a part, or needs another trip."
            )
            continue
        if call.state in (State.PUT_RIGHT, State.CLOSED) or call.state == to:
            continue
        part = said.get("part") or {}
        if to is State.WAITING_FOR_PART and not str(part.get("what", "")).strip():
            faults[f"call-{pk}-what"] = "Write which part it needs."
            continue
        # An unbooked stop serves an open call as well: it is booked by having been made.
        if not rules.may_go(State(call.state), to):
            stand(call, State.BOOKED, write_up=write_up, by=by, on=on)
        stand(call, to, why=str(said.get("why", "")), write_up=write_up, by=by, on=on)
        if to is State.WAITING_FOR_PART:
            row = models.CallPart(call=call, write_up=write_up, by=by, **part)
            _check_part(row, on=on)
            row.save()
    return faults


def undo_write_up(write_up: models.WriteUp, *, by: models.User | None, on: dt.date) -> None:
    """Take back what a write-up said of its calls; a Refusal where a later step stands on it."""
    said = models.CallStep.objects.filter(write_up=write_up, undone_on=None)
    for pk in sorted(set(said.values_list("call_id", flat=True))):
        call = locked(pk)
        standing = list(call.steps.filter(undone_on=None))
        first = next(place for place, one in enumerate(standing) if one.write_up_id == write_up.pk)
        if any(one.write_up_id != write_up.pk for one in standing[first:]):
            raise Refused(f"The call from {call.caller} has moved on since. Undo its later steps first.")
        _undo(call, standing[first:], by=by, on=on)
        call.parts.filter(write_up=write_up).delete()


# ------------------------------------------------------------------------------------------------------------ shared


def locked(pk: int) -> models.Call:
    """A call, held until the transaction ends."""
    return models.Call.objects.select_for_update().get(pk=pk)


def _undo(call: models.Call, steps: list[models.CallStep], *, by: models.User | None, on: dt.date) -> None:
    models.CallStep.objects.filter(pk__in=[one.pk for one in steps]).update(undone_on=on)
    last = call.steps.filter(undone_on=None).last()
    state = last.to if last is not None else State.OPEN
    log = Log(by=by)
    log.note(None, call, "state", call.state, state, why="undone")
    call.state = state
    call.save(update_fields=["state"])
    log.write()


def _check(call: models.Call, *, on: dt.date) -> None:
    faults = {}
    if not call.caller:
        faults["caller"] = "Write who called."
    if call.came_on > on:
        faults["came_on"] = "The day of the call can’t be in the future."
    if call.promised_on is not None and call.promised_on < call.came_on:
        faults["promised_on"] = "The promised day can’t be before the call."
    if (
        call.unit_id is not None
        and not models.Place.objects.filter(unit=call.unit_id, system__site=call.site_id).exists()
    ):
        faults["unit"] = "This unit is not at that site."
    if faults:
        raise Refused(faults)
    check(call)


def _check_part(part: models.CallPart, *, on: dt.date) -> None:
    if not part.what:
        raise Refused("Write which part.", "what")
    for name in ("ordered_on", "arrived_on"):
        day = getattr(part, name)
        if day is not None and day > on:
            raise Refused("This day is in the future.", name)
    for name in ("expected_on", "arrived_on"):
        day = getattr(part, name)
        if part.ordered_on is not None and day is not None and day < part.ordered_on:
            raise Refused("This is before the part was ordered.", name)
    check(part)
