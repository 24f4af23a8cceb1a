"""The form of a write-up: for each unit what was done, skipped, seen and measured.

Every name says what it is about (`done-12:coil`), so that a form that was opened an hour ago, or before somebody else's
write-up, is still read as it was meant. All values are texts; the action reads them.
"""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django import forms

from fleet.care.forms.due import GRADES
from fleet.care.forms.write_up_message import MOST_ROWS, other_readings
from fleet.care.pages.stops import Ask, OfUnit, Stop
from fleet.claims.forms.failures import WeighedForm
from fleet.elements.action_form import ActionForm, LineForm, SureForm, sentence, sure_field
from fleet.models.history import SKIP_REASONS
from fleet.refusals import Refused
from fleet.registry.forms.documents import SeveralFilesField
from fleet.rules import readings, words
from fleet.rules.which_component import NOT_KNOWN_YET
from fleet.rules.wording import readings as wording

# What is usually measured on a unit of each role; every other reading can be chosen below it.
MEASURED = {
    "head": ("return air temperature", "supply air temperature", "indoor relative humidity"),
    "outdoor": (
        "outdoor temperature",
        "amps",
        "volts",
        "liquid line temperature",
        "gas line temperature",
        "suction pressure",
        "liquid line pressure",
        "capacitor",
        "insulation resistance",
    ),
    "air handler": (
        "return air temperature",
        "supply air temperature",
        "external static pressure",
        "indoor relative humidity",
        "amps",
        "volts",
    ),
    "furnace": (
        "return air temperature",
        "supply air temperature",
        "external static pressure",
        "gas manifold pressure",
        "flue carbon monoxide",
        "flue oxygen",
        "flue temperature",
        "amps",
        "volts",
    ),
    "dehumidifier": ("indoor relative humidity", "amps"),
}
MODES = ("cooling", "heating", "drying", "fan only", "test")
FANS = ("low", "medium", "high", "automatic")
ROWS = 1
# What the action calls otherwise.
_FIELD = {"due": "done", "reading": "other", "minutes_running": "running"}


def _one_of(known: Iterable[str], blank: str) -> list[tuple[str, str]]:
    return [("", blank), *((word, word) for word in known)]


def _readings() -> list[tuple[str, str]]:
    return [("", "none"), *((reading, wording.named(reading)) for reading in readings.READINGS)]


def _text(label: str, **attrs: Any) -> forms.CharField:
    widget = forms.TextInput(attrs={"autocomplete": "off", **attrs})
    return forms.CharField(required=False, label=label, widget=widget)


def _select(label: str, choices: Iterable[tuple[str, str]], **attrs: Any) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.Select(choices=list(choices), attrs=attrs))


def _day(label: str, **attrs: Any) -> forms.CharField:
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", **attrs})
    return forms.CharField(required=False, label=label, widget=widget)


class _Photos(forms.ClearableFileInput):
    allow_multiple_selected = True


