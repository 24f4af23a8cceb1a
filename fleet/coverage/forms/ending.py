"""What the list of coverage that ends is asked for."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms

from fleet.coverage.pages import ending
from fleet.elements.list_form import ListForm, search_field
from fleet.rules import words


class EndingForm(ListForm):
    """Within how many days, and whose, which and where."""

    days = forms.TypedChoiceField(
        coerce=int,
        empty_value=cast(Any, ending.DAYS[0]),
        required=False,
        label="Ends in the next",
        choices=[(days, f"{days} days") for days in ending.DAYS],
    )
    payer = forms.ChoiceField(required=False, choices=[("", "any"), *((name, name) for name in words.PAYERS)])
    kind = forms.ChoiceField(
        required=False, label="Pays for", choices=[("", "anything"), *((name, name) for name in words.KINDS)]
    )
    maker = forms.ChoiceField(required=False)
    text = search_field("Serial, model, site or customer has")

    field_order = ["days", "payer", "kind", "maker", "text", "sort", "page"]

    def __init__(self, data: Any, *, makers: Iterable[str]) -> None:
        super().__init__(data, columns=ending.COLUMNS)
        self.choose("maker", makers)
