"""Taking a write-up back whole: what it put on file goes, what was sent stays readable, its visit is to be made again."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from fleet import models
from fleet.calls.actions import calls
from fleet.claims.actions import failures
from fleet.derived import refresh
from fleet.facts.care import care_sheet
from fleet.log import Log
from fleet.models.people import Role
from fleet.refusals import Conflict, Refused
from fleet.rules.caresheet import CareSheet, title_of
from fleet.rules.claims import OVER, State
from fleet.rules.dates import in_words
from fleet.rules.wording import signatures
from fleet.rules.wording.claim_steps import STATES

_LONGEST = 300


def may(person: models.User, *, sent_by: int | None) -> bool:
    """Whether somebody may take a write-up back: whoever sent it, the office, the owner."""
    return person.role in (Role.OFFICE, Role.OWNER) or (person.role == Role.TECHNICIAN and person.pk == sent_by)


def undo(pk: int, *, why: str, by: models.User, on: dt.date) -> models.WriteUp:
    """Take everything away that a write-up put on file, and say why; or raise Refused."""
    with transaction.atomic():
        # The site first, as whoever writes up or books a visit there holds it.
        models.Site.objects.select_for_update().get(write_ups=pk)
        row = models.WriteUp.objects.select_for_update().get(pk=pk)
        if not may(by, sent_by=row.by_id):
            raise Refused("Only the person who sent it, the office or the owner can take a write-up back.")
        if row.taken_back_on is not None:
            raise Conflict(f"It was already taken back {words(row)}")
        if not why.strip():
            raise Refused("Say why it is taken back.")
        on_file = _OnFile(row)
        if reasons := tuple(on_file.hanging()):
            raise Refused("\n".join(reasons))
        row.taken_back_on, row.taken_back_by, row.taken_back_why = on, by, why.strip()[:_LONGEST]
        calls.undo_write_up(row, by=by, on=on)
        on_file.void(on=on)
        log = Log(by=by)
        on_file.note(log)
        _book_again(row, log)
        log.note(None, row, "taken_back_on", None, on, why=row.taken_back_why)
        log.write()
        on_file.remove()
        row.save(update_fields=["taken_back_on", "taken_back_by", "taken_back_why"])
        refresh.refresh(on_file.units, on=on)
    return row


def words(row: models.WriteUp) -> str:
    """When a write-up was taken back, by whom and why, in words."""
    assert row.taken_back_on is not None
    return f"on {in_words(row.taken_back_on)} by {row.taken_back_by}. The reason: {row.taken_back_why.rstrip('.')}."


def _book_again(row: models.WriteUp, log: Log) -> None:
    """Let the visit that it made stand as booked: nobody wrote it up."""
    if row.booking_id is None:
        return
    booking = models.Booking.objects.select_for_update().filter(pk=row.booking_id, state="made").first()
    if booking is not None:
        why = f"write-up taken back: {row.taken_back_why}"[:_LONGEST]
        log.note(None, booking, "state", booking.state, "booked", why=why)
        booking.state = "booked"
        booking.save(update_fields=["state"])


@dataclass(frozen=True, slots=True)
class _Said:
    """One thing that a write-up put on file: of what, its kind and its words."""

    of: models.Unit | models.System
    kind: str
    words: str


class _OnFile:
    """What one write-up put on file, and still stands there.

    What was measured or weighed later at a failure that it found belongs to that failure, and goes the way of it.
    """

    def __init__(self, row: models.WriteUp) -> None:
        self._row = row
        self._records = list(row.records.select_related("unit"))
        self._readings = list(row.readings.filter(failure=None).select_related("unit"))
        self._signature = models.Signature.objects.filter(write_up=row).first()
        self._entries = list(row.refrigerant_entries.filter(failure=None).select_related("system"))
        here = {one.unit_id for one in self._records} | {one.unit_id for one in self._readings}
        here |= set(row.failures.values_list("unit_id", flat=True))
        here |= set(
            models.Unit.objects.filter(system__in=[one.system_id for one in self._entries]).values_list("pk", flat=True)
        )
        # The units before their failures, as whoever repairs one or opens a claim holds them.
        self.units = [one.pk for one in models.Unit.objects.select_for_update().filter(pk__in=here).order_by("pk")]
        self._failures = list(row.failures.select_related("unit").filter(voided_on=None))

    def hanging(self) -> Iterator[str]:
        """What came since and depends on a failure that the write-up recorded, and what to do about it first."""
        for failure in self._failures:
            named = f"The failure of {f'the {failure.component}' if failure.component else 'an unknown component'} on {_named(failure.unit)}"
            claims = [claim for claim in failure.claims.order_by("pk") if claim.state != State.WITHDRAWN]
            for claim in claims:
                first = _VOID if claim.state in OVER else "Withdraw the claim first, or leave the write-up as it is."
                yield f"{named} is claimed: the claim with {claim.payer_name} is {STATES[State(claim.state)]}. {first}"
            if not claims and _built_upon(failure):
                yield f"{named} was repaired or corrected since. {_VOID}"

    def void(self, *, on: dt.date) -> None:
        """Void the failures that it found, in the way of every failure."""
        row = self._row
        why = f"The write-up of {in_words(row.on)} by {row.technician} was taken back: {row.taken_back_why}"[:_LONGEST]
        for failure in self._failures:
            failures.void(failure.pk, reason=why, by=row.taken_back_by, on=on)

    def note(self, log: Log) -> None:
        """Write into the log what goes: at the write-up, and at each thing that it was told of."""
        why = f"write-up taken back: {self._row.taken_back_why}"[:_LONGEST]
        for one in self._said():
            where = f"{one.of.name}: " if isinstance(one.of, models.System) else f"{_named(one.of)}: "
            log.note(None, self._row, one.kind, where + one.words, "", why=why)
            log.note(None, one.of, one.kind, f"{self._row.on}: {one.words}, {self._row.technician}", "", why=why)
        if (signed := self._signature) is not None:
            log.note(None, self._row, "signature", signatures.signed(signed.name, signed.unsigned), "", why=why)

    def _said(self) -> Iterator[_Said]:
        sheet = care_sheet()
        for record in self._records:
            yield _Said(record.unit, "maintenance", _record(record, sheet))
        for reading in self._readings:
            yield _Said(reading.unit, "measured", str(reading))
        for entry in self._entries:
            yield _Said(entry.system, "refrigerant", f"{entry}, {entry.who}")

    def remove(self) -> None:
        """Take the rows away."""
        for row in (*self._records, *self._readings, *self._entries):
            row.delete()
        if self._signature is not None:
            self._signature.delete()


_VOID = "Have the office void it on its own page first, if it never happened."


def _built_upon(failure: models.Failure) -> bool:
    """Whether anything of a failure was told since it was recorded."""
    changes = models.Change.objects.filter(table="failure", object_id=failure.pk)
    rows: tuple[Any, ...] = (failure.readings, failure.refrigerant_entries)
    return bool(failure.new_serial) or changes.exists() or any(queryset.exists() for queryset in rows)


def _named(unit: models.Unit) -> str:
    return unit.room or f"{unit.role} {unit.serial}".strip()


def _record(row: models.MaintenanceRecord, sheet: CareSheet | None) -> str:
    title = title_of(row.task, sheet)
    said = [f"{title} {f'skipped: {row.skip_reason}' if row.skipped else 'done'}"] if title else []
    if row.not_before is not None:
        said.append(f"not before {in_words(row.not_before)}")
    said += [
        f"{name} {grade} of 3"
        for name, grade in (("wheel", row.dirt_wheel), ("coil", row.dirt_coil))
        if grade is not None
    ]
    if row.notes:
        said.append(f"note: {' '.join(row.notes.split())}")
    return "; ".join(said)
