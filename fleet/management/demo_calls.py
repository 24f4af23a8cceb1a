"""The demo company's calls, one in each state and one that may be a call-back, and labels given out for one house."""

import datetime as dt
from typing import Any, NamedTuple
from uuid import uuid4

from fleet import models
from fleet.calls.actions import calls
from fleet.care.actions import write_ups
from fleet.registry.actions import unit_labels
from fleet.rules.calls import State
from fleet.rules.dates import DAY

TECHNICIAN = "Jules Ouellet"
SUPPLIER = "Pellbrook Parts Counter"
# Whose units have labels, and how many more lie in the truck for whatever turns up.
LABELED, BLANK = "Minerva and Joel Quarrington", 6


class Rang(NamedTuple):
    """Somebody who rang so many days ago about one unit, and what a stop on the day after said of it (blank: nobody was there)."""

    customer: str
    room: str
    ago: int
    trouble: str
    said: str
    outcome: str = ""
    part: str = ""
    note: str = ""


CALLS = (
    Rang("Tamsin Okoro", "Nursery", 0, "water", "Water drips from the front of it onto the crib."),
    # Put in ten days ago, so it may be a call-back.
    Rang("Sylvie Nakamura-Roy", "Parlor", 2, "noise", "It has clicked every few minutes since you put it in."),
    Rang(
        "Roland and Ines Carmichael", "Library", 4, "error shown", "The light blinks six times, then stops.",
        outcome="needs a part", part="Control board", note="Six blinks: no answer from the outdoor unit.",
    ),
    Rang(
        "Everett and Joan Sills", "Cellar", 9, "no heat", "It starts, then goes out again.",
        outcome="put right", note="Cleaned the flame sensor; it ran for half an hour.",
    ),
)  # fmt: skip
CLOSED = Rang("Gideon Marsh", "Kitchen", 3, "no cooling", "It is dead, and so is the stove.")
CLOSED_WHY = "The breaker had tripped; they reset it"
# At today's first stop: the part came, so today it goes in.
RETURNING = Rang(
    "", "", 7, "noise", "It rattles when it starts.", "needs a part", "Indoor fan motor", "The bearing is worn."
)


def bring(*, by: models.User, today: dt.date) -> None:
    """Note each call and take it on as far as it is; label the units of one house."""
    technician = models.User.objects.get(username="technician")
    for rang in CALLS:
        _rang(rang, _unit(rang), by=by, technician=technician, today=today)
    closed = _rang(CLOSED, _unit(CLOSED), by=by, technician=technician, today=today)
    calls.step(closed.pk, State.CLOSED, why=CLOSED_WHY, by=by, on=today)
    first = models.Booking.objects.filter(technician=technician, on=today, state="booked").order_by("site__city", "pk")[
        0
    ]
    there = models.Unit.objects.in_service().filter(system__site=first.site).exclude(role="outdoor").order_by("pk")
    returning = _rang(RETURNING, there[0], by=by, technician=technician, today=today)
    part = returning.parts.get()
    calls.change_part(part.pk, was={"arrived_on": None}, facts={"arrived_on": today - DAY}, by=by, on=today)
    calls.booked({returning.pk: first}, by=by, on=today)
    labeled = models.Unit.objects.in_service().filter(system__site__customer__name=LABELED).order_by("pk")
    unit_labels.make(units=list(labeled.values_list("pk", flat=True)), blank=BLANK, batch=uuid4(), by=by)


def _unit(rang: Rang) -> models.Unit:
    return models.Unit.objects.in_service().get(system__site__customer__name=rang.customer, room=rang.room)


def _rang(rang: Rang, unit: models.Unit, *, by: models.User, technician: models.User, today: dt.date) -> models.Call:
    site, came_on = unit.system.site, today - rang.ago * DAY
    facts: dict[str, Any] = {
        "came_on": came_on,
        "caller": site.customer.name,
        "phone": site.customer.phone,
        "site": site,
        "unit": unit,
        "said": rang.said,
        "trouble": rang.trouble,
    }
    call = calls.note(facts=facts, key=uuid4(), by=by, on=today)
    if rang.outcome:
        day = came_on + DAY
        said = {"call": str(call.pk), "outcome": rang.outcome}
        if rang.part:
            ordered = {"ordered_on": day.isoformat(), "expected_on": (today + 2 * DAY).isoformat()}
            said |= {"what": rang.part, "supplier": SUPPLIER, **ordered}
        message = {
            "key": str(uuid4()),
            "day": day.isoformat(),
            "technician": TECHNICIAN,
            "notes": rang.note,
            "calls": [said],
        }
        write_ups.record(site.pk, message, sent=message, by=technician, on=today)
    return call
