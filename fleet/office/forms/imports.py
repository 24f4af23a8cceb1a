"""What is brought to be imported, how its columns are matched, and how it is to be taken."""

from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.pages import imports as pages


class BringForm(ActionForm):
    """A file, and what it brings."""

    kind = forms.ChoiceField(label="What it brings", widget=forms.RadioSelect)
    file = forms.FileField(
        label="File (CSV or XLSX)",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.xlsx"}),
        error_messages={"required": "Choose a file first.", "empty": "This file is empty. Choose another."},
    )

    def __init__(self, data: Any = None, files: Any = None, *, kinds: list[tuple[str, str]], most: int) -> None:
        super().__init__(data, files)
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]
        self.fields["kind"].initial = kinds[0][0]
        self.fields[
            "file"
        ].help_text = f"Up to {most:,} MB. One line names the columns, in your own words and in any order."


class UndoForm(ActionForm):
    """Why an import is undone."""

    why = forms.CharField(
        label="Why",
        max_length=300,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Say why this import is undone."},
    )


class BeginForm(ActionForm):
    """Whether facts on file are corrected."""

    correcting = forms.BooleanField(
        required=False,
        label="Change what is on file where this file says otherwise",
        help_text="Otherwise a file that contradicts what is on file is not imported. Check it first to see each change.",
    )

    def __init__(self, data: Any = None, *, page: pages.ImportPage) -> None:
        super().__init__(data, initial={"correcting": page.correcting})
