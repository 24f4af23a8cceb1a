"""An entry of the refrigerant ledger, and the record of a start-up. What may stand in each field is said by the actions."""

from collections.abc import Mapping
from typing import Any

from django import forms

from fleet.care.actions.start_up import PLATE
from fleet.care.facts.start_up import MEASURED
from fleet.care.pages.refrigerant import LABELS
from fleet.elements.action_form import ActionForm, SureForm, sure_field
from fleet.elements.carried import CarryingForm
from fleet.elements.edits import Edit
from fleet.refusals import Refused
from fleet.rules import readings
from fleet.rules.readings import Move


def _widget(name: str) -> forms.Widget:
    if name == "on":
        return forms.DateInput(attrs={"type": "date"})
    if name == "move":
        words = {Move.ADDED: "added", Move.RECOVERED: "recovered", Move.CHARGED: "charged (first charge)"}
        return forms.Select(choices=[("", ""), *words.items()])
    attrs = {"autocomplete": "off"}
    if name == "ounces":
        attrs["inputmode"] = "decimal"
    return forms.TextInput(attrs=attrs)


class EntryForm(SureForm, CarryingForm):
    """One entry; on file, each field carries what it showed."""

    def __init__(self, data: Any = None, *, shown: Mapping[str, str], on_file: bool = False) -> None:
        super().__init__(data, initial=dict(shown), auto_id="entry_%s")
        for name, title in LABELS.items():
            self.fields[name] = forms.CharField(required=False, label=title, widget=_widget(name))
        self.fields["sure"] = sure_field()
        self.show_if_sure()
        self.names = tuple(LABELS)
        if on_file:
            for name in LABELS:
                self.carry(name, shown.get(name, ""))
            self.fields["why"] = forms.CharField(
                required=False, max_length=300, label="Reason for the correction (optional)"
            )

    @property
    def asked(self) -> list[forms.BoundField]:
        """The fields that are shown."""
        return [field for field in super().asked if not field.is_hidden]

    def refuse(self, refused: Refused) -> None:
        """Show what is asked at the box by which somebody says that it is right."""
        if "sure" in refused.faults:
            self.show_sure()
        super().refuse(refused)

    @property
    def is_sure(self) -> bool:
        """Whether somebody says that an improbable entry is right."""
        self.is_valid()
        return bool(self.cleaned_data.get("sure"))

    def told(self) -> dict[str, str]:
        """What was written, by field."""
        self.is_valid()
        return {name: str(self.cleaned_data.get(name, "")) for name in self.names}


class OffForm(ActionForm):
    """Why an entry is taken off."""

    why = forms.CharField(
        max_length=300,
        label="Reason for removing it",
        error_messages={"required": "Say why it is removed."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def _slug(name: str) -> str:
    return name.replace(" ", "_")


class StartUpForm(CarryingForm):
    """What was measured at start-up: each value with its measure, and what it showed."""

    day = forms.CharField(required=False, label="Started on", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, data: Any = None, *, was: Mapping[str, str], day: str = "") -> None:
        super().__init__(data, initial={"day": day}, auto_id="start_%s")
        for name in MEASURED:
            value, _, measure = was.get(name, "").partition(" ")
            measures = [(one.unit, one.unit) for one in readings.READINGS[name]]
            title = f"{name[:1].upper()}{name[1:]}"
            self._add(_slug(name), title if len(measures) > 1 else f"{title}, in {measures[0][0]}", value)
            self.fields[f"measure_{_slug(name)}"] = forms.CharField(
                required=False,
                initial=measure or measures[0][0],
                label=f"{title}: measured in",
                widget=forms.Select(choices=measures) if len(measures) > 1 else forms.HiddenInput(),
            )
            self.carry(_slug(name), was.get(name, ""))
        self._add(PLATE, "Plate charge, in ounces", was.get(PLATE, ""))
        self.carry(PLATE, was.get(PLATE, ""))

    def _add(self, name: str, title: str, value: str) -> None:
        self.fields[name] = forms.CharField(
            required=False,
            label=title,
            initial=value,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        )

    def edits(self) -> dict[str, Edit]:
        """What each reading and the plate showed, and what it is to be."""
        edits = super().edits()
        measured = {name: (slug, edits.pop(slug)) for name in MEASURED if (slug := _slug(name)) in edits}
        return {name: self._measured(edit, slug) for name, (slug, edit) in measured.items()} | edits

    def _measured(self, edit: Edit, slug: str) -> Edit:
        """The same with the measure that was chosen, as a reading is kept."""
        value = edit.now.strip()
        return Edit(edit.was, f"{value} {self.text(f'measure_{slug}')}" if value else "")

    def field_of(self, fact: str) -> str:
        """A reading's name without blanks."""
        return _slug(fact)
