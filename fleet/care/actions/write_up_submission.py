"""What a write-up tells, read from plain values (a form's or a message's): its shape strictly, its days and numbers by name.

The shape, every value a text (or null, or left out, for nothing) and every list possibly empty:

    key, booking, day, technician, minutes, notes, sure (anything: a second write-up is meant)
    signed_by, signature (the strokes, as rules.signatures reads them), unsigned (why nobody signed)
    writer (the key of whoever wrote it), captured_at (a moment by the phone's clock, ISO 8601),
    clock_ahead (by how many seconds that clock was measured to be ahead)
    units: [{unit, done: [task], skipped: [{task, reason, not_before}], dirt_wheel, dirt_coil, notes,
             readings: [{reading, value, measure, mode, fan, minutes_running, note}]}]
    failures: [{unit, and the fields of a failure}]
    refrigerant: [{unit, move, refrigerant, ounces, cylinder, who, certificate, note}]
    calls: [{call, outcome, why, what, supplier, ordered_on, expected_on}] (outcome: put right, needs a part, needs another trip)
    photos: [{digest, name, unit, failure}] that come by themselves (digest: SHA-256 of the file; failure: which of the failures)
"""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from fleet.claims.actions.failure_rows import MEASURED, WEIGHED
from fleet.loading.failure_facts import FINDING, REPAIR
from fleet.refusals import Refused
from fleet.rules import signatures
from fleet.sheets import columns
from fleet.sheets.columns import ParseError

Texts = Mapping[str, str]
_WHOLE = (
    "key",
    "booking",
    "day",
    "technician",
    "minutes",
    "notes",
    "sure",
    "signed_by",
    "signature",
    "unsigned",
    "writer",
    "captured_at",
    "clock_ahead",
)
_PHOTO = ("digest", "name", "unit", "failure")
_UNIT = ("unit", "dirt_wheel", "dirt_coil", "notes")
_CALL = ("call", "outcome", "why", "what", "supplier", "ordered_on", "expected_on")
_SKIP = ("task", "reason", "not_before")
FAILED = (*FINDING, *REPAIR)
MOST = 500
# A phone's clock is set right by what it was measured to be ahead; one that is years off is not believed.
_MOST_AHEAD = dt.timedelta(days=366)
_YEARS = range(2000, 2200)


@dataclass(frozen=True, slots=True)
class Skip:
    """A task that was skipped, why, and the day before which it is not to be asked about again."""

    task: str
    reason: str
    not_before: dt.date | None


