"""What the lists of terms are asked for, and what is said when terms were checked again."""

from collections.abc import Iterable
from typing import Any

from django import forms

from fleet.coverage.pages import terms as pages
from fleet.elements.list_form import ListForm, search_field
from fleet.rules import words
from fleet.rules.registration import State


class TermsListForm(ListForm):
    """Whose terms, and where they stand."""

    payer = forms.ChoiceField(required=False, choices=[("", "any"), *((name, name) for name in words.PAYERS)])
    maker = forms.ChoiceField(required=False)
    standing = forms.ChoiceField(required=False, choices=[("", "any"), *((name, name) for name in pages.STANDINGS)])
    text = search_field("Title, code or maker has")

    field_order = ["payer", "maker", "standing", "text", "sort", "page"]

    def __init__(self, data: Any, *, makers: Iterable[str]) -> None:
        super().__init__(data, columns=pages.COLUMNS)
        self.choose("maker", makers)


class TermsUnitsForm(ListForm):
    """Which units that hold some terms."""

    registration = forms.ChoiceField(
        required=False, choices=[("", "any"), *((state.value, state.value) for state in State)]
    )
    text = search_field("Serial, model, site or customer has")

    field_order = ["registration", "text", "sort", "page"]

    def __init__(self, data: Any) -> None:
        super().__init__(data, columns=pages.UNIT_COLUMNS)


class TermsCheckedForm(forms.Form):
    """What was seen when the terms were held against the paper again."""

    note = forms.CharField(required=False, max_length=300, label="What you saw (may stay blank)", label_suffix="")
