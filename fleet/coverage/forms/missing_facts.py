"""The forms that stand in each row of the list of missing information."""

from typing import Any

from django import forms

from fleet.coverage.pages import missing_facts as pages
from fleet.elements.action_form import ActionForm, LineForm
from fleet.elements.questions import AskingForm
from fleet.models.words import choices
from fleet.registry.facts.labels import said
from fleet.registry.forms.facts import state_of
from fleet.rules.missing_facts import FACTS


class FillForm(AskingForm, ActionForm):
    """One fact of one unit or site: the input that fits it, and for maintenance who did it."""

    value = forms.CharField(max_length=200, error_messages={"required": "Enter a value."})

    def __init__(self, ask: pages.Ask, data: Any = None) -> None:
        whose = f"s{ask.site}" if ask.site is not None else f"u{ask.unit}"
        super().__init__(data, auto_id=f"{ask.fact}_{whose}_%s")
        self.ask = ask
        field = self.fields["value"]
        field.label = ask.title
        if ask.choices:
            shown = [("", "not known"), *((choice, said(ask.fact, choice)) for choice in ask.choices)]
            self.fields["value"] = forms.ChoiceField(
                label=ask.title, choices=shown, error_messages={"required": "Enter a value."}
            )
        elif ask.is_day:
            field.widget = forms.DateInput(attrs={"type": "date"})
        else:
            field.widget = forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "size": "14"})
            if ask.fact == "region":
                field.widget.attrs |= {"placeholder": "Kentucky or KY", "autocapitalize": "words"}
        if ask.fact == "maintenance":
            self.fields["who"] = forms.CharField(
                max_length=120,
                label="Who did it",
                widget=forms.TextInput(attrs={"size": "12"}),
                error_messages={"required": "Enter who did it."},
            )

    def clean_value(self) -> str:
        """What was entered; a state by its name or its letters, as its code."""
        value = str(self.cleaned_data["value"])
        return state_of(value) if self.ask.fact == "region" else value

    def field_of(self, fact: str) -> str:
        """Whatever the fact, its value stands in one field, and what is wrong with it beside that."""
        del fact
        return "value"

    @property
    def why(self) -> str:
        """The id of the field beside it that says why nobody can know it."""
        return str(self.auto_id) % "why"

    @property
    def faults(self) -> list[str]:
        """What is wrong with it, in words."""
        return [str(text) for texts in self.errors.values() for text in texts]


class WhichForm(forms.Form):
    """Which fact a row's form is about."""

    fact = forms.ChoiceField(choices=choices(FACTS))
    unit = forms.IntegerField(min_value=1)
    site = forms.IntegerField(min_value=1, required=False)


class SetAsideForm(LineForm):
    """Why nobody can know a fact any more, if somebody says so."""

    note = forms.CharField(
        required=False,
        max_length=300,
        error_messages={"max_length": "Why it cannot be known has room for 300 letters."},
    )
