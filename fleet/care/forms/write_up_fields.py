"""Fields of a write-up: texts that the action reads, drawn for a thumb."""

from collections.abc import Iterable
from typing import Any

from django import forms

from fleet.registry.forms.documents import SeveralFilesField
from fleet.rules import readings
from fleet.rules.wording import readings as wording

# What is usually measured on a unit of each role, the first ones first; every other reading can be chosen below it.
MEASURED = {
    "head": ("return air temperature", "supply air temperature", "indoor relative humidity"),
    "outdoor": (
        "outdoor temperature",
        "amps",
        "volts",
        "liquid line temperature",
        "gas line temperature",
        "suction pressure",
        "liquid line pressure",
        "capacitor",
        "insulation resistance",
    ),
    "air handler": (
        "return air temperature",
        "supply air temperature",
        "external static pressure",
        "indoor relative humidity",
        "amps",
        "volts",
    ),
    "furnace": (
        "return air temperature",
        "supply air temperature",
        "external static pressure",
        "gas manifold pressure",
        "flue carbon monoxide",
        "flue oxygen",
        "flue temperature",
        "amps",
        "volts",
    ),
    "dehumidifier": ("indoor relative humidity", "amps"),
}
MODES = ("cooling", "heating", "drying", "fan only", "test")
FANS = ("low", "medium", "high", "automatic")
# How many of them stand in sight; the others are below the fold.
IN_SIGHT = 3
# What is seen of a wheel or a coil, from clean to blocked: one tap each.
GRADES = (("0", "clean"), ("1", "light"), ("2", "heavy"), ("3", "blocked"), ("", "not graded"))


def one_of(known: Iterable[str], blank: str) -> list[tuple[str, str]]:
    return [("", blank), *((word, word) for word in known)]


def all_readings() -> list[tuple[str, str]]:
    return [("", "none"), *((reading, wording.named(reading)) for reading in readings.READINGS)]


def text(label: str, **attrs: Any) -> forms.CharField:
    named = {name.replace("_", "-"): value for name, value in attrs.items()}
    widget = forms.TextInput(attrs={"autocomplete": "off", **named})
    return forms.CharField(required=False, label=label, widget=widget)


def select(label: str, choices: Iterable[tuple[str, str]], **attrs: Any) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.Select(choices=list(choices), attrs=attrs))


def day(label: str, **attrs: Any) -> forms.CharField:
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", **attrs})
    return forms.CharField(required=False, label=label, widget=widget)


class _Photos(forms.ClearableFileInput):
    allow_multiple_selected = True


class PhotosField(SeveralFilesField):
    """Photos that may as well be none."""

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The files sent, as a list."""
        return super().clean(data, initial) if data else []


def photos() -> PhotosField:
    """Photos of the whole visit."""
    widget = _Photos(attrs={"accept": "image/jpeg,image/png,image/webp"})
    return PhotosField(required=False, label="Photos", widget=widget)


def grade(label: str) -> forms.CharField:
    """How dirty a part is, as buttons of which one is pressed."""
    return forms.CharField(required=False, label=label, widget=forms.RadioSelect(choices=GRADES))


def value(label: str, reading: str = "", **attrs: Any) -> forms.CharField:
    """What was measured, for a keypad of digits.

    Some phones' keypads have no minus. So a reading that may lie below zero has a button for it, which a script makes, and the
    keypad of letters where no script runs.
    """
    measures = readings.READINGS.get(reading, ())
    if not reading or (measures and measures[0].least < 0):
        return text(label, inputmode="text", data_signed="", **attrs)
    return text(label, inputmode="decimal", **attrs)
