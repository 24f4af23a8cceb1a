"""What was agreed with a customer, and how an agreement ends."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput
from fleet.elements.carried import CarriedForm
from fleet.elements.money_field import MoneyField
from fleet.rules import agreements
from fleet.rules.wording.agreements import BILLING, RENEWS

_RENEWS = {name: words.removeprefix("it ").capitalize() for name, words in RENEWS.items()}
_NUMBER = {"required": "Enter a number."}


def _money(label: str, *, required: bool = True, help_text: str = "") -> MoneyField:
    return MoneyField(required=required, label=label, help_text=help_text)


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
        required=False, max_length=120, help_text="As on the paper; leave blank if it has none."
    )
    start_on = forms.DateField(widget=DayInput, label="First day", error_messages={"required": "Enter a day."})
    months = forms.IntegerField(min_value=1, max_value=1200, label="Months in a term", error_messages=_NUMBER)
    visits_per_year = forms.IntegerField(min_value=1, max_value=365, label="Visits a year", error_messages=_NUMBER)
    first_head = _money("First head, per visit ($)")
    further_head = _money(
        "Each further head, per visit ($)", required=False, help_text="Blank: same as the first head."
    )
    discount_percent = _percent("Discount (%)", 100)
    rise_percent = _percent("Yearly price rise (%)", 1000)
    billing = forms.ChoiceField(
        choices=[(name, BILLING[name].capitalize()) for name in agreements.BILLING], label="Billing"
    )
    renews = forms.ChoiceField(
        choices=[(name, _RENEWS[name]) for name in agreements.RENEWS], label="At the end of a term"
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


class TemplateForm(AgreementForm):
    """Terms by a name, from which a new agreement starts."""

    name = forms.CharField(max_length=80, error_messages={"required": "Enter a name."})
    reference = start_on = notes = None  # type: ignore[assignment]  # each agreement's own
    field_order = ("name",)


class EndForm(ActionForm):
    """The first day without it, and why."""

    day = forms.DateField(widget=DayInput, label="First day without it", error_messages={"required": "Enter a day."})
    why = forms.CharField(max_length=300, label="Reason", error_messages={"required": "Enter a reason."})

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="end_%s")


class SeenForm(ActionForm):
    """How many terms were agreed when somebody pressed the button."""

    seen = forms.IntegerField(min_value=1)
