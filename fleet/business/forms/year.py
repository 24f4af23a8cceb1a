"""How far the year ahead looks."""

from django import forms

from fleet.business.pages import year as pages


class YearForm(forms.Form):
    """How many months ahead; what cannot be meant is the usual year."""

    ahead = forms.TypedChoiceField(
        required=False, coerce=int, choices=[(months, f"{months} months") for months in pages.CHOICES]
    )

    @property
    def months(self) -> int:
        """The months asked for."""
        self.is_valid()
        return int(self.cleaned_data.get("ahead") or pages.CHOICES[0])
