"""Visits that are given a day and a technician: booked, moved, handed to somebody else, called off."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from fleet import models
from fleet.calls.actions import calls as call_actions
from fleet.care.facts import bookings as gathered
from fleet.facts import house as gather_house
from fleet.facts.care import care_sheet
from fleet.log import Log
from fleet.models.people import Role
from fleet.refusals import Conflict, Refused, check
from fleet.rules import planner, visits
from fleet.rules.calls import CALL_MINUTES
from fleet.rules.care import Due
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import in_words

# One of a visit's tasks: the key of the unit that it stands under, and the code of the task.
Task = tuple[int, str]
# When somebody will arrive: from and to, each None where nobody said.
Window = tuple[dt.time | None, dt.time | None]
NO_WINDOW: Window = (None, None)
FIELDS = ("day", "technician", "note", "why")


def book(
    site: int,
    tasks: Collection[Task],
    *,
    day: dt.date,
    technician: int | None = None,
    note: str = "",
    why: str = "",
    promised: bool = False,
    calls: Collection[int] = (),
    window: Window = NO_WINDOW,
    key: UUID | None = None,
    by: models.User | None,
    on: dt.date,
) -> models.Booking:
    """Book a visit for some of what a site is due; outside their windows somebody must say why. Sent twice, it is booked once.

    A visit that an agreement sold (`promised`), or one for `calls`, may be booked with nothing due.
    """
    try:
        with transaction.atomic():
            place = models.Site.objects.select_for_update().get(pk=site)
            known = _of_key(key)
            return known or _book(
                place,
                tasks,
                day,
                technician,
                note,
                why,
                key,
                promised=promised,
                calls=calls,
                window=window,
                by=by,
                on=on,
            )
    except IntegrityError:
        if (known := _of_key(key)) is None:
            raise
        return known


def _of_key(key: UUID | None) -> models.Booking | None:
    return None if key is None else models.Booking.objects.filter(key=key).first()


def _book(
    place: models.Site,
    tasks: Collection[Task],
    day: dt.date,
    technician: int | None,
    note: str,
    why: str,
    key: UUID | None,
    *,
    promised: bool,
    calls: Collection[int],
    window: Window,
    by: models.User | None,
    on: dt.date,
) -> models.Booking:
    sheet = care_sheet()
    if sheet is None and (tasks or not calls):
        raise Refused({"": "No care sheet is in force, so no maintenance is due."})
    chosen = set(tasks)
    all_dues = gathered.dues(place.pk, sheet) if sheet else ()
    dues = [due for due in all_dues if (int(due.unit), due.task.code) in chosen]
    faults = _faults(place, dues, sheet, day, why, on=on) | _who(technician) | _window(window)
    if len(dues) != len(chosen):
        faults["tasks"] = "Some of this is no longer due here. See what is left, then book again."
    elif not dues and not promised and not calls:
        faults["tasks"] = "Choose what the visit is for."
    faults |= _booked_before(dues)
    if faults:
        raise Refused(faults)
    booking = models.Booking(
        site=place,
        on=day,
        technician_id=technician,
        minutes=_minutes(dues, sheet, drive_minutes=place.drive_minutes or 0) + len(calls) * CALL_MINUTES,
        price=visits.price(dues),
        arrive_from=window[0],
        arrive_to=window[1],
        why=why.strip(),
        note=note.strip(),
        key=key,
        by=by,
    )
    check(booking, exclude=("technician", "key", "by"))
    booking.save()
    call_actions.booked(dict.fromkeys(sorted(set(calls)), booking), by=by, on=on)
    models.BookedTask.objects.bulk_create(
        models.BookedTask(booking=booking, unit_id=int(due.unit), task=due.task.code) for due in dues
    )
    log = Log(by=by)
    log.note(None, booking, "on", None, day, why=why.strip()[:300])
    log.write()
    return booking


def _minutes(dues: Sequence[Due], sheet: CareSheet | None, *, drive_minutes: int) -> int:
    """The minutes of a visit's tasks with the drive; without a care sheet, the drive alone."""
    return visits.minutes(dues, sheet, drive_minutes=drive_minutes) if sheet else drive_minutes


def _window(window: Window) -> dict[str, str]:
    begin, end = window
    if end is None or (begin is not None and begin < end):
        return {}
    return {"arrive_to": "The arrival window ends after it begins."}


def _faults(
    place: models.Site,
    dues: Sequence[Due],
    sheet: CareSheet | None,
    day: dt.date,
    why: str,
    *,
    on: dt.date,
    without: int | None = None,
) -> dict[str, str]:
    """The fault of booking that day, by field: it cannot be, or it needs a reason."""
    if day < on:
        return {"day": f"{in_words(day)} is in the past. Choose today or a later day."}
    others = models.Booking.objects.filter(site=place, on=day).exclude(state="called off")
    other = next((one for one in others if one.pk != without), None)
    if other is not None:
        return {
            "day": f"This site already has a visit {'booked for' if other.state == 'booked' else 'made on'} {in_words(day)}. Choose another day."
        }
    house = gather_house.working()
    broken = [met for met in planner.windows(dues, sheet, house, first=on) if day not in met.span] if sheet else []
    worked = day in house
    if why.strip() or (worked and not broken):
        return {}
    if not worked:
        return {"why": f"{in_words(day)} is not a working day. Give a reason, or choose another day."}
    return {
        "why": f"{in_words(day)} is outside the recommended dates of {_counted(len(broken))}. Give a reason, or choose another day."
    }


