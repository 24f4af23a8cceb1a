"""What is asked for a calendar link."""

from django import forms

from fleet.elements.action_form import LineForm


class CalendarForm(LineForm):
    """For which phone or desk."""

    name = forms.CharField(
        max_length=120,
        label="For which phone or desk",
        error_messages={"required": "Say for which phone or desk, so that you know it again when you revoke it."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, data: object = None) -> None:
        super().__init__(data, label_suffix="")  # type: ignore[arg-type]
