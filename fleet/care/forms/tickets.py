"""To whom a visit's ticket is emailed."""

from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm


class TicketMailForm(ActionForm):
    """One of the addresses on file."""

    to = forms.ChoiceField(
        label="Email the ticket to", error_messages={"invalid_choice": "Choose one of the addresses."}
    )

    def __init__(self, data: Any = None, *, recipients: tuple[tuple[str, str], ...] = ()) -> None:
        super().__init__(data)
        self.fields["to"].choices = list(recipients)  # type: ignore[attr-defined]
