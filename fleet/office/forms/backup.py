"""The password that is asked for before everything leaves in one file."""

from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.models.people import User


class BackupForm(ActionForm):
    """Your own password, again."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        help_text="Asked again, since the file holds everything.",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password."},
    )

    def __init__(self, data: Any = None, *, person: User) -> None:
        super().__init__(data, auto_id="backup_%s")
        self._person = person

    def clean_password(self) -> str:
        """Hold it to that of whoever is here."""
        password: str = self.cleaned_data["password"]
        if not self._person.check_password(password):
            raise forms.ValidationError("That is not your password.")
        return password