class _PhotosField(SeveralFilesField):
    """Photos that may as well be none."""

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The files sent, as a list."""
        return super().clean(data, initial) if data else []


@dataclass(frozen=True, slots=True)
class AskFields:
    """One piece of work with its tick and the reason why it was skipped."""

    ask: Ask
    done: forms.BoundField
    skip: forms.BoundField


@dataclass(frozen=True, slots=True)
class UnitFields:
    """One unit with the fields of what was seen and measured on it."""

    of: OfUnit
    open: tuple[AskFields, ...]
    rest: tuple[AskFields, ...]
    dirt: tuple[forms.BoundField, ...]
    until: forms.BoundField
    notes: forms.BoundField
    measured: tuple[forms.BoundField, ...]
    how: tuple[forms.BoundField, ...]

    @property
    def more_told(self) -> bool:
        """Whether anything below the fold was written, or is wrong."""
        return any(field.value() or field.errors for field in (self.notes, *self.measured, *self.how))

    @property
    def told(self) -> bool:
        """Whether anything of it was written."""
        return self.rest_told or self.more_told or any(field.value() for field in self.dirt)

    @property
    def rest_told(self) -> bool:
        """Whether something was ticked that was not asked for."""
        return any(one.done.value() or one.skip.value() or one.done.errors for one in self.rest)


class WriteUpForm(SureForm, ActionForm):
    """A write-up as it is written."""

    key = forms.CharField(widget=forms.HiddenInput)
    booking = forms.CharField(required=False, widget=forms.HiddenInput)
    day = _day("Day")
    technician = _text("Technician")
    minutes = _text("Minutes in all, including the drive", inputmode="numeric")
    sure = sure_field()
    notes = forms.CharField(required=False, label="Notes on the visit", widget=forms.Textarea(attrs={"rows": 3}))
    photos = _PhotosField(
        required=False, label="Photos", widget=_Photos(attrs={"accept": "image/jpeg,image/png,image/webp"})
    )

    def __init__(
        self, stop: Stop, data: Any = None, files: Any = None, *, technician: str, today: dt.date, more: str = ""
    ) -> None:
        initial = {
            "key": str(uuid.uuid4()),
            "booking": str(stop.booking or ""),
            # A visit may be made before its day; what is told of is never later than today.
            "day": min(stop.on, today).isoformat(),
            "technician": technician,
        }
        super().__init__(data, files, initial=initial)
        self.stop, self._number = stop, 0
        for task, title, count in stop.alike:
            self.fields[f"all-{task}"] = self._tick(f"{title}, all {count}", data_all=task)
        for call, _ in stop.calls:
            self._of_call(call)
        for unit in stop.units:
            self._of(unit)
        names = [(str(unit.unit.pk), unit.name) for unit in stop.units]
        self.failed = _rows(FailedForm, "failed", data, more, names)
        self.weighed = _rows(WeighedHereForm, "weighed", data, more, names, who=technician)

    def _next(self) -> str:
        # Names of tasks have blanks, which no id may have.
        self._number += 1
        return f"w{self._number}"

    def _tick(self, label: str, **named: str) -> forms.BooleanField:
        attrs = {"id": self._next(), **{name.replace("_", "-"): value for name, value in named.items()}}
        return forms.BooleanField(required=False, label=label, widget=forms.CheckboxInput(attrs=attrs))

    def _of_call(self, call: int) -> None:
        outcomes = _one_of(("put right", "needs a part", "needs another trip"), "not looked at")
        self.fields[f"call-{call}-outcome"] = _select("What happened", outcomes)
        for name, label in (("why", "Note"), ("what", "Part it needs"), ("supplier", "Ordered from")):
            self.fields[f"call-{call}-{name}"] = _text(label)
        self.fields[f"call-{call}-ordered_on"] = _day("Ordered on")
        self.fields[f"call-{call}-expected_on"] = _day("Expected on")

    def _of(self, unit: OfUnit) -> None:
        pk = unit.unit.pk
        for ask in unit.asks:
            self.fields[f"done-{ask.key}"] = self._tick(ask.title, data_task=ask.task)
            label = f"{ask.title}, {unit.name}: skipped"
            self.fields[f"skip-{ask.key}"] = _select(label, _one_of(SKIP_REASONS, "skip …"), id=self._next())
        if unit.role in ("head", "air handler", "furnace", "dehumidifier"):
            self.fields[f"wheel-{pk}"] = _select("Blower wheel", GRADES)
            self.fields[f"coil-{pk}"] = _select("Coil", GRADES)
        elif unit.role == "outdoor":
            self.fields[f"coil-{pk}"] = _select("Coil", GRADES)
        self.fields[f"until-{pk}"] = _day("If skipped, not before")
        self.fields[f"notes-{pk}"] = forms.CharField(
            required=False, label="Notes", widget=forms.Textarea(attrs={"rows": 2})
        )
        usual = MEASURED.get(unit.role, ())
        # A form that is filled with what was sent before may have any of them.
        told_of = (reading for reading in readings.READINGS if f"read-{pk}-{reading}" in self.data)
        for reading in dict.fromkeys((*usual, *told_of)):
            measure = readings.READINGS[reading][0].unit
            field = _text(f"{wording.named(reading).capitalize()}, {measure}", inputmode="decimal", id=self._next())
            self.fields[f"read-{pk}-{reading}"] = field
        self.fields[f"other-{pk}"] = _select("Another reading", _readings())
        self.fields[f"othervalue-{pk}"] = _text("Its value", inputmode="decimal")
        self.fields[f"mode-{pk}"] = _select("Mode", _one_of(MODES, "not noted"))
        self.fields[f"fan-{pk}"] = _select("Fan", _one_of(FANS, "not noted"))
        self.fields[f"running-{pk}"] = _text("Minutes running", inputmode="numeric")

    # -- as the templates show it

    @property
    def calls(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Each call on the stop, in words, with the fields for what happened."""
        names = ("outcome", "why", "what", "supplier", "ordered_on", "expected_on")
        return [(words, [self[f"call-{call}-{name}"] for name in names]) for call, words in self.stop.calls]

    @property
    def alike(self) -> list[forms.BoundField]:
        """One tick for all things that a task is asked for of."""
        return [self[f"all-{task}"] for task, _, _ in self.stop.alike]

    @property
    def whole(self) -> list[forms.BoundField]:
        """What is said of the stop as a whole."""
        return [self[name] for name in ("day", "technician", "minutes", "notes", "photos")]

    @property
    def failed_told(self) -> bool:
        """Whether a failure was written, or another row asked for."""
        return any(row["component"].value() or row.errors for row in self.failed) or len(self.failed) > ROWS

    @property
    def weighed_told(self) -> bool:
        """Whether refrigerant was written, or another row asked for."""
        return any(row["ounces"].value() or row.errors for row in self.weighed) or len(self.weighed) > ROWS

    @cached_property
    def asked_of(self) -> list[UnitFields]:
        """The units of which something is asked, or which are broken, in the order of the house."""
        return [self._shown(unit) for unit in self.stop.units if unit.open or unit.broken]

    @cached_property
    def others(self) -> list[UnitFields]:
        """The units that a visit may leave alone."""
        return [self._shown(unit) for unit in self.stop.units if not (unit.open or unit.broken)]

    @property
    def others_open(self) -> bool:
        """Whether those stand open: nothing else is there, or something was written of one."""
        return not self.asked_of or any(one.told for one in self.others)

    def _shown(self, unit: OfUnit) -> UnitFields:
        pk = unit.unit.pk
        return UnitFields(
            unit,
            open=tuple(map(self._ask, unit.open)),
            rest=tuple(map(self._ask, unit.rest)),
            dirt=tuple(self[name] for name in (f"wheel-{pk}", f"coil-{pk}") if name in self.fields),
            until=self[f"until-{pk}"],
            notes=self[f"notes-{pk}"],
            measured=tuple(self[name] for name in self.fields if name.startswith(f"read-{pk}-")),
            how=tuple(self[f"{name}-{pk}"] for name in ("other", "othervalue", "mode", "fan", "running")),
        )

    def _ask(self, ask: Ask) -> AskFields:
        return AskFields(ask, self[f"done-{ask.key}"], self[f"skip-{ask.key}"])

    # -- what is wrong

    def refuse(self, refused: Refused) -> None:
        """Show each sentence at its field, or in the row that it is about."""
        if "sure" in refused.faults:
            self.show_sure()
        rows = {
            f"{name}-{number}": row for name in ("failed", "weighed") for number, row in enumerate(getattr(self, name))
        }
        for name in list(refused.faults):
            row = rows.get("-".join(name.split("-")[:2]))
            if row is not None:
                field = name.split("-", 2)[2]
                row.add_error(field if field in row.fields else None, sentence(refused.faults.pop(name)))
        super().refuse(refused)

    def all_faults(self) -> dict[str, str]:
        """What is wrong, by the name of the field that it stands at; blank: at none."""
        faults = {name if name in self.fields else "": " ".join(map(str, texts)) for name, texts in self.errors.items()}
        for row in (*self.failed, *self.weighed):
            for name, texts in row.errors.items():
                faults[row.add_prefix(name if name in row.fields else "unit")] = " ".join(map(str, texts))
        return faults

    def field_of(self, fact: str) -> str:
        """Some fields have shorter names, and any reading may stand in the one for others."""
        first, _, rest = fact.partition("-")
        name = f"{_FIELD.get(first, first)}-{rest}" if rest else fact
        others = {f"read-{pk}-{value}": f"othervalue-{pk}" for pk, value in other_readings(self.data)}
        return name if name in self.fields else others.get(fact, "")


