"""Photos and papers as they are sent: several at once, with what they show."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from fleet.elements.action_form import ActionForm

MOST_AT_ONCE = 20


class _SeveralInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class SeveralFilesField(forms.FileField):
    """One or more files; what is in them is for the action to judge."""

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile]:
        """The files sent, as a list; too many at once are an error."""
        files = [one for one in (data if isinstance(data, list) else [data]) if one is not None]
        if not files:
            super().clean(None, initial)
        if len(files) > MOST_AT_ONCE:
            raise forms.ValidationError(f"At most {MOST_AT_ONCE} at once; these are {len(files)}.")
        return files


class DocumentsForm(ActionForm):
    """What to keep, and what it shows."""

    documents = SeveralFilesField(
        label="Photos (JPEG, PNG, WebP) or papers (PDF), up to 20 MB each",
        # Named so, a phone that keeps its photos in a kind of its own sends them as JPEG.
        widget=_SeveralInput(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"}),
        error_messages={"required": "Choose a photo or a paper first."},
    )
    caption = forms.CharField(max_length=300, required=False, label="What it shows (optional)")
    proves_registration = forms.BooleanField(required=False, label="It proves the registration")
