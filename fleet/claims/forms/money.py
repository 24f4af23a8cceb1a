"""Of which period the money is asked for."""

import datetime as dt
from typing import Any

from django import forms

from fleet.rules.dates import add_months


class MoneyForm(forms.Form):
    """The first and the last day; the year up to today where none is given, or none that can be read."""

    since = forms.DateField(required=False, label="Failures from", widget=forms.DateInput(attrs={"type": "date"}))
    until = forms.DateField(required=False, label="to", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, data: Any, *, on: dt.date) -> None:
        self._usual = {"since": add_months(on, -12), "until": on}
        sent = {name: data[name] if data.get(name) else day for name, day in self._usual.items()}
        super().__init__(sent if set(data) & set(self._usual) else None, label_suffix="", initial=self._usual)

    def clean(self) -> dict[str, Any]:
        """Refuse a period that ends before it begins."""
        asked = super().clean() or {}
        if asked.get("since") and asked.get("until") and asked["until"] < asked["since"]:
            self.add_error("until", "The last day is before the first.")
        return asked

    @property
    def days(self) -> tuple[dt.date, dt.date]:
        """The first and the last day."""
        if not self.is_valid():
            return self._usual["since"], self._usual["until"]
        return self.cleaned_data["since"], self.cleaned_data["until"]
