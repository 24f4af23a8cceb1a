"""What a technician recorded on site: everything of one write-up in one transaction, once under its key."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import uuid5

from django.db import IntegrityError, transaction

from fleet import models
from fleet.calls.actions import calls
from fleet.care.actions import due, write_up_meanwhile
from fleet.care.actions.undo_write_up import words
from fleet.care.actions.write_up_submission import OfUnit, Row, Skip, Submission, read
from fleet.claims.actions import failure_rows, failures
from fleet.derived import refresh
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.rules.dates import in_words
from fleet.rules.wording import signatures

# How many write-ups of one day are compared.
_LOOKED_AT = 20
_LEFT = "Some of it could not be recorded as written, because something changed meanwhile; the office sees it on their desk."


@dataclass(frozen=True, slots=True)
class Recorded:
    """A write-up on file; whether this very sending put it there, and what became of its booking, where that is to be told."""

    write_up: models.WriteUp
    new: bool = True
    note: str = ""


def record(site: int, message: Any, *, sent: Any, by: models.User, on: dt.date) -> Recorded:
    """Record a write-up of a booked visit or an unplanned stop; a Conflict where its key is that of another.

    `message` has the shape that `write_up_submission` says, `sent` is what came, to be kept as it came. Sent again, it is on file once.
    """
    stop = read(message, on=on)
    try:
        with transaction.atomic():
            place = models.Site.objects.select_for_update().get(pk=site)
            return _again(stop, sent, by=by, on=on) or _record(place, stop, sent, by=by, on=on)
    except IntegrityError:
        # Sent twice at the same moment, of which the other was first.
        if (known := _again(stop, sent, by=by, on=on)) is None:
            raise
        return known


def _again(stop: Submission, sent: Any, *, by: models.User, on: dt.date) -> Recorded | None:
    """Find what was sent under this key before; the same person may send the same again, by either door, and nothing else.

    What was taken back keeps its key, so that a sending that comes late does not bring it back.
    """
    known = models.WriteUp.objects.filter(key=stop.key).first()
    if known is None:
        return None
    if known.by_id != by.pk or not (known.content == sent or _says(known) == stop):
        if known.taken_back_on is not None:
            raise Conflict(
                f"The write-up of {in_words(known.on)} under this key was taken back, and it said something else.",
                "key",
            )
        raise Conflict(
            f"A write-up of {in_words(known.on)} is already on file under this key, and it says something else.", "key"
        )
    if known.taken_back_on is not None:
        return Recorded(known, new=False, note=f"This write-up was taken back {words(known)} It is not recorded again.")
    return Recorded(known, new=False)


def _says(row: models.WriteUp) -> Submission | None:
    """What a write-up on file says; None where it was kept in a shape that is read no more."""
    try:
        return read(row.content, on=dt.date.max)
    except Refused:
        return None


def _ask_again(place: models.Site, stop: Submission, *, by: models.User) -> None:
    """Ask before somebody writes up one visit a second time: a page gone back to saves once more."""
    mine = models.WriteUp.objects.standing().filter(site=place, by=by).order_by("-pk")
    before = mine.filter(booking=stop.booking).first() if stop.booking is not None else None
    if before is None:
        rows = mine.filter(on=stop.day)[:_LOOKED_AT]
        same = (row for row in rows if (says := _says(row)) is not None and replace(says, key=stop.key) == stop)
        before = next(same, None)
    if before is not None:
        raise Refused(
            {
                "sure": f"You already wrote up this visit on {in_words(before.on)}. Open that write-up instead, or check the "
                "box if this is more work."
            }
        )


def _record(place: models.Site, stop: Submission, sent: Any, *, by: models.User, on: dt.date) -> Recorded:
    if stop.empty:
        raise Refused("Check off what was done, say why it was skipped, or write a note.")
    if not stop.sure:
        _ask_again(place, stop, by=by)
    now = write_up_meanwhile.sort(place, stop)
    stop, booking = now.stop, now.booking
    made = models.WriteUp.objects.create(
        key=stop.key,
        site=place,
        booking=booking,
        on=stop.day,
        technician=stop.technician,
        minutes=stop.minutes,
        notes=stop.notes,
        content=sent,
        captured_at=stop.captured_at,
        clock_ahead=stop.clock_ahead,
        by=by,
    )
    writer = _Writer(made, now.units, by=by, on=on)
    for one in stop.units:
        writer.unit(one)
    for nth, failure in enumerate(stop.failures):
        if failure.facts:  # one of a unit that is gone keeps its place, by which its photos know it
            writer.failure(nth, failure)
    for entry in stop.refrigerant:
        writer.refrigerant(entry)
    writer.faults |= calls.written_up(dict(stop.calls), made, by=by, on=on)
    if writer.faults:
        raise Refused(writer.faults)
    models.WriteUpCheck.objects.bulk_create(one.row(made) for one in now.left)
    log = Log(by=by)
    log.note(None, made, "on", None, stop.day)
    if stop.signed is not None:
        signed = stop.signed
        models.Signature.objects.create(
            write_up=made, name=signed.name, strokes=signed.strokes, unsigned=signed.unsigned
        )
        log.note(None, made, "signature", None, signatures.signed(signed.name, signed.unsigned))
    if booking is not None:
        log.note(None, booking, "state", booking.state, "made")
        booking.state = "made"
        booking.save(update_fields=["state"])
    log.write()
    refresh.refresh(sorted(writer.touched), on=on)
    return Recorded(made, note=_note(now))


def _note(now: write_up_meanwhile.Recordable) -> str:
    """What became of the visit, and that something was left to the office, in words."""
    rest = sum(one.kind != "visit" for one in now.left)
    return f"{now.note} {_LEFT}".strip() if rest else now.note


class _Writer:
    """Writes what a write-up tells, unit by unit, and gathers what cannot be."""

    def __init__(self, made: models.WriteUp, units: Mapping[int, models.Unit], *, by: models.User, on: dt.date) -> None:
        self._made, self._units, self._by, self._on = made, units, by, on
        self.faults: dict[str, str] = {}
        self.touched: set[int] = set()

    def unit(self, facts: OfUnit) -> None:
        """Write the tasks done and skipped, the dirt and the notes, and the readings of one unit."""
        self.touched.add(facts.unit)
        # The dirt and the notes stand on one record of the unit: the first, or one of its own where nothing else was told.
        seen: dict[str, Any] = {"dirt_wheel": facts.dirt_wheel, "dirt_coil": facts.dirt_coil, "notes": facts.notes}
        for task in facts.done:
            if self._care(facts.unit, task, seen):
                seen = {}
        for skip in facts.skipped:
            if self._care(facts.unit, skip.task, seen, skip=skip):
                seen = {}
        if any(value not in (None, "") for value in seen.values()) and not self.faults:
            self._care(facts.unit, "", seen)
        self._readings(facts)

    def _care(self, unit: int, task: str, seen: Mapping[str, Any], *, skip: Skip | None = None) -> bool:
        why: dict[str, Any] = {} if skip is None else {"skip_reason": skip.reason, "not_before": skip.not_before}
        try:
            due.record(
                unit,
                task,
                day=self._made.on,
                # What was only seen is no upkeep: without a task, a name would make it proof of maintenance.
                technician=self._made.technician if task else "",
                skipped=skip is not None,
                write_up=self._made,
                by=self._by,
                on=self._on,
                refreshes=False,
                **seen,
                **why,
            )
        except Refused as refused:
            at = {"not_before": f"until-{unit}", "dirt_wheel": f"wheel-{unit}", "dirt_coil": f"coil-{unit}"}
            self.faults |= {at.get(name, f"due-{unit}:{task}"): text for name, text in refused.faults.items()}
            return False
        return True

    def _readings(self, facts: OfUnit) -> None:
        rows, faults = failure_rows.read(self._carrier(facts.unit), facts.readings, (), by=self._by, on=self._on)
        for name, text in faults.items():
            _, number, field = name.split("-")
            reading = facts.readings[int(number)]["reading"]
            self.faults[f"read-{facts.unit}-{reading}" if field == "value" else f"{field}-{facts.unit}"] = text
        self._save(rows)

    def refrigerant(self, row: Row) -> None:
        """Write one row of a system's refrigerant."""
        rows, faults = failure_rows.read(self._carrier(row.unit), (), [row.facts], by=self._by, on=self._on)
        self.faults |= {f"weighed-{row.number}-{name.rpartition('-')[2]}": text for name, text in faults.items()}
        self._save(rows)

    def _carrier(self, unit: int) -> models.Failure:
        """An unsaved failure that holds only the unit and the day, by which readings and refrigerant are read."""
        return models.Failure(unit=self._units[unit], failed_on=self._made.on)

    def _save(self, rows: Iterable[models.Reading | models.RefrigerantEntry]) -> None:
        for row in rows:
            row.write_up = self._made
            row.save()

    def failure(self, nth: int, row: Row) -> None:
        """Record a failure that was found, by the way that every failure is recorded.

        Its key goes by how many failures come before it, its faults by the row of the form, where blank rows count too.
        """
        usual = {"failed_on": self._made.on.isoformat(), "found_by": self._made.technician}
        if row.facts.get("repaired_on"):
            usual["technician"] = self._made.technician
        try:
            failures.record(
                row.unit,
                usual | {name: text for name, text in row.facts.items() if text},
                key=uuid5(self._made.key, f"failure {nth}"),
                write_up=self._made,
                by=self._by,
                on=self._on,
            )
        except Refused as refused:
            self.faults |= {f"failed-{row.number}-{name}": text for name, text in refused.faults.items()}
