"""Since which day the money is asked for."""

import datetime as dt
from typing import Any

from django import forms

from fleet.rules.dates import add_months


class MoneyForm(forms.Form):
    """The day; a year before today where none is given, or none that can be read."""

    since = forms.DateField(required=False, label="Failures since", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, data: Any, *, on: dt.date) -> None:
        self._usual = add_months(on, -12)
        super().__init__(data if "since" in data else None, label_suffix="", initial={"since": self._usual})

    def day(self) -> dt.date:
        """The day asked for, or the usual one."""
        return (self.cleaned_data.get("since") if self.is_valid() else None) or self._usual
