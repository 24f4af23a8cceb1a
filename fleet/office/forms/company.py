"""Who we are, our logo, and our account numbers with payers."""

import hashlib
from collections.abc import Mapping
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.elements.carried import CarriedForm
from fleet.rules.company import COUNTRIES, TIME_ZONES


def _line(label: str, most: int, *, help_text: str = "", **named: Any) -> forms.CharField:
    return forms.CharField(
        max_length=most,
        required=False,
        label=label,
        help_text=help_text,
        widget=forms.TextInput(attrs={"autocomplete": "off", **named}),
    )


class CompanyForm(CarriedForm):
    """Our name, where we are, how to reach us, and whose days we count."""

    name = _line("Company name", 120, help_text="It stands at the head of every letter, claim and sheet.")
    address = forms.CharField(
        max_length=300,
        required=False,
        label="Address",
        help_text="Up to four lines.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    phone = _line("Phone", 60, inputmode="tel")
    license_number = _line("License number", 80, help_text="As claims, letters and registrations give it.")
    country = forms.ChoiceField(label="Country", choices=list(COUNTRIES.items()))

    def __init__(self, data: Any = None, *, shown: Mapping[str, Any]) -> None:
        zone = forms.ChoiceField(
            label="Time zone", help_text="It decides which day is today.", choices=_zones(shown["time_zone"])
        )
        super().__init__(data, shown=shown, auto_id="company_%s", more={"time_zone": zone})


def _zones(current: str) -> list[tuple[str, str]]:
    """The zones to choose from; a server may have been set to another one, which stays among them."""
    more = {} if current in TIME_ZONES else {current: current.replace("_", " ")}
    return list((more | TIME_ZONES).items())


class LogoForm(ActionForm):
    """A picture to print at the head of papers."""

    logo = forms.FileField(
        label="Logo (JPEG, PNG or WebP, up to 5 MB)",
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        error_messages={"required": "Choose a picture first.", "empty": "The file is empty. Choose another one."},
    )

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, auto_id="logo_%s")


class AccountsForm(CarriedForm):
    """Our account number with each payer; and one more payer, by the name that its claims have."""

    def __init__(self, data: Any = None, *, shown: Mapping[str, str]) -> None:
        more: dict[str, forms.Field] = {name_of(payer): _line(payer, 80) for payer in shown}
        super().__init__(
            data, shown={name_of(payer): text for payer, text in shown.items()}, auto_id="account_%s", more=more
        )
        self._payer_of = {name_of(payer): payer for payer in shown}

    def field_of(self, fact: str) -> str:
        """A payer's field is named for it."""
        return name_of(fact)

    def accounts(self, told: Mapping[str, str]) -> dict[str, str]:
        """Account numbers by payer."""
        return {self._payer_of[name]: text for name, text in told.items()}


def name_of(payer: str) -> str:
    """The name of a payer's field.

    >>> name_of("Northrill") == name_of("NORTHRILL")
    True
    """
    return f"payer_{hashlib.sha256(payer.casefold().encode()).hexdigest()[:12]}"
