"""The form of a failure and its repair, with rows of readings and of refrigerant; and what becomes of a failure.

The fields read nothing but text: what may stand in each is said once, where a failure's facts are read.
"""

import uuid
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from fleet.claims.actions.failure_rows import MEASURED, WEIGHED
from fleet.claims.pages import failures as pages
from fleet.claims.pages.failures import FormPage, label
from fleet.coverage.pages.answers import Choices
from fleet.elements.action_form import ActionForm, LineForm, SureForm, sentence, sure_field
from fleet.elements.carried import CarryingForm
from fleet.elements.edits import Edit
from fleet.elements.money_field import MoneyTextField, money_input
from fleet.elements.questions import AskingForm
from fleet.loading.failure_facts import FINDING, REPAIR
from fleet.models.history import OLD_PART_PLACES
from fleet.refusals import Refused
from fleet.registry.forms.documents import MOST_AT_ONCE, SeveralFilesField
from fleet.registry.forms.editing import STILL_MATCHED_CHOICES, STILL_MATCHED_HELP
from fleet.rules import readings, words
from fleet.rules.readings import Move
from fleet.rules.which_component import NOT_KNOWN_YET
from fleet.rules.wording import readings as wording
from fleet.rules.wording.names import CAUSES

EXCHANGE = ("new_serial", "new_model", "under_warranty", "still_matched")
ROWS = {"measured": 2, "weighed": 1}
_MOST_ROWS = 40
_MONEY = ("parts_cost", "refrigerant_cost", "freight_cost")
_HELP = {
    "leak_at": "If it leaked: which joint, coil or valve.",
    "cause": "Why it failed. Who pays depends on each payer's terms.",
    "part_taken_on": "The day the new part was picked up from the supplier.",
    "new_model": "Blank: the same model.",
    "still_matched": STILL_MATCHED_HELP,
    "supplier": "One on file, or a new name.",
}
_HOW = (
    ("", "no, only a part"),
    ("yes", "under warranty: it keeps the coverage of the old one"),
    ("no", "bought: its coverage starts new"),
)


def _one_of(known: Iterable[str], blank: str = "") -> list[tuple[str, str]]:
    return [("", blank), *((word, word) for word in known)]


def _field(name: str) -> forms.CharField:
    kind = MoneyTextField if name in _MONEY else forms.CharField
    return kind(required=False, label=label(name), help_text=_HELP.get(name, ""), widget=_widget(name))


def _widget(name: str) -> forms.Widget:
    if name.endswith("_on"):
        return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    if name == "notes":
        return forms.Textarea(attrs={"rows": 3})
    choices = {
        "cause": [("", "not known"), *((one, CAUSES.get(one, one)) for one in words.CAUSES)],
        "old_part_at": _one_of(OLD_PART_PLACES, "not known"),
        "under_warranty": list(_HOW),
        "still_matched": STILL_MATCHED_CHOICES,
        "component": _one_of(words.COMPONENTS),
    }
    if name in choices:
        return forms.Select(choices=choices[name])
    if name in _MONEY:
        return money_input()
    attrs = {"autocomplete": "off"}
    if name == "labor_minutes":
        attrs["inputmode"] = "numeric"
    if name == "supplier":
        attrs["list"] = "suppliers"
    return forms.TextInput(attrs=attrs)


def component_choices(choices: Choices) -> list[Any]:
    """What may have failed, the usual first, and before all of it that nobody knows yet."""
    groups = [("Usual here", choices.usual), ("All others", choices.others)]
    found: list[Any] = [(heading, [(name, name) for name in names]) for heading, names in groups if names]
    return [(NOT_KNOWN_YET, "not known yet: nobody has looked"), *found]


