"""What is recorded of the customer's share of a failure: a bill, a payment, and why one is undone."""

import datetime as dt
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput, why_field
from fleet.elements.money_field import MoneyField
from fleet.rules.wording import money as wording


def _amount() -> MoneyField:
    # How much may be recorded the action says.
    return MoneyField(
        least=None,
        max_digits=12,
        decimal_places=None,
        label="Amount, without sales tax",
        error_messages={"invalid": wording.AMOUNT_WANTED, "required": "Enter the amount."},
    )


class BillForm(ActionForm):
    """What the customer was billed."""

    billed_on = forms.DateField(label="Billed on", widget=DayInput, error_messages={"required": "Enter the day."})
    number = forms.CharField(required=False, max_length=60, label="Invoice number (optional)")
    amount = _amount()

    def __init__(self, data: Any = None, *, today: dt.date | None = None) -> None:
        super().__init__(data, initial={"billed_on": today}, auto_id="bill_%s")


class PaymentForm(ActionForm):
    """What the customer paid of a bill."""

    paid_on = forms.DateField(label="Paid on", widget=DayInput, error_messages={"required": "Enter the day."})
    amount = _amount()

    def __init__(self, bill: int, data: Any = None, *, today: dt.date | None = None, owed: Any = None) -> None:
        super().__init__(data, initial={"paid_on": today, "amount": owed}, auto_id=f"pay{bill}_%s")


class UndoShareForm(ActionForm):
    """Why a bill or a payment is undone."""

    why = why_field()

    def __init__(self, what: str, data: Any = None) -> None:
        super().__init__(data, auto_id=f"undo_{what}_%s")
