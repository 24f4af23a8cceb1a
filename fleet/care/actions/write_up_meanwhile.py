"""What changed between the phone and the desk: what of a write-up can be recorded as it was meant, and what is left to the office.

Work that was done is never refused for what somebody else changed meanwhile. What can be recorded is; the rest becomes a
`WriteUpCheck`, in words, and stands on our desk until somebody settles it.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fleet import models
from fleet.care.actions.write_up_submission import OfUnit, Submission
from fleet.facts.care import care_sheet
from fleet.facts.terms import from_document
from fleet.refusals import Refused
from fleet.rules.calls import State
from fleet.rules.caresheet import CareSheet, title_of
from fleet.rules.dates import in_words
from fleet.rules.wording.names import listed

_OVER = {State.PUT_RIGHT: "put right", State.CLOSED: "closed without work"}
_LONGEST = 400


@dataclass(frozen=True, slots=True)
class Left:
    """Something that is not recorded: what changed, and what was written, in words."""

    kind: str
    why: str
    said: str = ""
    unit: int | None = None
    call: int | None = None

    def row(self, write_up: models.WriteUp) -> models.WriteUpCheck:
        """It as a row of its write-up."""
        return models.WriteUpCheck(
            write_up=write_up,
            kind=self.kind,
            why=self.why[:_LONGEST],
            said=self.said,
            unit_id=self.unit,
            call_id=self.call,
        )


@dataclass(frozen=True, slots=True)
class Recordable:
    """A write-up without what cannot be recorded any more, the units that it tells of, its visit, and what is left over."""

    stop: Submission
    units: Mapping[int, models.Unit]
    booking: models.Booking | None
    note: str
    left: tuple[Left, ...]


def site_now(pk: int) -> int | None:
    """The site of this key, or the one that it was merged into; None if there is neither."""
    return _survivors("site", [pk]).get(pk)


def sort(place: models.Site, stop: Submission) -> Recordable:
    """Sort what a stop says; Refused for what never was as it says, which no change explains."""
    stop = _with_survivors(stop)
    units, gone = _units(place, stop)
    sheet = care_sheet()
    left = [_left_of_unit(stop, pk, why, units.get(pk), sheet) for pk, why in gone.items()]
    stop = replace(
        stop,
        units=tuple(one for one in stop.units if one.unit not in gone),
        failures=tuple(replace(row, facts={}) if row.unit in gone else row for row in stop.failures),
        refrigerant=tuple(row for row in stop.refrigerant if row.unit not in gone),
    )
    stop, tasks = _without_old_tasks(stop, units, sheet)
    stop, calls = _without_old_calls(place, stop)
    booking, note = _booking(place, stop)
    visit = [Left("visit", note)] if note else []
    return Recordable(stop, units, booking, note, (*visit, *left, *tasks, *calls))


# ------------------------------------------------------------------------------------------------- merged


def _survivors(kind: str, keys: Iterable[int]) -> dict[int, int]:
    """Each key that is on file or was merged into one that is, with that one."""
    table: Any = {"site": models.Site, "unit": models.Unit}[kind]
    keys = set(keys)
    survivors = {pk: pk for pk in table.objects.filter(pk__in=keys).values_list("pk", flat=True)}
    for key in keys - survivors.keys():
        now: int | None = key
        while now is not None and not table.objects.filter(pk=now).exists():
            merges = models.Merge.objects.filter(kind=kind, gone_id=now, undone_at=None)
            now = merges.values_list("kept_id", flat=True).first()
        if now is not None:
            survivors[key] = now
    return survivors


def _with_survivors(stop: Submission) -> Submission:
    """What is told of a unit that was merged meanwhile is told of the one it is now."""
    named = {one.unit for one in stop.units} | {row.unit for row in (*stop.failures, *stop.refrigerant)}
    now = _survivors("unit", named)
    if all(now.get(pk, pk) == pk for pk in named):
        return stop
    return replace(
        stop,
        units=tuple(replace(one, unit=now.get(one.unit, one.unit)) for one in stop.units),
        failures=tuple(replace(row, unit=now.get(row.unit, row.unit)) for row in stop.failures),
        refrigerant=tuple(replace(row, unit=now.get(row.unit, row.unit)) for row in stop.refrigerant),
    )


# ------------------------------------------------------------------------------------------------- units and tasks


def _units(place: models.Site, stop: Submission) -> tuple[Mapping[int, models.Unit], dict[int, str]]:
    """The units that a stop names, by key, and why some of them cannot have been worked on there that day."""
    keys = {one.unit for one in stop.units} | {row.unit for row in (*stop.failures, *stop.refrigerant)}
    units = models.Unit.objects.in_bulk(keys)
    gone = dict.fromkeys(keys - units.keys(), "The unit is no longer on file.")
    places = models.Place.objects.filter(unit__in=units).select_related("system__site__customer")
    for pk, unit in units.items():
        here = [one for one in places if one.unit_id == pk]
        if all(one.system.site_id != place.pk for one in here):
            raise Refused("One of the units is not at this site.")
        if why := _not_there(unit, here, place, stop.day):
            gone[pk] = why
    return units, gone


def _not_there(unit: models.Unit, places: Sequence[models.Place], place: models.Site, day: dt.date) -> str:
    """Why a unit cannot have been worked on at a site on a day; blank where it can."""
    if unit.removed_on is not None and day > unit.removed_on:
        return f"The unit was {unit.removal_reason} on {in_words(unit.removed_on)}."
    if unit.replaced_on is not None and day < unit.replaced_on:
        return f"The unit came on {in_words(unit.replaced_on)}, after that day."
    # On the day of a move it may have been worked on at either place.
    stood = [
        one
        for one in places
        if (one.joined_on is None or one.joined_on <= day) and (one.left_on is None or day <= one.left_on)
    ]
    if not stood or any(one.system.site_id == place.pk for one in stood):
        return ""
    since = f" on {in_words(stood[-1].joined_on)}" if stood[-1].joined_on is not None else ""
    return f"The unit was moved{since} to {stood[-1].system.site.customer}, {stood[-1].system.site}."


def _name(unit: models.Unit | None) -> str:
    return "" if unit is None else unit.room or f"{unit.role} {unit.serial}".strip()


def _left_of_unit(stop: Submission, pk: int, why: str, unit: models.Unit | None, sheet: CareSheet | None) -> Left:
    said = [line for one in stop.units if one.unit == pk for line in _said(one, sheet)]
    said += [f"failed: {_row(row.facts)}" for row in stop.failures if row.unit == pk]
    said += [f"refrigerant: {_row(row.facts)}" for row in stop.refrigerant if row.unit == pk]
    name = _name(unit)
    return Left("unit", f"{name}: {why}" if name else why, "; ".join(said), None if unit is None else pk)


def _said(one: OfUnit, sheet: CareSheet | None) -> Iterable[str]:
    if one.done:
        yield f"done: {listed(title_of(task, sheet) for task in one.done)}"
    for skip in one.skipped:
        yield f"skipped: {title_of(skip.task, sheet)} ({skip.reason})"
    for name, grade in (("wheel", one.dirt_wheel), ("coil", one.dirt_coil)):
        if grade is not None:
            yield f"dirt on the {name}: {grade} of 3"
    for reading in one.readings:
        yield f"measured: {_row(reading)}"
    if one.notes:
        yield f"note: {' '.join(one.notes.split())}"


def _row(texts: Mapping[str, str]) -> str:
    return ", ".join(" ".join(text.split()) for text in texts.values() if text)


def _without_old_tasks(
    stop: Submission, units: Mapping[int, models.Unit], sheet: CareSheet | None
) -> tuple[Submission, list[Left]]:
    """Take out the tasks that an earlier care sheet had; one that none ever had is left to be refused by name."""
    named = {task for one in stop.units for task in (*one.done, *(skip.task for skip in one.skipped))}
    unknown = {task for task in named if sheet is None or sheet.task(task) is None}
    titles = _former_titles(unknown) if unknown else {}
    if not titles:
        return stop, []
    left, shown = [], []
    for one in stop.units:
        said = [f"done: {titles[task]}" for task in one.done if task in titles]
        said += [f"skipped: {titles[skip.task]} ({skip.reason})" for skip in one.skipped if skip.task in titles]
        if said:
            why = f"{_name(units[one.unit])}: this task is no longer on the care sheet."
            left.append(Left("task", why, "; ".join(said), one.unit))
        shown.append(
            replace(
                one,
                done=tuple(task for task in one.done if task not in titles),
                skipped=tuple(skip for skip in one.skipped if skip.task not in titles),
            )
        )
    return replace(stop, units=tuple(shown)), left


def _former_titles(tasks: Iterable[str]) -> dict[str, str]:
    """The titles of tasks as the last earlier care sheet that had them called them, by code."""
    tasks, titles = set(tasks), {}
    for document in models.CareSheet.objects.filter(in_force=False).order_by("pk").values_list("document", flat=True):
        for entry in from_document(document).get("task", ()):
            if entry.get("code") in tasks:
                titles[entry["code"]] = str(entry.get("title", entry["code"]))
    return titles


# ------------------------------------------------------------------------------------------------- calls and the visit


def _without_old_calls(place: models.Site, stop: Submission) -> tuple[Submission, list[Left]]:
    """Take out what is said of calls that are over by now, unless it says the same."""
    calls = {call.pk: call for call in models.Call.objects.filter(pk__in=dict(stop.calls))}
    left, standing = [], []
    for pk, said in stop.calls:
        call = calls.get(pk)
        over = "" if call is None or call.site_id != place.pk else _OVER.get(State(call.state), "")
        if call is None or not over:
            standing.append((pk, said))
        elif not (said.get("outcome") == "put right" and call.state == State.PUT_RIGHT):
            words = [
                str(said.get("outcome", "")),
                str((said.get("part") or {}).get("what", "")),
                str(said.get("why", "")),
            ]
            why = f"The call of {call.caller} was already {over}."
            left.append(Left("call", why, ", ".join(filter(None, words)), call=pk))
    return replace(stop, calls=tuple(standing)), left


def _booking(place: models.Site, stop: Submission) -> tuple[models.Booking | None, str]:
    """The booking that this makes a visit of, and a note; work done is recorded whatever became of the booking."""
    if stop.booking is None:
        return None, ""
    booking = models.Booking.objects.select_for_update().filter(pk=stop.booking, site=place).first()
    if booking is None:
        raise Refused({"booking": "This visit was not booked for this site. Open the stop again."})
    if booking.state == "made":
        other = models.WriteUp.objects.standing().filter(booking=booking).first()
        who = f" by {other.technician}" if other is not None else ""
        return None, f"The visit was already written up{who}; this is a second write-up."
    if booking.state == "called off":
        return None, "The visit was canceled in the meantime; this is recorded as a stop that was not booked."
    return booking, ""
