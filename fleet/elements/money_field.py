"""Sums of money in forms: `$1,412.50` is one, as everybody writes it. Columns of files keep their strict form."""

from decimal import Decimal
from typing import Any

from django import forms

from fleet.rules.wording.money import plain_amount

WANTED = "Enter an amount in dollars and cents, such as 1,412.50."


def money_input() -> forms.TextInput:
    """The input of an amount, for which a phone shows its digits."""
    return forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})


class MoneyField(forms.DecimalField):
    """An amount of dollars and cents, from nothing up unless `least` says otherwise."""

    def __init__(self, *, least: Decimal | None = Decimal(0), max_digits: int | None = 10, **named: Any) -> None:
        errors = {"required": "Enter an amount.", "invalid": WANTED} | (named.pop("error_messages", None) or {})
        options: dict[str, Any] = {"decimal_places": 2, "widget": money_input()} | named
        super().__init__(min_value=least, max_digits=max_digits, error_messages=errors, **options)

    def to_python(self, value: Any) -> Any:
        """The amount that was typed; None where none was."""
        return super().to_python(plain_amount(value) if isinstance(value, str) else value)


class MoneyTextField(forms.CharField):
    """An amount that stays text until its column reads it, as a file would have it."""

    def to_python(self, value: Any) -> str:
        """The amount as a plain number; what is none as it was typed."""
        return plain_amount(super().to_python(value) or "")
