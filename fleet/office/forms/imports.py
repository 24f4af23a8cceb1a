"""What is brought to be imported, how its columns are matched, and how it is to be taken."""

from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.pages import imports as pages

LEFT_OUT = "-"


class BringForm(ActionForm):
    """A file, and what it brings."""

    kind = forms.ChoiceField(label="What it brings", widget=forms.RadioSelect)
    file = forms.FileField(
        label="File (CSV or XLSX)",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.xlsx"}),
        error_messages={"required": "Choose a file first.", "empty": "There is nothing in this file."},
    )

    def __init__(self, data: Any = None, files: Any = None, *, kinds: list[tuple[str, str]], most: int) -> None:
        super().__init__(data, files)
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]
        self.fields["kind"].initial = kinds[0][0]
        self.fields[
            "file"
        ].help_text = f"Up to {most:,} MB. The first line below any title names the columns, in any words and order."


class MatchForm(ActionForm):
    """For each of their columns, ours that it is, or that it is left out."""

    rest_left_out = forms.BooleanField(required=False, label="Leave out every column that is not matched")

    def __init__(self, data: Any = None, *, page: pages.ColumnsPage) -> None:
        super().__init__(data)
        self._columns = page.columns
        ours = [(one.name, f"{one.title} (needed)" if one.required else one.title) for one in page.ours]
        for number, column in enumerate(page.columns):
            self.fields[f"column_{number}"] = forms.ChoiceField(
                required=False,
                label=column.heading,
                choices=[("", "choose"), (LEFT_OUT, "leave it out"), *ours],
                initial=column.name,
            )

    @property
    def lines(self) -> list[tuple[pages.Theirs, forms.BoundField]]:
        """Each of their columns with its field."""
        return [(column, self[f"column_{number}"]) for number, column in enumerate(self._columns)]

    def clean(self) -> dict[str, Any]:
        """Have every column either matched or left out, and each of ours matched once."""
        asked = self.cleaned_data
        first: dict[str, str] = {}
        for number, column in enumerate(self._columns):
            field = f"column_{number}"
            name = asked.get(field, "")
            if not name and not asked.get("rest_left_out") and field not in self.errors:
                self.add_error(field, "Say what it is, or leave it out.")
            elif name in first:
                self.add_error(field, f"{first[name]!r} is matched with this already.")
            elif name and name != LEFT_OUT:
                first[name] = column.heading
        return asked

    def matched(self) -> dict[str, str]:
        """Our column for each of theirs that is matched."""
        chosen = {column.heading: self.cleaned_data[field.name] for column, field in self.lines}
        return {heading: name for heading, name in chosen.items() if name not in ("", LEFT_OUT)}


class BeginForm(ActionForm):
    """How the days of each column are written where that is not certain, and whether facts on file are corrected."""

    correcting = forms.BooleanField(
        required=False,
        label="Correct what is on file where the file says otherwise",
        help_text="Without this, a file that contradicts what is on file is not taken. Check it first: it shows each fact"
        " that would change.",
    )

    def __init__(self, data: Any = None, *, page: pages.ImportPage) -> None:
        super().__init__(data, initial={"correcting": page.correcting})
        self._asked = [column for column in page.days if column.is_asked]
        for column in self._asked:
            self.fields[f"style_{column.name}"] = forms.ChoiceField(
                label=f"{column.heading}: how are its days written?",
                choices=[(one.style, f"{one.style}: {one.cell} is {one.means}") for one in column.styles],
                widget=forms.RadioSelect,
                initial=column.chosen,
                error_messages={"required": "Say which comes first, the day or the month."},
            )

    @property
    def questions(self) -> list[forms.BoundField]:
        """The fields that ask how days are written."""
        return [self[f"style_{column.name}"] for column in self._asked]

    def field_of(self, fact: str) -> str:
        """How days are written stands in a field for each column."""
        return f"style_{fact}"

    def styles(self) -> dict[str, str]:
        """The chosen style of days, by our column."""
        return {column.name: self.cleaned_data[f"style_{column.name}"] for column in self._asked}
