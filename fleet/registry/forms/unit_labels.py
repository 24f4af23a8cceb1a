"""Labels to print: for which units, how many blank ones, and on which sheet from which place."""

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.elements.pieces import UnitLink
from fleet.registry.actions.unit_labels import MOST_AT_ONCE
from fleet.rules.label_sheets import SHEETS, USUAL


class PrintForm(ActionForm):
    """What to print, and on what; `batch` is of this form, so that sending it twice makes nothing twice."""

    units = forms.TypedMultipleChoiceField(
        coerce=int, required=False, label="Units", widget=forms.CheckboxSelectMultiple
    )
    blank = forms.IntegerField(
        min_value=0, max_value=MOST_AT_ONCE, required=False, label="Blank labels",
        help_text="They are put on units later: whoever scans one is asked which unit it is on.",
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    sheet = forms.ChoiceField(choices=[(key, sheet.title) for key, sheet in SHEETS.items()], label="Sheet")
    start = forms.IntegerField(
        min_value=1, required=False, label="Start at label number",
        help_text="On a partly used sheet, the first label that is left: count along each row from the top left.",
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    batch = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, units: Sequence[UnitLink], data: Any = None, *, sheet: str = "") -> None:
        begun = {
            "units": [unit.pk for unit in units],
            "sheet": sheet if sheet in SHEETS else USUAL,
            "start": 1,
            "blank": 0 if units else SHEETS[sheet if sheet in SHEETS else USUAL].count,
            "batch": uuid.uuid4(),
        }
        super().__init__(data, initial=begun)
        field = self.fields["units"]
        assert isinstance(field, forms.TypedMultipleChoiceField)
        field.choices = [(unit.pk, words_of(unit)) for unit in units]
        if not units:
            del self.fields["units"]

    def clean(self) -> dict[str, Any]:
        """Refuse a place that the sheet does not have."""
        cleaned = self.cleaned_data
        sheet = SHEETS.get(cleaned.get("sheet", ""))
        if sheet is not None and (cleaned.get("start") or 1) > sheet.count:
            self.add_error("start", f"This sheet has {sheet.count} labels. Enter a number from 1 to {sheet.count}.")
        return cleaned


def words_of(unit: UnitLink) -> str:
    """A unit in the words of a label's choice."""
    return ", ".join(filter(None, (unit.room, unit.what, unit.serial or unit.model)))
