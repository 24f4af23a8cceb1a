"""A photo to read a code in, and what the phone read in it by itself."""

from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.registry.facts.codes import Code
from fleet.sheets.foreign import from_json

# What a nameplate can hold, and what a code can say.
_MOST, _LONGEST = 12, 400


class PhotoForm(ActionForm):
    """One photo of a label or a nameplate."""

    photo = forms.FileField(
        label="Photo of the label or nameplate",
        # A phone opens its camera at once; named so, one that keeps photos in a kind of its own sends JPEG.
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp", "capture": "environment"}),
        error_messages={"required": "Take or choose a photo first.", "empty": "It is empty."},
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def codes(self) -> tuple[Code, ...]:
        """What the phone read in the photo; nothing where it is not told as the page's script tells it."""
        try:
            told = from_json(self.cleaned_data["seen"] or "[]")
            return tuple(map(_code, told[:_MOST]))
        except (ValueError, TypeError, KeyError):
            return ()


def _code(told: Any) -> Code:
    left, top, right, bottom = (int(one) for one in told["box"])
    text = str(told["text"]).strip()
    if not text or len(text) > _LONGEST or not text.isprintable() or not 0 <= left < right or not 0 <= top < bottom:
        raise ValueError(text)
    return Code(str(told["kind"])[:40], text, (left, top, right, bottom))
