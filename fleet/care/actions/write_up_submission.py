"""What a write-up tells, read from plain values (a form's or a message's): its shape strictly, its days and numbers by name.

The shape, every value a text (or null, or left out, for nothing) and every list possibly empty:

    key, booking, day, technician, minutes, notes, sure (anything: a second write-up is meant)
    units: [{unit, done: [task], skipped: [{task, reason, not_before}], dirt_wheel, dirt_coil, notes,
             readings: [{reading, value, measure, mode, fan, minutes_running, note}]}]
    failures: [{unit, and the fields of a failure}]
    refrigerant: [{unit, move, refrigerant, ounces, cylinder, who, certificate, note}]
    calls: [{call, outcome, why, what, supplier, ordered_on, expected_on}] (outcome: put right, needs a part, needs another trip)
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from fleet.claims.actions.failure_rows import MEASURED, WEIGHED
from fleet.loading.failure_facts import FINDING, REPAIR
from fleet.refusals import Refused
from fleet.sheets import columns
from fleet.sheets.columns import ParseError

Texts = Mapping[str, str]
_WHOLE = ("key", "booking", "day", "technician", "minutes", "notes", "sure")
_UNIT = ("unit", "dirt_wheel", "dirt_coil", "notes")
_CALL = ("call", "outcome", "why", "what", "supplier", "ordered_on", "expected_on")
_SKIP = ("task", "reason", "not_before")
FAILED = (*FINDING, *REPAIR)
MOST = 500


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
class Submission:
    """A whole write-up as it was told; failures and refrigerant each with the unit they are of."""

    key: UUID
    day: dt.date
    technician: str
    booking: int | None = None
    minutes: int | None = None
    notes: str = ""
    units: tuple[OfUnit, ...] = ()
    failures: tuple[tuple[int, Texts], ...] = ()
    refrigerant: tuple[tuple[int, Texts], ...] = ()
    calls: tuple[tuple[int, Mapping[str, Any]], ...] = ()
    # Whether somebody says that a second write-up is meant; it is no part of what it says.
    sure: bool = field(default=False, compare=False)

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
        texts = self._texts("", message, _WHOLE, ("units", "failures", "refrigerant", "calls"))
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
        if self.faults:
            return None
        sure = bool(texts["sure"])
        return Submission(
            key, day, technician, booking, minutes, notes or "", units, failures, refrigerant, calls, sure
        )

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
                yield unit, {field: texts[field] for field in fields}

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
            elif value is not None and not isinstance(value, str | int | float) or isinstance(value, bool):
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
