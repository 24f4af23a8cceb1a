"""The house of a caller, asked for where none is on file yet."""

from typing import Any

from django import forms

from fleet.calls.actions.houses import FIELDS
from fleet.elements.action_form import ActionForm
from fleet.registry.forms.addresses import AddressForm, street_field
from fleet.registry.forms.facts import state_of
from fleet.registry.forms.whose import WhoseForm, whose_field
from fleet.registry.pages.namesakes import Namesake
from fleet.registry.queries import addresses, namesakes
from fleet.rules import words


def _text(label: str, **attrs: str) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.TextInput(attrs={"autocomplete": "off", **attrs}))


class HouseForm(WhoseForm, AddressForm, ActionForm):
    """A house to be put on file with a call: whose it is, and its address, of which one line is enough."""

    street = street_field()
    city = _text("City")
    region = _text("State", autocapitalize="words")
    postcode = _text("ZIP code", inputmode="numeric")
    customer = _text("Customer, if it is not the caller")
    whose = whose_field("Which customer is it?")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, initial={"region": addresses.own_state()})

    @property
    def is_told(self) -> bool:
        """Whether anything was written of a house; the state alone is filled in beforehand."""
        return any(str(self[name].value() or "").strip() for name in ("street", "city", "postcode", "customer"))

    @property
    def parts_told(self) -> bool:
        """Whether any part of the address stands by itself or is wrong, or another customer is named, so that those fields are open."""
        names = ("city", "region", "postcode", "customer")
        return any(self.errors.get(name) for name in names) or any(
            str(self[name].value() or "").strip() for name in names if name != "region"
        )

    def is_ready(self, caller: str) -> bool:
        """Whether the house can be put on file: its address was looked at in its parts, and it is clear whose it is."""
        if not self.is_valid() or self.takes_apart():
            return False
        name = self._name(caller)
        known = namesakes.of_name(name) if name else ()
        self.offer_customers(name, known)
        if known and self.owner(known) is None:
            self.add_error("whose", f"{name} is on file already. Choose which customer this is.")
            return False
        return True

    def owner(self, known: tuple[Namesake, ...]) -> int | None:
        """The key of the customer that was chosen, or of the only one of the name who has this street; None: not clear."""
        if self.chosen is not None:
            return self.chosen
        street = words.key(self.cleaned_data.get("street", ""))
        there = [one.pk for one in known if street and street in map(words.key, one.streets)]
        return there[0] if len(there) == 1 else None

    def _name(self, caller: str) -> str:
        return (self.cleaned_data.get("customer") or caller).strip()

    def told(self, caller: str, phone: str) -> dict[str, Any]:
        """What was written of the house, and the key of its customer (`owner`), as the action takes them."""
        told = {name: self.cleaned_data.get(name, "") for name in FIELDS if name != "phone"}
        told |= {"customer": self._name(caller), "phone": phone, "region": state_of(told["region"])}
        return {"told": told, "owner": self.owner(namesakes.of_name(told["customer"]))}
