"""What we promised, and how a promise ends."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput
from fleet.elements.carried import CarriedForm
from fleet.elements.money_field import MoneyField

_DAY = {"required": "Enter a day."}


def _amount(label: str, help_text: str) -> MoneyField:
    return MoneyField(required=False, label=label, help_text=help_text)


class PromiseForm(CarriedForm):
    """What was promised to whom, until when; each field carries what it showed."""

    words = forms.CharField(
        max_length=5000,
        label="What we promise",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Enter what is promised."},
    )
    conditions = forms.CharField(
        required=False,
        max_length=5000,
        label="Conditions",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What has to be so for it to hold; blank if nothing.",
    )
    system_id = forms.TypedChoiceField(
        required=False, coerce=int, empty_value=None, label="System", help_text="Blank: the whole site."
    )
    made_by = forms.CharField(max_length=120, label="Made by", error_messages={"required": "Enter who made it."})
    made_on = forms.DateField(widget=DayInput, label="Made on", error_messages=_DAY)
    until = forms.DateField(widget=DayInput, label="Last day", error_messages=_DAY)
    cost_at_most = _amount("Most it could cost us ($)", "Blank if you do not know. It is not on the customer’s paper.")

    def __init__(
        self, data: Any = None, *, systems: Sequence[tuple[int, str]], shown: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(data, shown=shown, auto_id="promise_%s")
        for name in ("system_id", "was_system_id"):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", "the whole site"), *systems]


class CallForm(ActionForm):
    """That a promise was called on: when, what was done, and what it cost."""

    day = forms.DateField(widget=DayInput, label="Called on", error_messages=_DAY)
    what = forms.CharField(
        max_length=500, label="What was done", required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    cost = _amount("What it cost us ($)", "Blank if you do not know yet.")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="call_%s")


class ReleaseForm(ActionForm):
    """That the customer released us from a promise: when and why."""

    day = forms.DateField(widget=DayInput, label="Released on", error_messages=_DAY)
    why = forms.CharField(
        max_length=300, label="Reason", required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="release_%s")
