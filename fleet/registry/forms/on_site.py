"""What somebody on site writes of a unit: one that was not on file, one that is not there, a serial."""

from collections.abc import Iterable
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, why_field
from fleet.elements.edits import Edit
from fleet.elements.questions import AskingForm
from fleet.registry.pages.new_install import Doubt
from fleet.registry.pages.reports import SystemChoice
from fleet.rules import words

NOBODY_KNOWS = "not known"
_PLATE = {"autocomplete": "off", "spellcheck": "false", "autocapitalize": "characters"}


def _text(label: str, **named: Any) -> forms.CharField:
    attrs = named.pop("attrs", {"autocomplete": "off"})
    return forms.CharField(
        **({"required": False, "max_length": 120} | named), label=label, widget=forms.TextInput(attrs=attrs)
    )


class _WithDoubt(AskingForm, ActionForm):
    """A form in which a serial may be on file already, or read like one that is: that is shown before anything is saved."""

    another_unit = forms.CharField(required=False, widget=forms.HiddenInput)
    doubt: Doubt | None = None

    def show(self, doubt: Doubt) -> bool:
        """Show what a serial reads like; return whether it stands in the way, as it does until its tick is set."""
        self.doubt = doubt
        ticked = bool(doubt.value) and self.data.get("another_unit") == doubt.value
        if not ticked:
            self.add_error("serial", doubt.text)
        return not ticked


class FoundForm(_WithDoubt):
    """A unit that stands here and is not on file: what can be read of it, and where it belongs as far as somebody knows."""

    serial = _text("Serial", attrs=_PLATE)
    room = _text("Room")
    role = forms.ChoiceField(
        label="What is it?",
        choices=[("", "choose"), *((word, word) for word in words.ROLES)],
        error_messages={"required": "Choose what it is."},
    )
    style = forms.ChoiceField(
        required=False, label="Style", choices=[("", "not known"), *((word, word) for word in words.STYLES)]
    )
    maker = _text("Manufacturer", attrs={"autocomplete": "off", "list": "makers"})
    model = _text("Model", attrs=_PLATE)
    system = forms.ChoiceField(
        label="System", widget=forms.RadioSelect, error_messages={"required": "Choose the system, or “do not know”."}
    )
    installed_by = forms.ChoiceField(
        required=False,
        label="Who installed it?",
        choices=[("", "do not know"), ("us", "we did"), ("another company", "another company")],
    )
    note = forms.CharField(
        required=False, max_length=400, label="Note for the office", widget=forms.Textarea(attrs={"rows": 2})
    )
    photo = forms.FileField(
        required=False,
        label="Photo of the nameplate",
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )

    def __init__(self, systems: Iterable[SystemChoice], data: Any = None, files: Any = None, **named: Any) -> None:
        super().__init__(data, files, **named)
        system = self.fields["system"]
        assert isinstance(system, forms.ChoiceField)
        system.choices = [*((str(one.pk), one.words) for one in systems), (NOBODY_KNOWS, "do not know")]

    def field_of(self, fact: str) -> str:
        """A unit's facts come back by the row of a new install, which has one here."""
        return fact.removeprefix("unit-0-")

    def cells(self) -> dict[str, str]:
        """What was written of the unit, as a new install has it."""
        names = ("serial", "room", "role", "style", "maker", "model", "installed_by")
        return {name: self.cleaned_data[name] for name in names}

    def system_chosen(self) -> int | None:
        """The system that was chosen; None where nobody knows."""
        chosen = self.cleaned_data["system"]
        return None if chosen == NOBODY_KNOWS else int(chosen)


class NotThereForm(ActionForm):
    """That a unit is not where it should be."""

    said = why_field("What you see there instead (optional)")


class SerialForm(_WithDoubt):
    """The serial as the plate has it, and what was on file when it was shown."""

    serial = _text("Serial on the nameplate", attrs=_PLATE | {"autofocus": True})
    was_serial = forms.CharField(required=False, widget=forms.HiddenInput)

    def edit(self) -> Edit:
        """What was on file, and what should be."""
        return Edit(self.cleaned_data["was_serial"], self.cleaned_data["serial"])


class SettleForm(ActionForm):
    """What the office did about a report."""

    how = why_field("What was done about it")
