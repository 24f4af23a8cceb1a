"""How a fact is asked for on a form: by the words that it may be, as a day, or as text."""

from typing import Any

from django import forms
from django.db import models as fields

from fleet.registry.facts.labels import said
from fleet.rules.spreadsheets.places import region


def state_of(text: str) -> str:
    """The code of a state that somebody wrote by its name, its letters or its code; anything else as it was written.

    >>> state_of("Maine"), state_of("me"), state_of("US-ME"), state_of("Mane")
    ('US-ME', 'US-ME', 'US-ME', 'Mane')
    """
    return region(text) or text.strip()


def choices_of(field: "fields.Field[Any, Any]") -> tuple[str, ...]:
    """The words that a field may be; none where anything may stand there."""
    if isinstance(field, fields.BooleanField):
        return ("yes", "no")
    return tuple(word for word, _ in field.flatchoices)


def widget_of(field: "fields.Field[Any, Any]", now: str = "") -> forms.Widget:
    """What asks for a field on whose file `now` stands."""
    if known := choices_of(field):
        # What stands on file is always among them, so that leaving a field alone changes nothing.
        also = () if now in ("", *known) else (now,)
        return forms.Select(choices=[(word, said(field.name, word)) for word in ("", *also, *known)])
    match field:
        case fields.DateField():
            return forms.DateInput(attrs={"type": "date"})
        case fields.TextField():
            return forms.Textarea(attrs={"rows": 4})
        case _:
            return forms.TextInput(attrs={"autocomplete": "off"})
