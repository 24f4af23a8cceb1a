"""Forms that carry what each field showed, so that nobody's change is written over unseen."""

from collections.abc import Mapping
from typing import Any, cast

from django import forms

from fleet.elements.action_form import ActionForm


class CarriedForm(ActionForm):
    """What is to be, beside what was seen; each field has a hidden twin that reads what it carries as the field does."""

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
            self.fields[f"was_{name}"] = _twin(self.fields[name], self.get_initial_for_field(self.fields[name], name))

    def told(self) -> dict[str, Any]:
        """What each field is to be."""
        return {name: value for name, value in self.cleaned_data.items() if not name.startswith("was_")}

    def was(self) -> dict[str, Any]:
        """What each field showed when the form was opened."""
        return {
            name.removeprefix("was_"): value for name, value in self.cleaned_data.items() if name.startswith("was_")
        }

    @property
    def asked(self) -> list[Any]:
        """The fields that are shown."""
        return [self[name] for name in self.fields if not name.startswith("was_")]

    @property
    def carried(self) -> list[Any]:
        """The fields that carry what was shown."""
        return [self[name] for name in self.fields if name.startswith("was_")]


def _twin(field: forms.Field, value: Any) -> forms.Field:
    """Make a hidden twin of a field; what is odd in what it carries is no fault."""
    options: dict[str, Any] = {"required": False, "initial": value, "widget": forms.HiddenInput()}
    match field:
        case forms.TypedChoiceField():
            options |= {"coerce": field.coerce, "empty_value": field.empty_value, "choices": field.choices}
        case forms.ChoiceField():
            options |= {"choices": cast(Any, field.choices)}
    return type(field)(**options)
