"""How far the year ahead looks, and what the list of offers is narrowed to."""

from django import forms

from fleet.business.pages import year as pages
from fleet.elements.list_form import ListForm, search_field


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


class OffersForm(ListForm):
    """Only where something is late, and whose or where."""

    late = forms.ChoiceField(required=False, label="Which", choices=[("", "all"), ("late", "with something late")])
    text = search_field("Customer, site or town has")

    field_order = ["late", "text", "sort", "page"]
