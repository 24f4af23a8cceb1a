"""What a payer said of a unit, and how a difference was settled."""

import datetime as dt
from typing import Any

from django import forms

from fleet.coverage.pages import payers as pages
from fleet.elements.action_form import A_DAY, ActionForm, DayInput
from fleet.models.words import choices
from fleet.rules import words


def _day_field(label: str, *, required: bool) -> forms.DateField:
    return forms.DateField(
        required=required,
        label=label,
        widget=DayInput(),
        error_messages={"invalid": A_DAY, "required": "Enter the day."},
    )


class SaidForm(ActionForm):
    """One thing that a payer said."""

    said_on = _day_field("Day they said it", required=True)
    who = forms.CharField(
        max_length=200, label="Who you spoke with", error_messages={"required": "Enter who you spoke with."}
    )
    terms = forms.TypedChoiceField(coerce=int, label="Under which terms")
    kind = forms.ChoiceField(label="Kind of cost", choices=choices(words.KINDS))
    component = forms.ChoiceField(
        required=False, label="Component", choices=[("", "any other component"), *choices(words.COMPONENTS)]
    )
    covered = forms.TypedChoiceField(
        coerce=lambda text: text == "yes",
        label="They say",
        choices=[("", "choose"), ("yes", "covered"), ("no", "not covered")],
        error_messages={"required": "Choose covered or not covered."},
    )
    last_on = _day_field("Last day they gave (optional)", required=False)
    note = forms.CharField(max_length=300, required=False, label="Note (optional)")

    def __init__(self, page: pages.UnitWords, data: Any = None, *, today: dt.date) -> None:
        super().__init__(data, auto_id="payer_%s", initial={"said_on": today})
        self.today = today
        terms = self.fields["terms"]
        assert isinstance(terms, forms.ChoiceField)
        terms.choices = list(page.terms)

    def clean_said_on(self) -> dt.date:
        """Nobody said anything after today."""
        day: dt.date = self.cleaned_data["said_on"]
        if day > self.today:
            raise forms.ValidationError("Enter a day no later than today.")
        return day

    def clean(self) -> dict[str, Any]:
        """A last day goes with what is covered."""
        values = super().clean() or self.cleaned_data
        if values.get("last_on") and values.get("covered") is False:
            self.add_error("last_on", "Leave the last day blank if it is not covered.")
        return values


class SettleForm(ActionForm):
    """How a difference was settled."""

    how = forms.CharField(
        max_length=300, label="How it was settled", error_messages={"required": "Enter how it was settled."}
    )