class FailedForm(LineForm):
    """A failure that was found."""

    use_required_attribute = False
    unit = _select("On", ())
    component = _select("What failed", _one_of((*words.COMPONENTS, NOT_KNOWN_YET), "nothing"))
    cause = _select("Cause", _one_of(words.CAUSES, "not noted"))
    leak_at = _text("Where it leaked")
    fault_code = _text("Fault code")
    notes = _text("Notes")
    repaired = forms.BooleanField(required=False, label="Repaired on this visit")
    part_serial = _text("Old part serial, if it has one")
    new_part_number = _text("New part number")
    new_part_serial = _text("New part serial")
    labor_minutes = _text("Labor, minutes", inputmode="numeric")


class WeighedHereForm(WeighedForm):
    """Refrigerant taken out of a unit's system, or put in."""

    unit = _select("At", ())
    field_order = ["unit", "move", "refrigerant", "ounces", "cylinder", "who", "certificate", "note", "sure"]


def _rows(
    form: type[forms.Form], name: str, data: Any, more: str, units: list[tuple[str, str]], *, who: str = ""
) -> list[forms.Form]:
    count = ROWS
    if data is not None:
        sent = str(data.get(f"{name}-rows", ""))
        count = min(int(sent), MOST_ROWS) if sent.isdecimal() and len(sent) < 4 else ROWS
    made = [form(data, prefix=f"{name}-{number}", label_suffix="", initial={"who": who}) for number in range(count)]
    if more == name and count < MOST_ROWS:
        made.append(form(None, prefix=f"{name}-{count}", label_suffix="", initial={"who": who}))
    for row in made:
        row.fields["unit"].widget.choices = [("", "choose …"), *units]
    return made
