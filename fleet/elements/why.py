"""The field in which somebody says why something is taken back."""

from typing import Any

from django import forms


def why_field(label: str = "Why", **named: Any) -> forms.CharField:
    """Ask for a reason in one line; where it is missing the action says so, unless the form is told to."""
    widget = forms.TextInput(attrs={"autocomplete": "off"})
    return forms.CharField(max_length=300, label=label, widget=widget, **({"required": False} | named))
