"""What of failures is asked for: which component, of which units, told apart by what."""

from collections.abc import Iterable
from typing import Any

from django import forms

from fleet.business.pages import what_fails as pages
from fleet.elements.list_form import ListForm, search_field
from fleet.rules import words


class WhatFailsForm(ListForm):
    """Which component, and which units."""

    component = forms.ChoiceField(
        required=False, choices=[("", "every component"), *((one, one) for one in words.COMPONENTS)]
    )
    group = forms.ChoiceField(
        required=False,
        label="Told apart by",
        choices=[
            (one.value, one.value) for one in (pages.Group.KIND, pages.Group.MAKER, pages.Group.MODEL, pages.Group.YEAR)
        ],
    )
    kind = forms.ChoiceField(
        required=False,
        label="Kind of unit",
        choices=[
            ("", "any"),
            *((one, f"{one} head" if one in words.STYLES else one) for one in pages.KINDS),
        ],
    )
    maker = forms.ChoiceField(required=False)
    model = search_field("Model has")
    year = forms.IntegerField(required=False, min_value=1950, max_value=2200, label="Started in the year")
    every_cause = forms.TypedChoiceField(
        required=False,
        label="Failures",
        choices=[("", "of the component itself"), ("all", "of every cause")],
        coerce=bool,
        empty_value=False,  # type: ignore[arg-type]
    )

    field_order = ["component", "group", "kind", "maker", "model", "year", "every_cause", "sort", "page"]

    def __init__(self, data: Any, *, makers: Iterable[str]) -> None:
        of_one = data.get("component") in words.COMPONENTS
        group = data.get("group") if data.get("group") in list(pages.Group) else pages.Group.KIND
        columns = pages.columns(pages.Asked(component=data["component"], group=group) if of_one else pages.Asked())
        super().__init__(data, columns=columns)
        self.choose("maker", makers)
        if not of_one:
            self.fields["group"].widget = forms.HiddenInput()

    def asked(self) -> dict[str, Any]:
        """Give what was asked for; what was left open is the first choice."""
        found = super().asked()
        found["group"] = found.get("group") or pages.Group.KIND
        found["year"] = found.get("year") or 0
        return found
