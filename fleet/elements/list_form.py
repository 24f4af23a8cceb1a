"""What every list is asked for: a sort, a page, and the list's own filters."""

import datetime as dt
from collections.abc import Iterable
from typing import Any, cast

from django import forms

from fleet.elements.lists import Column


def search_field(label: str) -> forms.CharField:
    """Make a filter by any part of some texts."""
    widget = forms.TextInput(attrs={"type": "search", "autocomplete": "off", "spellcheck": "false"})
    return forms.CharField(required=False, max_length=100, label=label, widget=widget)


class ListForm(forms.Form):
    """The filters of one list, read from its address.

    What cannot be meant is said beside its field and left out, so that an old or broken link still shows a list.
    """

    sort = forms.CharField(required=False, max_length=40, label="Sort by")
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000, widget=forms.HiddenInput)

    def __init__(self, data: Any, *, columns: tuple[Column, ...]) -> None:
        super().__init__(data, label_suffix="")
        choices = [
            (f"{sign}{column.name}", f"{column.title}{words}")
            for column in columns
            if column.sorts
            for sign, words in (("", ""), ("-", ", falling"))
        ]
        self.fields["sort"].widget = forms.Select(choices=[("", "as usual"), *choices])

    def choose(self, name: str, choices: Iterable[str]) -> None:
        """Fill a field's choices with what is on file."""
        cast(forms.ChoiceField, self.fields[name]).choices = [("", "any"), *((choice, choice) for choice in choices)]

    def asked(self) -> dict[str, Any]:
        """Give what was asked for and can be meant, without the sort and the page."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if name not in ("sort", "page")}

    @property
    def sort_text(self) -> str:
        """The sort as the address writes it."""
        self.is_valid()
        return str(self.cleaned_data.get("sort", ""))

    @property
    def page_number(self) -> int:
        """The page asked for: the first where none is."""
        self.is_valid()
        return int(self.cleaned_data.get("page") or 1)


class DayInput(forms.DateInput):
    """A day as a browser's own picker gives it; what was typed stays as it was typed."""

    input_type = "date"

    def format_value(self, value: Any) -> str:
        """Write a day as the picker reads it."""
        return value.isoformat() if isinstance(value, dt.date) else str(value or "")