def _counted(number: int) -> str:
    return "1 task" if number == 1 else f"{number} tasks"


def _booked_before(dues: Sequence[Due]) -> dict[str, str]:
    """Refuse what another booking is meant to do already."""
    keys = {(int(due.unit), due.task.code) for due in dues}
    rows = models.BookedTask.objects.filter(booking__state="booked", unit__in={unit for unit, _ in keys})
    for unit, task, day in rows.values_list("unit_id", "task", "booking__on"):
        if (unit, task) in keys:
            return {"tasks": f"Some of this is already booked for {in_words(day)}."}
    return {}


def _who(technician: int | None) -> dict[str, str]:
    if technician is None:
        return {}
    fits = models.User.objects.filter(pk=technician, is_active=True, role__in=(Role.TECHNICIAN, Role.OWNER))
    return {} if fits.exists() else {"technician": "That person does not go out to sites."}


# ------------------------------------------------------------------------------------------------- afterward


def change(
    pk: int,
    *,
    was: Mapping[str, str],
    day: dt.date,
    technician: int | None,
    note: str = "",
    why: str = "",
    window: Window = NO_WINDOW,
    by: models.User | None,
    on: dt.date,
) -> models.Booking:
    """Move a booked visit, hand it to somebody else, or note something; `was` is what the form showed when somebody began."""
    with transaction.atomic():
        booking = _locked(pk)
        _unchanged(booking, was)
        new: dict[str, Any] = {
            "on": day,
            "technician_id": technician,
            "note": note.strip(),
            "why": why.strip() or booking.why,
        }
        new |= {"arrive_from": window[0], "arrive_to": window[1]}
        faults = _window(window) | ({} if technician == booking.technician_id else _who(technician))
        if day != booking.on:
            faults |= _moved(booking, day, why, on=on)
        if faults:
            raise Refused(faults)
        log = Log(by=by)
        for name, value in new.items():
            if getattr(booking, name) != value:
                log.note(None, booking, name.removesuffix("_id"), getattr(booking, name), value, why=why.strip()[:300])
                setattr(booking, name, value)
        check(booking, exclude=("technician", "key", "by"))
        booking.save()
        log.write()
    return booking


def _moved(booking: models.Booking, day: dt.date, why: str, *, on: dt.date) -> dict[str, str]:
    sheet = care_sheet()
    if sheet is None:
        return {}
    chosen = set(booking.tasks.values_list("unit_id", "task"))
    dues = [due for due in gathered.dues(booking.site_id, sheet) if (int(due.unit), due.task.code) in chosen]
    return _faults(booking.site, dues, sheet, day, why, on=on, without=booking.pk)


def cancel(pk: int, *, was: Mapping[str, str], why: str, by: models.User | None, on: dt.date) -> models.Booking:
    """Call a booked visit off, and say why; what it was meant to do is planned again."""
    with transaction.atomic():
        booking = _locked(pk)
        _unchanged(booking, was)
        if not why.strip():
            raise Refused({"why": "Say why it is canceled."})
        log = Log(by=by)
        log.note(None, booking, "state", booking.state, "called off", why=why.strip()[:300])
        booking.state, booking.why = "called off", why.strip()
        check(booking, exclude=("technician", "key", "by"))
        booking.save(update_fields=["state", "why"])
        call_actions.cancelled(booking, why=booking.why, by=by, on=on)
        log.write()
    return booking


def _locked(pk: int) -> models.Booking:
    # The site first, as whoever books or writes up a visit holds it.
    models.Site.objects.select_for_update().get(bookings=pk)
    booking = models.Booking.objects.select_for_update().select_related("site").get(pk=pk)
    if booking.state != "booked":
        raise Conflict(
            f"This visit was {'canceled' if booking.state == 'called off' else 'written up'} in the meantime."
        )
    return booking


# What a form carries of a booking, so that a change made meanwhile is noticed.
SEEN = ("on", "technician", "note", "arrive_from", "arrive_to")


def seen(booking: models.Booking) -> dict[str, str]:
    """A booking's facts as a form shows them, sent along with a change so that one made meanwhile is noticed."""
    return {
        "on": booking.on.isoformat(),
        "technician": str(booking.technician_id or ""),
        "note": booking.note,
        "arrive_from": f"{booking.arrive_from:%H:%M}" if booking.arrive_from else "",
        "arrive_to": f"{booking.arrive_to:%H:%M}" if booking.arrive_to else "",
    }


def _unchanged(booking: models.Booking, was: Mapping[str, str]) -> None:
    now = seen(booking)
    if all(was.get(name, text) == text for name, text in now.items()):
        return
    last = (
        models.Change.objects.filter(table="booking", object_id=booking.pk).select_related("by").order_by("-pk").first()
    )
    who = str(last.by) if last is not None and last.by is not None else "Somebody"
    message = (
        f"{who} changed this visit in the meantime: it is now on {in_words(booking.on)}. Check it, then save again."
    )
    raise Conflict(message, now=now)
