"""The terms that a unit is given: which, since when, and which units of its system."""

from typing import Any, cast

from django import forms

from fleet.coverage.pages.attach import AttachPage
from fleet.elements.action_form import ActionForm, DayInput


class AttachForm(ActionForm):
    """Which terms, when they were bought or promised, their number, and the units that they are for."""

    terms = forms.ChoiceField(
        label="Labor plan or terms",
        error_messages={
            "required": "Choose a labor plan or terms.",
            "invalid_choice": "Choose terms that are on file.",
        },
    )
    attached_on = forms.DateField(
        required=False,
        label="Bought or promised on",
        help_text="Leave it blank if it came with the install.",
        widget=DayInput,
    )
    number = forms.CharField(
        required=False,
        max_length=120,
        label="Number of the plan or terms",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    units = forms.TypedMultipleChoiceField(
        coerce=int,
        label="For which units",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one unit.", "invalid_choice": "Choose units of this system."},
    )

    def __init__(self, page: AttachPage, data: Any = None) -> None:
        super().__init__(data, initial={"units": [page.pk]})
        cast(forms.ChoiceField, self.fields["terms"]).choices = [
            ("", ""),
            *((payer, list(terms)) for payer, terms in page.terms),
        ]
        cast(forms.ChoiceField, self.fields["units"]).choices = list(page.units)
