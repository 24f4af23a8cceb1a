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

from fleet.care.forms import write_up_fields as drawn
from fleet.care.forms.write_up_message import MOST_ROWS, other_readings
from fleet.care.pages.stops import Ask, OfUnit, Stop
from fleet.claims.forms.failures import WeighedForm
from fleet.elements.action_form import ActionForm, LineForm, SureForm, sentence, sure_field
from fleet.models.history import SKIP_REASONS
from fleet.refusals import Refused
from fleet.rules import readings, words
from fleet.rules.which_component import NOT_KNOWN_YET
from fleet.rules.wording import cautions
from fleet.rules.wording import readings as wording
from fleet.rules.wording import signatures as wording_of_signatures

ROWS = 1
_GRADES = {code: word for code, word in drawn.GRADES if code}
# What the action calls otherwise.
_FIELD = {"due": "done", "signature": "signed_by", "reading": "other", "minutes_running": "running"}


@dataclass(frozen=True, slots=True)
class AskFields:
    """One piece of work with its tick and the reason why it was skipped."""

    ask: Ask
    done: forms.BoundField
    skip: forms.BoundField


def _written(fields: Iterable[forms.BoundField]) -> int:
    return sum(bool(field.value()) for field in fields)


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
    more: tuple[forms.BoundField, ...]
    how: tuple[forms.BoundField, ...]
    only: bool = False

    @property
    def opened(self) -> bool:
        """Whether its line stands open: it is the only one, waits for a repair, or something of it is wrong."""
        asks = [field for one in (*self.open, *self.rest) for field in (one.done, one.skip)]
        fields = (*asks, *self.dirt, self.until, self.notes, *self.measured, *self.more, *self.how)
        return self.only or bool(self.of.broken) or any(field.errors for field in fields)

    @property
    def live(self) -> str:
        """What to beware of where live parts are measured; blank where none are."""
        names = (field.html_name.split("-", 2)[2] for field in (*self.measured, *self.more))
        return next(filter(None, map(cautions.of_reading, names)), "")

    @property
    def line(self) -> str:
        """What stands on its line: what is written of it so far, as write_up.js goes on saying it."""
        asks = (*self.open, *self.rest)
        done, skipped = (_written(getattr(ask, name) for ask in asks) for name in ("done", "skip"))
        read = _written((*self.measured, *self.more))
        said = [
            f"{done} of {len(self.open)} done" if self.open else f"{done} done" if done else "",
            f"{skipped} skipped" if skipped else "",
            *(
                f"{field.label.split()[-1].lower()} {_GRADES[field.value()]}"
                for field in self.dirt
                if field.value() in _GRADES
            ),
            f"{read} reading{'' if read == 1 else 's'}" if read else "",
            "note" if self.notes.value() else "",
        ]
        return ", ".join(filter(None, said)) or "nothing due"

    @property
    def more_told(self) -> bool:
        """Whether anything below the fold was written, or is wrong."""
        return any(field.value() or field.errors for field in (self.notes, *self.more, *self.how))

    @property
    def told(self) -> bool:
        """Whether anything of it was written."""
        return self.rest_told or self.more_told or any(field.value() for field in (*self.dirt, *self.measured))

    @property
    def rest_told(self) -> bool:
        """Whether something was ticked that was not asked for."""
        return any(one.done.value() or one.skip.value() or one.done.errors for one in self.rest)


