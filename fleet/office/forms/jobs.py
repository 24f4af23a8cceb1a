"""What the list of ended work is asked for."""

from typing import Any

from django import forms

from fleet.elements.list_form import ListForm
from fleet.office.pages import jobs as pages


class JobsForm(ListForm):
    """How the work ended."""

    outcome = forms.ChoiceField(required=False, choices=[("", "any"), *((state, state) for state in pages.STATES)])

    field_order = ["outcome", "sort", "page"]

    def __init__(self, data: Any) -> None:
        super().__init__(data, columns=pages.COLUMNS)
