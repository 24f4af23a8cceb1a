"""Whether what was made of addresses, customers, facts and serials of a file is right."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.actions.import_answers import Confirmed, Twin
from fleet.office.forms.folded import Folded
from fleet.office.pages import import_steps as pages
from fleet.rules import words
from fleet.rules.spreadsheets import places
from fleet.rules.spreadsheets.places import Address

DIFFERENT = "-"
_PARTS = {"street": ("Street", 200), "city": ("City", 120), "region": ("State", 40), "postcode": ("ZIP code", 20)}


class ConfirmForm(ActionForm):
    """Addresses taken apart, customers that may be one, facts that differ, and serials that are alike."""

    def __init__(self, data: Any = None, *, page: pages.ConfirmPage) -> None:
        super().__init__(data)
        self._page = page
        for number, address in enumerate(page.unsure):
            for part, (label, most) in _PARTS.items():
                self.fields[f"address_{number}_{part}"] = forms.CharField(
                    required=False,
                    label=label,
                    max_length=most,
                    initial=pages.shown(part, getattr(address, part)),
                    widget=forms.TextInput(attrs={"autocomplete": "off"}),
                )
        for name, many in (("name", page.names), ("fact", page.facts)):
            for number, one in enumerate(many):
                choices = [
                    (
                        value.value,
                        f"{value.words} (row {value.row:,}{f', {value.count:,} in all' if value.count > 1 else ''})",
                    )
                    for value in one.values
                ]
                if name == "name":
                    choices.append((DIFFERENT, "They are different customers"))
                self._ask(
                    f"{name}_{number}", one.title or "Same customer, under this name", choices, one.answer or DIFFERENT
                )
        for number, whose in enumerate(page.whose):
            self._ask(f"whose_{number}", whose.title, list(whose.choices), whose.answer)
        for number, twins in enumerate(page.twins):
            self._ask(f"twin_{number}", "What are they?", list(twins.choices), twins.answer)
            for unit in twins.units:
                if unit.row:
                    self.fields[f"serial_{number}_{unit.row}"] = forms.CharField(
                        required=False,
                        label=f"Serial in row {unit.row:,}",
                        max_length=120,
                        initial=unit.serial,
                        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
                    )

    def _ask(self, name: str, label: str, choices: list[tuple[str, str]], initial: str) -> None:
        self.fields[name] = forms.ChoiceField(
            label=label,
            choices=choices,
            widget=forms.RadioSelect,
            initial=initial,
            error_messages={"required": "Choose one of these."},
        )

    @property
    def addresses(self) -> Folded:
        """Each address that only its words take apart, with a field for each part."""
        return Folded.of(
            (address, [self[f"address_{number}_{part}"] for part in _PARTS])
            for number, address in enumerate(self._page.unsure)
        )

    @property
    def names(self) -> list[forms.BoundField]:
        """Names that may be of one customer."""
        return [self[f"name_{number}"] for number in range(len(self._page.names))]

    @property
    def whose(self) -> Folded:
        """Names on file at a street that is none of theirs, and new names at several streets."""
        return Folded.of(self[f"whose_{number}"] for number in range(len(self._page.whose)))

    @property
    def facts(self) -> Folded:
        """Facts that rows of one house say differently."""
        return Folded.of(self[f"fact_{number}"] for number in range(len(self._page.facts)))

    @property
    def twins(
        self,
    ) -> Iterator[tuple[pages.Twins, forms.BoundField, list[tuple[pages.Beside, forms.BoundField | None]]]]:
        """Units side by side, each of the file with a field for its serial."""
        for number, twins in enumerate(self._page.twins):
            beside = [(unit, self[f"serial_{number}_{unit.row}"] if unit.row else None) for unit in twins.units]
            yield twins, self[f"twin_{number}"], beside

    def clean(self) -> dict[str, Any]:
        """Have each state and ZIP code be one, and units that are different have serials that differ."""
        for number, address in enumerate(self._page.unsure):
            self._clean_address(number, address)
        for number, twins in enumerate(self._page.twins):
            plates = [words.key(serial) for serial in self._serials(number, twins).values()]
            is_as_they_are = self.cleaned_data.get(f"twin_{number}") == "as they are"
            if not all(plates):
                self.add_error(f"twin_{number}", "Each of these needs a serial.")
            elif is_as_they_are and twins.must_differ and len(set(plates)) < len(plates):
                self.add_error(
                    f"twin_{number}", "Two units cannot have the same serial. Correct the one that is wrong."
                )
        return self.cleaned_data

    def _clean_address(self, number: int, address: pages.AddressAsked) -> None:
        cleaned = self.cleaned_data
        state = cleaned.get(f"address_{number}_region", "").strip()
        region = places.region(state) if state else ""
        if region is None:
            self.add_error(f"address_{number}_region", "Enter a state, such as Maine or ME.")
            return
        code = cleaned.get(f"address_{number}_postcode", "").strip()
        postcode = places.postcode(code, region) if code else ""
        if postcode is None:
            self.add_error(f"address_{number}_postcode", "Enter a ZIP code, such as 04101.")
            return
        cleaned[f"address_{number}"] = Address(
            cleaned[f"address_{number}_street"].strip(), cleaned[f"address_{number}_city"].strip(), region, postcode
        )

    def _serials(self, number: int, twins: pages.Twins) -> Mapping[int, str]:
        return {
            unit.row: self.cleaned_data.get(f"serial_{number}_{unit.row}", "").strip()
            for unit in twins.units
            if unit.row
        }

    def said(self) -> Confirmed:
        """All of it."""
        cleaned = self.cleaned_data
        names = {one.key: cleaned[f"name_{number}"] for number, one in enumerate(self._page.names)}
        return Confirmed(
            addresses={one.text: cleaned[f"address_{number}"] for number, one in enumerate(self._page.unsure)},
            names={key: "" if name == DIFFERENT else name for key, name in names.items()},
            whose={one.key: cleaned[f"whose_{number}"] for number, one in enumerate(self._page.whose)},
            facts={one.key: cleaned[f"fact_{number}"] for number, one in enumerate(self._page.facts)},
            twins={
                one.key: Twin(cleaned[f"twin_{number}"], self._serials(number, one))
                for number, one in enumerate(self._page.twins)
            },
            keys=frozenset((self._page.addresses_key,)),
        )
