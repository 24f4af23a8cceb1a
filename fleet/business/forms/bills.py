"""A bill sent, a payment, added heads, and what an early end gives back."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput
from fleet.elements.money_field import MoneyField

_DAY = {"required": "Enter a day."}


def _amount(label: str = "Amount ($)", *, least: Decimal | None = Decimal("0.01"), **named: Any) -> MoneyField:
    return MoneyField(least=least, label=label, **named)


def _line(label: str, **named: Any) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.TextInput(attrs={"autocomplete": "off"}), **named)


class SendForm(ActionForm):
    """When a planned bill was sent, by which number, and for how much."""

    billed_on = forms.DateField(widget=DayInput, label="Sent on", error_messages=_DAY)
    number = _line("Bill number", max_length=60)
    amount = _amount(help_text="From now on this amount stays, whatever changes later.")

    def __init__(self, data: Any = None, **named: Any) -> None:
        super().__init__(data, auto_id="bill_%s", **named)


class PayForm(ActionForm):
    """Money that came in for a bill."""

    paid_on = forms.DateField(widget=DayInput, label="Paid on", error_messages=_DAY)
    amount = _amount()
    note = _line("Note", max_length=120, help_text="A check number, for example.")

    def __init__(self, data: Any = None, **named: Any) -> None:
        super().__init__(data, auto_id="pay_%s", **named)


class HeadsForm(ActionForm):
    """Heads put in on a day: billed for the days left, or not."""

    on = forms.DateField()
    taken = forms.ChoiceField(choices=[("yes", "yes"), ("no", "no")], required=False)


class RefundForm(ActionForm):
    """Which way of giving back, or another amount and why."""

    way = forms.ChoiceField(label="Give back", error_messages={"required": "Choose one."}, widget=forms.RadioSelect)
    amount = _amount(
        "Another amount ($)", least=None, required=False, help_text="A minus in front if they still owe it."
    )
    why = _line("Reason for another amount", max_length=300)

    def __init__(self, data: Any = None, *, ways: Sequence[tuple[str, str]]) -> None:
        super().__init__(data, auto_id="refund_%s")
        field = self.fields["way"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = list(ways)

    def clean(self) -> dict[str, Any]:
        """See that another amount is written where that was chosen."""
        cleaned = super().clean() or {}
        if cleaned.get("way") == "another" and cleaned.get("amount") is None and "amount" not in self.errors:
            self.add_error("amount", "Enter an amount.")
        return cleaned
