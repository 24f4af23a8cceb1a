"""Forms that carry what each field showed, so that nobody's change is written over unseen.

A field that is carried has a hidden twin, `was_…`. What differs from it is what somebody changed; where the fact on file
differs from it too, somebody else changed it meanwhile, and the action raises a Conflict.
"""

from collections.abc import Mapping
from typing import Any, cast

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.elements.edits import Edit

WAS = "was_"


class CarryingForm(ActionForm):
    """A form of which some fields are carried: those that `carry` was called for."""

    def carry(self, name: str, value: Any = None) -> None:
        """Carry what a field shows, or this value where the field shows it in another way."""
        field = self.fields[name]
        self.fields[f"{WAS}{name}"] = _twin(field, self.get_initial_for_field(field, name) if value is None else value)

    def was(self) -> dict[str, Any]:
        """What each field that is carried showed when the form was opened."""
        self.is_valid()
        return {name.removeprefix(WAS): value for name, value in self.cleaned_data.items() if name.startswith(WAS)}

    def edits(self) -> dict[str, Edit]:
        """What each field that is carried showed and what it is to be, as text; a field that was not sent is left alone."""
        self.is_valid()
        names = [name.removeprefix(WAS) for name in self.fields if name.startswith(WAS)]
        return {
            name: Edit(self.text(f"{WAS}{name}"), self.text(name))
            for name in names
            if self.add_prefix(name) in self.data
        }

    def text(self, name: str) -> str:
        """What was written in a field, with the line ends that are on file in place of those that browsers send."""
        return str(self.cleaned_data.get(name) or "").replace("\r\n", "\n")

    @property
    def asked(self) -> list[forms.BoundField]:
        """The fields that are shown."""
        return [self[name] for name in self.fields if not name.startswith(WAS)]

    @property
    def carried(self) -> list[forms.BoundField]:
        """The fields that carry what was shown."""
        return [self[name] for name in self.fields if name.startswith(WAS)]


class CarriedForm(CarryingForm):
    """What is to be, beside what was seen: every field is carried, and its twin reads what it carries as the field does."""

    def __init__(
        self,
        data: Any = None,
        *,
        shown: Mapping[str, Any] | None = None,
        auto_id: str = "id_%s",
        more: Mapping[str, forms.Field] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(shown or {}), auto_id=auto_id)
        self.fields |= more or {}
        for name in list(self.fields):
            self.carry(name)

    def told(self) -> dict[str, Any]:
        """What each field is to be."""
        return {name: value for name, value in self.cleaned_data.items() if not name.startswith(WAS)}


def _twin(field: forms.Field, value: Any) -> forms.Field:
    """Make a hidden twin of a field; what is odd in what it carries is no fault."""
    options: dict[str, Any] = {"required": False, "initial": value, "widget": forms.HiddenInput()}
    match field:
        case forms.ModelChoiceField():
            options |= {"queryset": field.queryset}
        case forms.TypedChoiceField():
            options |= {"coerce": field.coerce, "empty_value": field.empty_value, "choices": field.choices}
        case forms.ChoiceField():
            options |= {"choices": cast(Any, field.choices)}
    twin = type(field)(**options)
    if isinstance(twin, forms.CharField):
        twin.strip = False  # set afterward, since a field of addresses sets it itself
    return twin