@dataclass(frozen=True, slots=True)
class OfUnit:
    """What was done, skipped, seen and measured on one unit."""

    unit: int
    done: tuple[str, ...] = ()
    skipped: tuple[Skip, ...] = ()
    dirt_wheel: int | None = None
    dirt_coil: int | None = None
    notes: str = ""
    readings: tuple[Texts, ...] = ()


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that comes by itself: what its file folds to, its name, and what it shows (a unit, a failure's number, or neither)."""

    digest: str
    name: str = ""
    unit: int | None = None
    failure: int | None = None


@dataclass(frozen=True, slots=True)
class Signed:
    """Who signed and how it looks, or why nobody did."""

    name: str = ""
    strokes: str = ""
    unsigned: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A failure or an entry of refrigerant with its unit, and which row it was; rows left blank count, but say nothing."""

    unit: int
    facts: Texts
    number: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Submission:
    """A whole write-up as it was told.

    What says only how it was sent (by whom, when, with which photos) is no part of what it says.
    """

    key: UUID
    day: dt.date
    technician: str
    booking: int | None = None
    minutes: int | None = None
    notes: str = ""
    units: tuple[OfUnit, ...] = ()
    failures: tuple[Row, ...] = ()
    refrigerant: tuple[Row, ...] = ()
    calls: tuple[tuple[int, Mapping[str, Any]], ...] = ()
    signed: Signed | None = None
    # Whether somebody says that a second write-up is meant; it is no part of what it says.
    sure: bool = field(default=False, compare=False)
    writer: int | None = field(default=None, compare=False)
    captured_at: dt.datetime | None = field(default=None, compare=False)
    clock_ahead: int | None = field(default=None, compare=False)
    photos: tuple[Photo, ...] = field(default=(), compare=False)

    @property
    def empty(self) -> bool:
        """Whether nothing was told but where and when."""
        return not (self.notes or self.units or self.failures or self.refrigerant or self.calls)


def read(message: Any, *, on: dt.date) -> Submission:
    """Read a write-up, or refuse it by field."""
    reader = _Reader(on)
    submission = reader.whole(message)
    if reader.faults or submission is None:
        raise Refused(reader.faults)
    return submission


class _Reader:
    """Reads one write-up, and gathers what is wrong with it."""

    def __init__(self, on: dt.date) -> None:
        self.faults: dict[str, str] = {}
        self._day = columns.day(last=on)
        self._any_day = columns.day()

    def whole(self, message: Any) -> Submission | None:
        texts = self._texts("", message, _WHOLE, ("units", "failures", "refrigerant", "calls", "photos"))
        if not isinstance(message, Mapping):
            return None
        key = self._key(texts["key"])
        day = self._value("day", texts["day"], self._day, needed="the day of the stop")
        technician = self._value("technician", texts["technician"], columns.text(120), needed="who was there")
        booking = self._value("booking", texts["booking"], columns.whole(10**9))
        minutes = self._value("minutes", texts["minutes"], columns.whole(1440))
        notes = self._value("notes", texts["notes"], columns.text(5_000, lines=True))
        units = tuple(filter(None, (self._unit(one) for one in self._list("units", message.get("units")))))
        failures = tuple(self._rows("failed", message.get("failures"), FAILED))
        refrigerant = tuple(self._rows("weighed", message.get("refrigerant"), WEIGHED))
        calls = tuple(filter(None, (self._call(one) for one in self._list("calls", message.get("calls")))))
        signed = self._signed(texts)
        writer = self._value("writer", texts["writer"], columns.whole(10**12))
        captured_at, ahead = self._captured(texts["captured_at"], texts["clock_ahead"])
        photos = tuple(filter(None, (self._photo(one) for one in self._list("photos", message.get("photos")))))
        if self.faults:
            return None
        return Submission(
            key=key,
            day=day,
            technician=technician,
            booking=booking,
            minutes=minutes,
            notes=notes or "",
            units=units,
            failures=failures,
            refrigerant=refrigerant,
            calls=calls,
            signed=signed,
            sure=bool(texts["sure"]),
            writer=writer,
            captured_at=captured_at,
            clock_ahead=ahead,
            photos=photos,
        )

    def _signed(self, texts: Texts) -> Signed | None:
        """A name and a signature belong together, and with neither goes the reason why there is none."""
        name = self._value("signed_by", texts["signed_by"], columns.text(120)) or ""
        unsigned = self._value("unsigned", texts["unsigned"], columns.choice(signatures.UNSIGNED)) or ""
        strokes = texts["signature"]
        if strokes:
            try:
                signatures.read(strokes)
            except signatures.NoSignature as wanted:
                self.faults["signature"] = f"wanted: {wanted}"
        if strokes and unsigned:
            self.faults["unsigned"] = "Clear the signature, or leave this open: somebody signed."
        elif name and unsigned:
            self.faults["unsigned"] = "Take the name out, or leave this open: somebody signed."
        elif strokes and not name:
            self.faults["signed_by"] = "wanted: the name of the person who signed"
        elif name and not strokes and "signed_by" not in self.faults:
            self.faults["signed_by"] = "Have them sign, or take the name out and say why nobody signed."
        return Signed(name, strokes, unsigned) if name or strokes or unsigned else None

    def _captured(self, moment: str, ahead: str) -> tuple[dt.datetime | None, int | None]:
        """When it was written, with the phone's clock set right; a clock that cannot be read costs the moment, not the stop."""
        try:
            by_phone, off = dt.datetime.fromisoformat(moment), round(float(ahead or "0"))
            right = by_phone - dt.timedelta(seconds=off)
            if by_phone.tzinfo is None or abs(dt.timedelta(seconds=off)) > _MOST_AHEAD or right.year not in _YEARS:
                return None, None
        except (ValueError, OverflowError):
            return None, None
        return right, off

    def _photo(self, message: Any) -> Photo | None:
        texts = self._texts("photos", message, _PHOTO)
        if not re.fullmatch("[0-9a-f]{64}", texts["digest"]):
            self.faults["photos"] = "wanted: the SHA-256 of each photo, in hexadecimal"
            return None
        unit = self._value("photos", texts["unit"], columns.whole(10**12))
        failure = self._value("photos", texts["failure"], columns.whole(MOST))
        return Photo(texts["digest"], texts["name"][:200], unit, failure)

    def _key(self, text: str) -> Any:
        try:
            return UUID(text)
        except ValueError:
            self.faults["key"] = "wanted: the key of this write-up (a UUID)"

    def _unit(self, message: Any) -> OfUnit | None:
        texts = self._texts("units", message, _UNIT, ("done", "skipped", "readings"))
        unit = self._value("units", texts["unit"], columns.whole(10**12), needed="the unit")
        if unit is None or not isinstance(message, Mapping):
            return None
        unit_facts = OfUnit(
            unit,
            done=tuple(dict.fromkeys(map(str, self._list(f"done-{unit}", message.get("done"))))),
            skipped=tuple(self._skip(unit, one) for one in self._list(f"skipped-{unit}", message.get("skipped"))),
            dirt_wheel=self._value(f"wheel-{unit}", texts["dirt_wheel"], columns.whole(3)),
            dirt_coil=self._value(f"coil-{unit}", texts["dirt_coil"], columns.whole(3)),
            notes=self._value(f"notes-{unit}", texts["notes"], columns.text(2_000, lines=True)) or "",
            readings=tuple(
                row
                for one in self._list(f"read-{unit}", message.get("readings"))
                if any((row := self._texts(f"read-{unit}", one, MEASURED)).values())
            ),
        )
        for both in set(unit_facts.done) & {skip.task for skip in unit_facts.skipped}:
            self.faults[f"due-{unit}:{both}"] = "Mark it done or skipped, not both."
        return None if unit_facts == OfUnit(unit) else unit_facts

    def _call(self, message: Any) -> tuple[int, Mapping[str, Any]] | None:
        texts = self._texts("calls", message, _CALL)
        if not texts["outcome"]:
            return None
        call = self._value("calls", texts["call"], columns.whole(10**12), needed="which call")
        part = {
            "what": texts["what"],
            "supplier": texts["supplier"],
            "ordered_on": self._value(f"ordered_on-{call}", texts["ordered_on"], self._day),
            "expected_on": self._value(f"expected_on-{call}", texts["expected_on"], self._any_day),
        }
        return None if call is None else (call, {"outcome": texts["outcome"], "why": texts["why"], "part": part})

    def _skip(self, unit: int, message: Any) -> Skip:
        texts = self._texts(f"skipped-{unit}", message, _SKIP)
        day = self._value(f"until-{unit}", texts["not_before"], self._any_day)
        return Skip(texts["task"], texts["reason"], day)

    def _rows(self, name: str, message: Any, fields: Sequence[str]) -> Any:
        for number, one in enumerate(self._list(name, message)):
            texts = self._texts(f"{name}-{number}", one, ("unit", *fields))
            if any(texts[field] for field in fields):
                unit = self._value(f"{name}-{number}-unit", texts["unit"], columns.whole(10**12), needed="which unit")
                yield Row(unit, {field: texts[field] for field in fields}, number)

    def _texts(self, where: str, message: Any, fields: Sequence[str], others: Sequence[str] = ()) -> dict[str, str]:
        """Read the plain values of one part; what nobody knows is refused by name, so that nothing is lost in silence."""
        texts = dict.fromkeys(fields, "")
        if not isinstance(message, Mapping):
            self.faults[where] = "wanted: names with values"
            return texts
        for name, value in message.items():
            if name in others:
                continue
            if name not in texts:
                self.faults[where or str(name)] = f"{name!r} is not known here"
            elif (
                "\x00" in str(value)
                or value is not None
                and not isinstance(value, str | int | float)
                or isinstance(value, bool)
            ):
                self.faults[where or str(name)] = f"wanted: a text for {name}"
            else:
                texts[name] = "" if value is None else str(value).strip()
        return texts

    def _list(self, where: str, message: Any) -> Sequence[Any]:
        if message is None:
            return ()
        if not isinstance(message, list | tuple) or len(message) > MOST:
            self.faults[where] = f"wanted: a list of at most {MOST}"
            return ()
        return message

    def _value(self, name: str, text: str, column: columns.Column, *, needed: str = "") -> Any:
        if not text:
            if needed:
                self.faults[name] = f"wanted: {needed}"
            return None
        try:
            return column.value(column.plain(text))
        except ParseError as wanted:
            self.faults[name] = f"wanted: {wanted}"
            return None
