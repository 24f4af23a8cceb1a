"""A supplier, with the clocks and the fee of its own."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from django import forms

from fleet.rules import terms
from fleet.sheets.columns import in_plain

_YES_NO = [("", "as the payer's paper says"), ("yes", "yes"), ("no", "no")]
_FROM = {
    "failed_on": "the day it failed",
    "repaired_on": "the day it was repaired",
    "part_taken_on": "the day the new part was taken",
}


def _from(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, _FROM[name]) for name in names]


class SupplierForm(forms.Form):
    """Each field carries what it showed, so that nobody's change is written over unseen."""

    name = forms.CharField(max_length=200, error_messages={"required": "A name is wanted."})
    phone = forms.CharField(required=False, max_length=60)
    email = forms.EmailField(required=False, label="E-mail")
    form_before_part = forms.TypedChoiceField(
        required=False,
        choices=_YES_NO,
        coerce=lambda text: text == "yes",
        empty_value=None,
        label="Claim form before the new part is taken",
    )
    file_within_days = forms.IntegerField(required=False, min_value=0, max_value=3650, label="File within so many days")
    file_counted_from = forms.ChoiceField(
        required=False, choices=_from(terms.FILE_FROM), label="Days to file count from"
    )
    part_back_within_days = forms.IntegerField(
        required=False, min_value=0, max_value=3650, label="Old part back within so many days"
    )
    part_back_counted_from = forms.ChoiceField(
        required=False, choices=_from(terms.PART_BACK_FROM), label="Days for the part count from"
    )
    old_part = forms.ChoiceField(
        required=False,
        label="The old part",
        choices=[("", "as the payer's paper says"), *((word, word) for word in terms.OLD_PART)],
    )
    fee = forms.DecimalField(
        required=False,
        min_value=Decimal(0),
        max_digits=8,
        decimal_places=2,
        label="Fee for a claim, in dollars",
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )

    use_required_attribute = False

    def __init__(self, data: Any = None, *, shown: Mapping[str, Any] | None = None) -> None:
        found = dict(shown or {})
        before = found.get("form_before_part")
        found["form_before_part"] = "" if before is None else "yes" if before else "no"
        super().__init__(data, initial=found, label_suffix="", auto_id="supplier_%s")
        for name in list(self.fields):
            self.fields[f"was_{name}"] = _was(self.fields[name], self.get_initial_for_field(self.fields[name], name))

    def told(self) -> dict[str, Any]:
        """Give what the supplier is to be."""
        return {name: value for name, value in self.cleaned_data.items() if not name.startswith("was_")}

    def was(self) -> dict[str, Any]:
        """Give what each field showed when somebody began."""
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

    def refuse(self, faults: Mapping[str, str], now: Mapping[str, Any]) -> None:
        """Show each fault at its field; what somebody else changed is seen from now on."""
        for field, text in faults.items():
            self.add_error(field if field in self.fields else None, text)
        self.data = dict(self.data.items()) | {f"was_{name}": in_plain(value) for name, value in now.items()}


def _was(field: forms.Field, value: Any) -> forms.Field:
    """Make a hidden twin of a field, which reads what it carries as the field does; what is odd in it is no fault."""
    options: dict[str, Any] = {"required": False, "initial": value, "widget": forms.HiddenInput()}
    match field:
        case forms.TypedChoiceField():
            options |= {"coerce": field.coerce, "empty_value": field.empty_value, "choices": field.choices}
        case forms.ChoiceField():
            options |= {"choices": cast(Any, field.choices)}
    return type(field)(**options)