class _FilesField(SeveralFilesField):
    """Photos that may as well be none."""

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The files sent, as a list."""
        return super().clean(data, initial) if data else []


class _Files(forms.ClearableFileInput):
    allow_multiple_selected = True


class FailureForm(AskingForm, CarryingForm):
    """What failed and its repair: `fields` says which of it; what is on file stands in it, and is sent along as it was seen."""

    def __init__(
        self,
        page: FormPage,
        fields: tuple[str, ...],
        data: Any = None,
        files: Any = None,
        *,
        initial: Mapping[str, str] | None = None,
        on_file: bool = False,
    ) -> None:
        super().__init__(data, files, initial={"new_model": page.model, **(initial or {})})
        self.names, self.on_file = fields, on_file
        told = dict(page.fields)
        exchange = EXCHANGE if not page.new_serial and not page.gone else ()
        for name in (*fields, *(name for name in exchange if page.asks_match or name != "still_matched")):
            self.fields[name] = _field(name)
            if name in told:
                self.fields[name].initial = told[name]
        if "component" in self.fields:
            self._offer(page)
        if on_file:
            for name in fields:
                self.carry(name, told[name])
            self.fields["why"] = forms.CharField(required=False, max_length=300, label="Why (optional)")
            self._take_off("readings_off", page.readings)
            self._take_off("entries_off", page.entries)
        else:
            self.fields["key"] = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid.uuid4)
        self.fields["photos"] = _FilesField(
            required=False,
            label="Photos",
            help_text=f"JPEG, PNG, WebP or PDF, up to {MOST_AT_ONCE} at once. The nameplate, the part, where it leaked.",
            widget=_Files(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"}),
        )

    def _offer(self, page: FormPage) -> None:
        field = self.fields["component"]
        field.widget = forms.Select(choices=component_choices(page.choices))
        field.initial = field.initial or (page.answer.question.component if page.answer else NOT_KNOWN_YET)

    def _take_off(self, name: str, known: tuple[pages.Known, ...]) -> None:
        if known:
            self.fields[name] = forms.MultipleChoiceField(
                required=False,
                label="Remove what was wrong",
                choices=[(str(one.pk), one.words) for one in known],
                widget=forms.CheckboxSelectMultiple,
            )

    # -- as the templates show it

    def shown(self, names: Iterable[str]) -> list[forms.BoundField]:
        """The fields of these names that the form has."""
        return [self[name] for name in names if name in self.fields]

    @property
    def found(self) -> list[forms.BoundField]:
        """What failed."""
        return self.shown(name for name in FINDING if name != "notes")

    @property
    def repair(self) -> list[forms.BoundField]:
        """Its repair, but for what it cost."""
        return self.shown(name for name in REPAIR if name not in _MONEY)

    @property
    def money(self) -> list[forms.BoundField]:
        """What it cost."""
        return self.shown(_MONEY)

    @property
    def exchange(self) -> list[forms.BoundField]:
        """The whole unit that came for it."""
        return self.shown(("under_warranty", "new_serial", "new_model", "still_matched"))

    @property
    def repair_told(self) -> bool:
        """Whether anything of the repair was written, so that its part of the form stands open."""
        return any(
            str(self[name].value() or "")
            for name in (*REPAIR, "new_serial", "under_warranty", "still_matched")
            if name in self.fields
        )

    # -- as the action takes it

    def told(self) -> dict[str, str]:
        """What was written, by field."""
        self.is_valid()
        return {name: self.text(name) for name in (*self.names, *EXCHANGE)}

    def keys(self, name: str) -> list[int]:
        """The keys of the rows ticked."""
        return [int(pk) for pk in self.cleaned_data.get(name) or ()]

    def photos_forgotten(self, count: int) -> None:
        """Add an error that photos must be chosen again: no page can hand them back to the browser."""
        if count:
            them = "1 photo was" if count == 1 else f"{count} photos were"
            self.add_error(
                "photos",
                f"{them} chosen and not saved yet: choose {'it' if count == 1 else 'them'} again before you save.",
            )


# ------------------------------------------------------------------------------------------------- rows


def _small(title: str, **attrs: str) -> forms.CharField:
    return forms.CharField(required=False, label=title, widget=forms.TextInput(attrs={"autocomplete": "off", **attrs}))


def _chosen(title: str, choices: list[tuple[str, str]]) -> forms.CharField:
    return forms.CharField(required=False, label=title, widget=forms.Select(choices=choices))


_UNITS = tuple(dict.fromkeys(measure.unit for measures in readings.READINGS.values() for measure in measures))


class MeasuredForm(LineForm):
    """One reading."""

    use_required_attribute = False
    reading = _chosen("Measured", [("", ""), *((name, wording.named(name)) for name in readings.READINGS)])
    value = _small("Value", inputmode="decimal")
    measure = _chosen("In", _one_of(_UNITS, "as usual"))
    mode = _chosen("Mode", _one_of(("cooling", "heating", "drying", "fan only", "test")))
    fan = _chosen("Fan", _one_of(("low", "medium", "high", "automatic")))
    minutes_running = _small("Minutes running", inputmode="numeric")
    note = _small("Note")


class WeighedForm(SureForm):
    """Refrigerant taken out or put in."""

    use_required_attribute = False
    move = _chosen("Recovered or added", _one_of((Move.RECOVERED, Move.ADDED)))
    refrigerant = _small("Refrigerant")
    ounces = _small("Ounces", inputmode="decimal")
    cylinder = _small("Cylinder")
    who = _small("Handled by")
    certificate = _small("Their certificate")
    note = _small("Note")
    sure = sure_field()


class RowsForm:
    """The rows of readings and of refrigerant: as many as were sent, or as a new form begins with."""

    def __init__(self, data: Any = None, *, refrigerant: str = "", who: str = "", more: str = "") -> None:
        self.measured = self._rows("measured", MeasuredForm, data, more, {})
        self.weighed = self._rows("weighed", WeighedForm, data, more, {"refrigerant": refrigerant, "who": who})

    def _rows(
        self, name: str, form: type[forms.Form], data: Any, more: str, initial: dict[str, Any]
    ) -> list[forms.Form]:
        count = ROWS[name]
        if data is not None:
            sent = str(data.get(f"{name}-rows", ""))
            count = min(int(sent), _MOST_ROWS) if sent.isdecimal() and len(sent) < 4 else count
        found = [form(data, prefix=f"{name}-{number}", label_suffix="", initial=initial) for number in range(count)]
        if more == name and count < _MOST_ROWS:
            found += [
                form(None, prefix=f"{name}-{number}", label_suffix="", initial=initial)
                for number in range(count, count + ROWS[name])
            ]
        return found

    def told(self, name: str) -> list[dict[str, str]]:
        """What was written in each row of readings (`measured`) or refrigerant (`weighed`)."""
        fields = {"measured": MEASURED, "weighed": WEIGHED}[name]
        return [{field: str(form[field].value() or "").strip() for field in fields} for form in getattr(self, name)]

    def refuse(self, faults: Mapping[str, str]) -> dict[str, str]:
        """Show what is wrong in each row; return what is about no row."""
        rest = {}
        for name, text in faults.items():
            kind, _, where = name.partition("-")
            number, _, field = where.partition("-")
            if kind in ROWS and number.isdecimal():
                form = getattr(self, kind)[int(number)]
                form.add_error(field if field in form.fields else None, sentence(text))
            else:
                rest[name] = text
        return rest

    @property
    def measured_told(self) -> bool:
        """Whether a reading was written, or is wrong."""
        return any(form["value"].value() or form["reading"].value() for form in self.measured)


# ------------------------------------------------------------------------------------------------- afterward


class ComponentForm(CarryingForm):
    """Which component failed, said once somebody has looked, and what was on file of it when this was seen."""

    component = forms.CharField(label="Which component failed?")

    def __init__(self, data: Any = None, *, choices: Choices | None = None) -> None:
        super().__init__(data, initial={"component": NOT_KNOWN_YET})
        if choices is not None:
            self.fields["component"].widget = forms.Select(choices=component_choices(choices))
        self.fields["was_component"] = forms.CharField(required=False, widget=forms.HiddenInput)


class OldPartForm(LineForm):
    """Where the old part is now, and where it was when this was seen."""

    use_required_attribute = False
    old_part_at = _chosen("The old part is", _one_of(OLD_PART_PLACES, "not known"))
    was = forms.CharField(required=False, widget=forms.HiddenInput)

    def edit(self) -> Edit:
        """Where the old part was when the form was shown, and where it is to be; Refused where that cannot be read."""
        if not self.is_valid():
            raise Refused("Where the old part is cannot be read. Choose it again.", "old_part_at")
        return Edit(str(self.cleaned_data["was"]), str(self.cleaned_data["old_part_at"]))


class VoidForm(ActionForm):
    """Why a failure counts no more."""

    reason = forms.CharField(
        max_length=300,
        label="Why you are voiding it",
        error_messages={"required": "Say why you are voiding it."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
