"""What is brought to be imported, how its columns are matched, and how it is to be taken."""

import datetime as dt
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.pages import imports as pages
from fleet.rules.dates import in_words

US, ANOTHER = "us", "another"


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

    begins_record = forms.BooleanField(required=False)

    who_did_it = forms.ChoiceField(
        required=False,
        label="Who did this work, where a row does not say",
        choices=[(US, "Our company"), (ANOTHER, "Another company")],
        widget=forms.RadioSelect,
    )
    other_company = forms.CharField(
        required=False,
        max_length=120,
        label="Name of the other company",
        help_text="Its work is on file all the same. It is no visit of ours: plans, bills, refunds and call-backs leave it out.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, data: Any = None, *, page: pages.ImportPage, on: dt.date) -> None:
        who = ANOTHER if page.done_by else US
        shown = {"correcting": page.correcting, "begins_record": True, "who_did_it": who, "other_company": page.done_by}
        super().__init__(data, initial=shown)
        if not page.asks_who_did_it:
            del self.fields["who_did_it"], self.fields["other_company"]
        if page.record is None:
            del self.fields["begins_record"]
            return
        field, day = self.fields["begins_record"], in_words(on)
        tasks, sites = page.record.tasks, page.record.sites
        otherwise = (
            f" Otherwise {tasks:,} task{'s' if tasks > 1 else ''} at {sites:,} site{'s' if sites > 1 else ''} would be overdue today."
            if tasks
            else ""
        )
        field.label = f"Start our maintenance record on {day}"
        field.help_text = (
            f"Maintenance that fell due before {day} counts as done, in its season, since no record of it is on file yet."
            f"{otherwise} Warranty answers do not change: manufacturers still want proof."
        )

    def clean_other_company(self) -> str:
        """The other company's name, which is needed where it did the work, and nothing where we did."""
        if self.cleaned_data.get("who_did_it") != ANOTHER:
            return ""
        name = str(self.cleaned_data["other_company"]).strip()
        if not name:
            raise forms.ValidationError("Enter the name of the other company.")
        return name
