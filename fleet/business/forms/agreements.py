"""What was agreed with a customer, and how an agreement ends."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput
from fleet.elements.carried import CarriedForm
from fleet.rules import agreements
from fleet.rules.wording.agreements import BILLING, RENEWS

_RENEWS = {name: words.removeprefix("it ").capitalize() for name, words in RENEWS.items()}
_NUMBER = {"required": "A number is wanted."}


def _money(label: str, *, required: bool = True, help_text: str = "") -> forms.DecimalField:
    return forms.DecimalField(
        min_value=Decimal(0),
        max_digits=10,
        decimal_places=2,
        required=required,
        label=label,
        help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        error_messages=_NUMBER,
    )


def _percent(label: str, most: int) -> forms.DecimalField:
    return forms.DecimalField(
        min_value=Decimal(0),
        max_value=Decimal(most),
        decimal_places=4,
        required=False,
        label=label,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )


class AgreementForm(CarriedForm):
    """What was agreed; each field carries what it showed."""

    reference = forms.CharField(
        required=False, max_length=120, help_text="As it stands on the paper; blank if it has none."
    )
    start_on = forms.DateField(widget=DayInput, label="Begins on", error_messages={"required": "A day is wanted."})
    months = forms.IntegerField(min_value=1, max_value=1200, label="Months of a term", error_messages=_NUMBER)
    visits_per_year = forms.IntegerField(min_value=1, max_value=365, label="Visits a year", error_messages=_NUMBER)
    first_head = _money("First head, a visit, in dollars")
    further_head = _money("Each further head", required=False, help_text="Blank: the same as the first.")
    discount_percent = _percent("Discount, in %", 100)
    rise_percent = _percent("Rises each year by, in %", 1000)
    billing = forms.ChoiceField(
        choices=[(name, BILLING[name].capitalize()) for name in agreements.BILLING], label="Bills"
    )
    renews = forms.ChoiceField(
        choices=[(name, _RENEWS[name]) for name in agreements.RENEWS], label="When a term is over"
    )
    notes = forms.CharField(required=False, max_length=5000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, data: Any = None, *, shown: Mapping[str, Any] | None = None) -> None:
        initial = {"months": 12, "visits_per_year": 1, "billing": "upfront", "renews": "by itself"} | dict(shown or {})
        super().__init__(data, shown=initial, auto_id="agreement_%s")

    def told(self) -> dict[str, Any]:
        """What is agreed, by field, with what a blank stands for."""
        facts = super().told()
        if facts["further_head"] is None:
            facts["further_head"] = facts["first_head"]
        return facts | {name: facts[name] or Decimal(0) for name in ("discount_percent", "rise_percent")}


class EndForm(ActionForm):
    """From which day nothing of it holds, and why."""

    day = forms.DateField(
        widget=DayInput, label="Nothing of it holds from", error_messages={"required": "A day is wanted."}
    )
    why = forms.CharField(max_length=300, label="Why", error_messages={"required": "A reason is wanted."})

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="end_%s")


class SeenForm(ActionForm):
    """How many terms were agreed when somebody pressed the button."""

    seen = forms.IntegerField(min_value=1)
