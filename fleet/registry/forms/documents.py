"""Photos and papers as they are sent: several at once, with what they show."""

from collections.abc import Iterable, Iterator
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from fleet.elements.action_form import ActionForm
from fleet.elements.pieces import UnitLink

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


def files_field(label: str, *, papers: bool = False) -> SeveralFilesField:
    """A field for photos that may as well be none; for papers too, where those are taken."""
    accept = "image/jpeg,image/png,image/webp" + (",application/pdf" if papers else "")
    return SeveralFilesField(label=label, required=False, widget=_SeveralInput(attrs={"accept": accept}))


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


class InstallPhotosForm(ActionForm):
    """A photo of each nameplate of a new install, by unit, and the proof that it is registered."""

    proof = files_field("Proof of registration, if you have it (photo or PDF)", papers=True)

    def __init__(self, units: Iterable[UnitLink], data: Any = None, files: Any = None) -> None:
        super().__init__(data, files)
        self.units = tuple(units)
        for unit in self.units:
            self.fields[f"plate-{unit.pk}"] = files_field(f"Nameplate photo of {unit.room or unit.what}")

    def clean(self) -> dict[str, Any]:
        """Refuse a form without a file."""
        if not any(self.cleaned_data.values()) and not self.errors:
            raise forms.ValidationError("Choose a photo first.")
        return self.cleaned_data

    def chosen(self) -> Iterator[tuple[str, int | None, Any]]:
        """Each file with the name of its field and the unit that it is of; None: of the site."""
        for name in self.fields:
            pk = int(name.removeprefix("plate-")) if name != "proof" else None
            for file in self.cleaned_data.get(name) or ():
                yield name, pk, file

    def plates(self) -> list[tuple[UnitLink, forms.BoundField]]:
        """Each unit with the field of its nameplate."""
        return [(unit, self[f"plate-{unit.pk}"]) for unit in self.units]
