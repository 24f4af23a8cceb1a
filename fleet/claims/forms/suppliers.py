"""A supplier, with the clocks and the fee of its own."""

from collections.abc import Mapping
from typing import Any

from django import forms

from fleet.elements.carried import CarriedForm
from fleet.elements.money_field import MoneyField
from fleet.rules import terms

_YES_NO = [("", "as the payer's terms say"), ("yes", "yes"), ("no", "no")]
_FROM = {
    "failed_on": "the day it failed",
    "repaired_on": "the day it was repaired",
    "part_taken_on": "the day the new part was picked up",
}


def _from(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, _FROM[name]) for name in names]


class SupplierForm(CarriedForm):
    """Each field carries what it showed, so that nobody's change is written over unseen."""

    name = forms.CharField(max_length=200, error_messages={"required": "Enter the supplier’s name."})
    phone = forms.CharField(required=False, max_length=60)
    email = forms.EmailField(required=False, label="E-mail")
    form_before_part = forms.TypedChoiceField(
        required=False,
        choices=_YES_NO,
        coerce=lambda text: text == "yes",
        empty_value=None,
        label="Claim form before the new part is picked up",
    )
    file_within_days = forms.IntegerField(required=False, min_value=0, max_value=3650, label="File within, days")
    file_counted_from = forms.ChoiceField(
        required=False, choices=_from(terms.FILE_FROM), label="Days to file count from"
    )
    part_back_within_days = forms.IntegerField(
        required=False, min_value=0, max_value=3650, label="Return the old part within, days"
    )
    part_back_counted_from = forms.ChoiceField(
        required=False, choices=_from(terms.PART_BACK_FROM), label="Days to return it count from"
    )
    old_part = forms.ChoiceField(
        required=False,
        label="The old part",
        choices=[("", "as the payer's terms say"), *((word, word) for word in terms.OLD_PART)],
    )
    fee = MoneyField(required=False, max_digits=8, label="Fee for each claim, in dollars")

    def __init__(self, data: Any = None, *, shown: Mapping[str, Any] | None = None) -> None:
        found = dict(shown or {})
        before = found.get("form_before_part")
        found["form_before_part"] = "" if before is None else "yes" if before else "no"
        super().__init__(data, shown=found, auto_id="supplier_%s")
