"""What is said of a person, and what a password must be."""

from typing import Any

from django import forms
from django.contrib.auth.forms import PasswordChangeForm, SetPasswordForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from fleet.elements.action_form import ActionForm
from fleet.models.people import Role, User


class PersonForm(ActionForm):
    """Who somebody is, and what they are here to do."""

    first_name = forms.CharField(max_length=150, label="First name")
    last_name = forms.CharField(max_length=150, required=False, label="Last name")
    email = forms.EmailField(max_length=254, required=False, label="Email (optional)")
    role = forms.ChoiceField(choices=[("", "Choose a role"), *((role, role) for role in Role.values)])

    def __init__(self, data: Any = None, *, initial: Any = None) -> None:
        super().__init__(data, initial=initial)
        for field in self.fields.values():
            if not isinstance(field.widget, forms.Select):
                field.widget.attrs["autocomplete"] = "off"


class NewPersonForm(PersonForm):
    """The same, and under which name they log in."""

    username = forms.CharField(
        max_length=150,
        label="Username (short; it cannot be changed later)",
        validators=[User.username_validator],
        widget=forms.TextInput(attrs={"autocapitalize": "none", "spellcheck": "false"}),
    )

    field_order = ["first_name", "last_name", "username", "email", "role"]


class FirstOwnerForm(ActionForm):
    """The code that the server printed, who the first owner is, and a password twice."""

    code = forms.CharField(
        max_length=40,
        label="Code",
        help_text="The server printed it when it started, in four groups of letters and digits.",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "spellcheck": "false"}),
        error_messages={"required": "Enter the code that the server printed when it started."},
    )
    first_name = forms.CharField(max_length=150, label="First name")
    last_name = forms.CharField(max_length=150, required=False, label="Last name")
    username = forms.CharField(
        max_length=150,
        label="Username (short; it cannot be changed later)",
        validators=[User.username_validator],
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "username", "spellcheck": "false"}),
    )
    email = forms.EmailField(max_length=254, required=False, label="Email (optional)")
    password = forms.CharField(
        label="Password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )
    again = forms.CharField(
        label="Password again", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

    def __init__(self, data: Any = None, *, initial: Any = None) -> None:
        super().__init__(data, initial=initial)
        self.fields["password"].help_text = _GOOD

    def clean(self) -> dict[str, Any]:
        """Hold the password to what a password must be, and both to be one."""
        told = super().clean() or {}
        password, again = told.get("password"), told.get("again")
        if password and again and password != again:
            self.add_error("again", "This is not the same password.")
        elif password:
            about = User(**{name: told.get(name, "") for name in ("username", "first_name", "last_name", "email")})
            try:
                validate_password(password, about)
            except ValidationError as wrong:
                self.add_error("password", wrong)
        return told

    def told(self) -> dict[str, str]:
        """What the action is told."""
        names = ("username", "first_name", "last_name", "email", "password")
        return {"given": self.cleaned_data["code"]} | {name: self.cleaned_data[name] for name in names}


class SwitchOffForm(ActionForm):
    """Who takes the booked visits of somebody who is switched off; nothing is asked where there are none."""

    visits = forms.ChoiceField(required=False, label="Who takes their booked visits?")

    def __init__(self, data: Any = None, *, heirs: tuple[tuple[str, str], ...]) -> None:
        super().__init__(data)
        self.fields["visits"].choices = [("", "choose one"), *heirs]  # type: ignore[attr-defined]

    def field_of(self, fact: str) -> str:
        """A visit names its technician."""
        return "visits" if fact == "technician" else fact


class ForgottenForm(forms.Form):
    """To which address a link for a new password goes."""

    email = forms.EmailField(
        max_length=254, label="Your email address", widget=forms.EmailInput(attrs={"autocomplete": "email"})
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")


_GOOD = (
    "At least 12 characters, 6 of them different. A few words in a row work best. Nothing common, and not your name."
)


class NewPasswordForm(SetPasswordForm):
    """A new password, twice."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        _worded(self)


class ChangedPasswordForm(PasswordChangeForm):
    """The old password, and a new one twice."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self.fields["old_password"].label = "Old password"
        _worded(self)


def _worded(form: forms.BaseForm) -> None:
    """Word the password fields our way; what a password must not be is judged by settings."""
    form.label_suffix = ""
    first, second = form.fields["new_password1"], form.fields["new_password2"]
    first.label, first.help_text = "New password", _GOOD
    second.label, second.help_text = "New password again", ""


class FewCharactersValidator:
    """A password of few different characters is guessed soon, however long it is."""

    def __init__(self, least: int = 6) -> None:
        self.least = least

    def validate(self, password: str, user: User | None = None) -> None:
        """Refuse a password that repeats a few characters."""
        if len(set(password)) < self.least:
            raise ValidationError(f"This password has fewer than {self.least} different characters.")

    def get_help_text(self) -> str:
        """The rule, shown before a password is typed."""
        return f"At least {self.least} different characters."