class WriteUpForm(SureForm, ActionForm):
    """A write-up as it is written."""

    key = forms.CharField(widget=forms.HiddenInput)
    booking = forms.CharField(required=False, widget=forms.HiddenInput)
    day = drawn.day("Day")
    technician = drawn.text("Technician")
    minutes = drawn.text("Minutes in all, including the drive", inputmode="numeric")
    sure = sure_field()
    notes = forms.CharField(
        required=False,
        label="Notes on the visit, for us (not on the customer’s ticket)",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    photos = drawn.photos()
    signed_by = drawn.text("Name of the person who signs")
    signature = forms.CharField(required=False, widget=forms.HiddenInput)
    unsigned = drawn.select("If nobody signs, why", [("", "choose …"), *wording_of_signatures.UNSIGNED.items()])

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
        if (tasks := sum(len(unit.open) for unit in stop.units)) > 1:
            self.fields["everything"] = self._tick(
                f"Everything due today is done: all {tasks} tasks", data_everything=""
            )
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
        outcomes = drawn.one_of(("put right", "needs a part", "needs another trip"), "not looked at")
        self.fields[f"call-{call}-outcome"] = drawn.select("What happened", outcomes)
        for name, label in (("why", "Note"), ("what", "Part it needs"), ("supplier", "Ordered from")):
            self.fields[f"call-{call}-{name}"] = drawn.text(label)
        self.fields[f"call-{call}-ordered_on"] = drawn.day("Ordered on")
        self.fields[f"call-{call}-expected_on"] = drawn.day("Expected on")

    def _of(self, unit: OfUnit) -> None:
        pk = unit.unit.pk
        for ask in unit.asks:
            self.fields[f"done-{ask.key}"] = self._tick(ask.title, data_task=ask.task)
            label = f"{ask.title}, {unit.name}: skipped"
            self.fields[f"skip-{ask.key}"] = drawn.select(label, drawn.one_of(SKIP_REASONS, "skip …"), id=self._next())
        if unit.role in ("head", "air handler", "furnace", "dehumidifier"):
            self.fields[f"wheel-{pk}"] = drawn.grade("Blower wheel")
        if unit.role in ("head", "air handler", "furnace", "dehumidifier", "outdoor"):
            self.fields[f"coil-{pk}"] = drawn.grade("Coil")
        self.fields[f"until-{pk}"] = drawn.day("If skipped, not before")
        self.fields[f"notes-{pk}"] = forms.CharField(
            required=False, label="Notes", widget=forms.Textarea(attrs={"rows": 2})
        )
        usual = drawn.MEASURED.get(unit.role, ())
        # A form that is filled with what was sent before may have any of them.
        told_of = (reading for reading in readings.READINGS if f"read-{pk}-{reading}" in self.data)
        for reading in dict.fromkeys((*usual, *told_of)):
            measure = readings.READINGS[reading][0].unit
            field = drawn.value(f"{wording.named(reading).capitalize()}, {measure}", reading, id=self._next())
            self.fields[f"read-{pk}-{reading}"] = field
        self.fields[f"other-{pk}"] = drawn.select("Another reading", drawn.all_readings())
        self.fields[f"othervalue-{pk}"] = drawn.value("Its value")
        self.fields[f"mode-{pk}"] = drawn.select("Mode", drawn.one_of(drawn.MODES, "not noted"))
        self.fields[f"fan-{pk}"] = drawn.select("Fan", drawn.one_of(drawn.FANS, "not noted"))
        self.fields[f"running-{pk}"] = drawn.text("Minutes running", inputmode="numeric")

    # -- as the templates show it

    @property
    def calls(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Each call on the stop, in words, with the fields for what happened."""
        names = ("outcome", "why", "what", "supplier", "ordered_on", "expected_on")
        return [(words, [self[f"call-{call}-{name}"] for name in names]) for call, words in self.stop.calls]

    @property
    def alike(self) -> list[forms.BoundField]:
        """One tick for all that is due, and one for all things that a task is asked for of."""
        names = ("everything", *(f"all-{task}" for task, _, _ in self.stop.alike))
        return [self[name] for name in names if name in self.fields]

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
        units = [unit for unit in self.stop.units if unit.open or unit.broken]
        return [self._shown(unit, only=len(units) == 1) for unit in units]

    @cached_property
    def others(self) -> list[UnitFields]:
        """The units that a visit may leave alone."""
        return [self._shown(unit, only=False) for unit in self.stop.units if not (unit.open or unit.broken)]

    @property
    def others_open(self) -> bool:
        """Whether those stand open: nothing else is there, or something was written of one."""
        return not self.asked_of or any(one.told for one in self.others)

    def _shown(self, unit: OfUnit, *, only: bool) -> UnitFields:
        pk = unit.unit.pk
        measured = tuple(self[name] for name in self.fields if name.startswith(f"read-{pk}-"))
        return UnitFields(
            unit,
            open=tuple(map(self._ask, unit.open)),
            rest=tuple(map(self._ask, unit.rest)),
            dirt=tuple(self[name] for name in (f"wheel-{pk}", f"coil-{pk}") if name in self.fields),
            until=self[f"until-{pk}"],
            notes=self[f"notes-{pk}"],
            measured=measured[: drawn.IN_SIGHT],
            more=measured[drawn.IN_SIGHT :],
            how=tuple(self[f"{name}-{pk}"] for name in ("other", "othervalue", "mode", "fan", "running")),
            only=only,
        )

    def _ask(self, ask: Ask) -> AskFields:
        return AskFields(ask, self[f"done-{ask.key}"], self[f"skip-{ask.key}"])

    # -- what is wrong

    def add_error(self, field: str | None, error: Any) -> None:
        """Lead from a field to its fault by the id that it has itself: a name with blanks would be several ids."""
        super().add_error(field, error)
        attrs = self.fields[field].widget.attrs if field in self.fields else {}
        if own := attrs.get("id"):
            attrs["aria-describedby"] = f"{own}_error"

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

    def focus_first(self) -> None:
        """Let the first field that is wrong have the focus, in the order of the page, also where no script runs."""
        of_stop = [name for name in self.base_fields if name not in ("key", "booking", "sure")]
        names = ["sure", *(name for name in self.fields if name not in self.base_fields)]
        parts: list[tuple[forms.Form, str]] = [(self, name) for name in names]
        parts += [(row, name) for row in (*self.failed, *self.weighed) for name in row.fields]
        parts += [(self, name) for name in of_stop]
        for form, name in parts:
            if name in form.errors:
                form.fields[name].widget.attrs["autofocus"] = True
                return

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
        name = f"{_FIELD.get(first, first)}-{rest}" if rest else _FIELD.get(fact, fact)
        others = {f"read-{pk}-{value}": f"othervalue-{pk}" for pk, value in other_readings(self.data)}
        return name if name in self.fields else others.get(fact, "")


class FailedForm(LineForm):
    """A failure that was found."""

    use_required_attribute = False
    unit = drawn.select("On", ())
    component = drawn.select("What failed", drawn.one_of((*words.COMPONENTS, NOT_KNOWN_YET), "nothing"))
    cause = drawn.select("Cause", drawn.one_of(words.CAUSES, "not noted"))
    leak_at = drawn.text("Where it leaked")
    fault_code = drawn.text("Fault code")
    notes = drawn.text("Notes")
    repaired = forms.BooleanField(required=False, label="Repaired on this visit")
    part_serial = drawn.text("Old part serial, if it has one")
    new_part_number = drawn.text("New part number")
    new_part_serial = drawn.text("New part serial")
    labor_minutes = drawn.text("Labor, minutes", inputmode="numeric")


class WeighedHereForm(WeighedForm):
    """Refrigerant taken out of a unit's system, or put in."""

    unit = drawn.select("At", ())
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
