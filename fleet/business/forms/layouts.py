"""What is compared: over how many years, and up to four layouts; all of it stands in the address."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from fleet.elements.money_field import MoneyField
from fleet.rules import words
from fleet.rules.layouts import Comparison, Layout

MOST = 4
# How many are open at once; the others wait folded.
OPEN = 2
_EXAMPLE = {
    "years": "10",
    "a-name": "Six wall heads",
    "a-wall": "6",
    "a-outdoor_units": "1",
    "a-price": "21800.00",
    "b-name": "A pair of ducted heads",
    "b-ducted": "2",
    "b-outdoor_units": "1",
    "b-price": "19400.00",
}
_NUMBER = {"inputmode": "numeric", "autocomplete": "off"}


def _count(label: str, *, most: int = 100, least: int = 0) -> forms.IntegerField:
    return forms.IntegerField(
        required=False,
        min_value=least,
        max_value=most,
        label=label,
        widget=forms.NumberInput(attrs=_NUMBER),
        error_messages={"invalid": "Enter a whole number."},
    )


class LayoutForm(forms.Form):
    """One layout."""

    use_required_attribute = False
    name = forms.CharField(
        required=False, max_length=80, label="Name", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    wall = _count("Wall heads")
    floor = _count("Floor heads")
    cassette = _count("Cassettes")
    ducted = _count("Ducted heads")
    outdoor_units = _count("Outdoor units", least=1)
    price = MoneyField(required=False, max_digits=9, label="Installation price ($)")

    def clean(self) -> dict[str, Any]:
        """See that it has a name and a head, unless it was left blank."""
        cleaned = super().clean() or {}
        if self.blank or self.errors:
            return cleaned
        if not cleaned.get("name"):
            self.add_error("name", "Enter a name, to tell it from the others.")
        if not any(cleaned.get(style) for style in words.STYLES):
            self.add_error("wall", "Enter at least one head.")
        return cleaned

    @property
    def blank(self) -> bool:
        """Whether nobody wrote anything of it."""
        fields = ("name", *words.STYLES)
        return not any(str(self[name].value() or "").strip(" 0") for name in fields)

    def layout(self) -> Layout:
        """The layout that was written."""
        cleaned = self.cleaned_data
        return Layout(
            name=cleaned["name"],
            install_price=cleaned["price"] or Decimal("0.00"),
            heads=tuple((style, cleaned[style]) for style in words.STYLES if cleaned[style]),
            outdoor_units=cleaned["outdoor_units"] or 1,
        )


class LayoutsForm(forms.Form):
    """All that is compared; where nothing was asked, an example to be changed."""

    use_required_attribute = False
    years = forms.IntegerField(
        min_value=1, max_value=40, label="Years to compare", widget=forms.NumberInput(attrs=_NUMBER)
    )
    customer = forms.CharField(
        required=False,
        max_length=120,
        label="Customer, for the paper",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, data: Mapping[str, Any]) -> None:
        self.is_example = "years" not in data
        filled = _EXAMPLE if self.is_example else data
        super().__init__(filled, label_suffix="", auto_id="layouts_%s")
        self.layouts = [
            LayoutForm(filled, prefix=letter, label_suffix="", auto_id="layouts_%s") for letter in "abcd"[:MOST]
        ]

    @property
    def open(self) -> list[LayoutForm]:
        """Those that stand open."""
        return self.layouts[:OPEN]

    @property
    def folded(self) -> list[LayoutForm]:
        """Those that are folded while they are blank."""
        return self.layouts[OPEN:]

    @property
    def unfolded(self) -> bool:
        """Whether one of those was written."""
        return any(not one.blank for one in self.folded)

    def clean(self) -> dict[str, Any]:
        """See that there is something to compare, and that names differ."""
        cleaned = super().clean() or {}
        whole = [form.is_valid() for form in self.layouts]
        if not all(whole):
            self.add_error(None, "See the notes beside the fields.")
            return cleaned
        names: set[str] = set()
        for form in self.layouts:
            name = form.cleaned_data["name"].casefold()
            if name and name in names:
                form.add_error("name", "Another layout has this name. Give each its own.")
                self.add_error(None, "See the notes beside the fields.")
            names.add(name)
        if all(form.blank for form in self.layouts):
            self.add_error(None, "Enter at least one layout.")
        return cleaned

    def comparison(self) -> Comparison:
        """The comparison that was asked for: the years, and each layout that is not blank."""
        layouts = tuple(form.layout() for form in self.layouts if not form.blank)
        return Comparison(self.cleaned_data["years"], layouts)
