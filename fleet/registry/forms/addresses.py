"""An address on a form: each part has a field, and the whole of it may be written in one line into the street's."""

from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.urls import reverse_lazy

from fleet.registry.queries import addresses

ASK = "Check the address: we split it into street, city, state and ZIP code. Save again if it is right."


def street_field(**attrs: Any) -> forms.CharField:
    """The field of the street, which takes the whole address: a script fills the other fields as it is left."""
    told = {"autocomplete": "off", "data-parts": reverse_lazy("address_parts"), **attrs}
    return forms.CharField(
        required=False,
        label="Street",
        help_text="Or the whole address in one line.",
        widget=forms.TextInput(attrs=told),
    )


class AddressForm(forms.Form):
    """A form with the fields `street`, `city`, `region` and `postcode`."""

    def takes_apart(self) -> bool:
        """Put a whole address that stands in the street's field into the fields of its parts, to be looked at; whether it did.

        Where the town or the ZIP code was written by itself, the street is what stands there.
        """
        data = cast(QueryDict, self.data)
        name = self.add_prefix
        if str(data.get(name("city"), "")).strip() or str(data.get(name("postcode"), "")).strip():
            return False
        parts = addresses.read(str(data.get(name("street"), "")))
        if parts is None:
            return False
        apart = data.copy()
        for part in ("street", "city", "region", "postcode"):
            apart[name(part)] = getattr(parts, part) or str(data.get(name(part), ""))
        self.data = apart
        self.full_clean()
        self.add_error("street", ASK)
        self.fields["street"].widget.attrs["autofocus"] = True  # whoever has read it over saves by Enter
        return True
