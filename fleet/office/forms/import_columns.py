"""Which sheet of a file is read, what its columns are, and how those that it lacks are filled."""

import datetime as dt
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.actions.import_kinds import Kind
from fleet.office.pages import import_steps as pages
from fleet.rules.spreadsheets import headings
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.plan import Plan, Reader, Row

LEFT_OUT, GIVEN = "-", "given"
# What is worth giving for all rows where no column has it; any other fact is put in the file.
OFTEN_GIVEN = ("region", "city", "use", "installed_by", "licensed_installer", "recognized_installer", "refrigerant")


class SheetForm(ActionForm):
    """Which sheet is read, and which of its rows names the columns."""

    row = forms.ChoiceField(
        label="The row that names the columns", error_messages={"required": "Choose the row that names the columns."}
    )

    def __init__(self, data: Any = None, *, page: pages.SheetPage) -> None:
        super().__init__(data)
        self._page = page
        choices = [(line.choice, "") for top in page.sheets for line in top.lines]
        choices += [(top.no_headings, "") for top in page.sheets]
        self.fields["row"].choices = choices  # type: ignore[attr-defined]
        self.chosen = data.get("row", "") if data else page.chosen

    def said(self) -> tuple[str, int]:
        """The sheet by its name, and the number of the row (-1: none names the columns)."""
        place, _, number = self.cleaned_data["row"].partition(":")
        return self._page.sheets[int(place)].name, int(number)


class ColumnsForm(ActionForm):
    """For each of their columns, ours that it is, or that it is left out; and how those that they lack are filled."""

    rest = forms.ChoiceField(
        required=False,
        label="Every column without a choice",
        choices=[("", "choose one"), (headings.NOTE, "put it in the notes"), (LEFT_OUT, "do not import it")],
    )

    def __init__(self, data: Any = None, *, page: pages.ColumnsPage, kind: Kind, on: dt.date) -> None:
        super().__init__(data)
        self._page, self._kind, self._on = page, kind, on
        ours = [(one.name, f"{one.title} (needed)" if one.required else one.title) for one in page.ours]
        choices = [("", "choose one"), (LEFT_OUT, "do not import it"), *ours]
        for number, column in enumerate(page.columns):
            self.fields[f"column_{number}"] = forms.ChoiceField(
                required=False, label=column.heading, choices=choices, initial=column.name
            )
        matched = self._matched_now()
        self._missing = [one for one in page.ours if self._can_be_given(one, matched)]
        for one in self._missing:
            self._add_missing(one)

    def _matched_now(self) -> set[str]:
        if self.is_bound:
            return {str(self.data.get(f"column_{number}", "")) for number in range(len(self._page.columns))}
        return {column.name for column in self._page.columns}

    def _can_be_given(self, one: pages.Ours, matched: set[str]) -> bool:
        if one.name in matched or (one.name == "customer" and matched & {headings.FIRST_NAME, headings.LAST_NAME}):
            return False
        is_in_address = headings.ADDRESS in matched and one.name in ("street", "city", "region", "postcode")
        return one.required or (one.name in OFTEN_GIVEN and one.name in self._kind.names and not is_in_address)

    def _add_missing(self, one: pages.Ours) -> None:
        ways = [(way.value, words) for way, words in one.ways]
        if ways:
            self.fields[f"way_{one.name}"] = forms.ChoiceField(
                required=False,
                label=f"{one.title} is",
                choices=[*ways, (GIVEN, "the same for all rows:")],
                initial=self._page.ways.get(one.name) or (GIVEN if self._page.given.get(one.name) else ways[0][0]),
            )
        known = self._kind.choices(one.name)
        label = f"{one.title}, the same for all rows" if not ways else f"{one.title} for all rows"
        self.fields[f"given_{one.name}"] = (
            forms.ChoiceField(
                required=False,
                label=label,
                choices=[("", "not given"), *((word, pages.shown(one.name, word)) for word in known)],
                initial=self._page.given.get(one.name, ""),
            )
            if known
            else forms.CharField(
                required=False,
                label=label,
                max_length=200,
                initial=pages.shown(one.name, self._page.given.get(one.name, "")),
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )
        )

    @property
    def lines(self) -> list[tuple[pages.Theirs, forms.BoundField]]:
        """Each of their columns with its field."""
        return [(column, self[f"column_{number}"]) for number, column in enumerate(self._page.columns)]

    @property
    def needed(self) -> list[list[forms.BoundField]]:
        """The fields of each of our columns that rows need and that theirs do not have."""
        return [self._of(one) for one in self._missing if one.required]

    @property
    def optional(self) -> list[list[forms.BoundField]]:
        """The same of those that may be given."""
        return [self._of(one) for one in self._missing if not one.required]

    def _of(self, one: pages.Ours) -> list[forms.BoundField]:
        return [self[name] for name in (f"way_{one.name}", f"given_{one.name}") if name in self.fields]

    def clean(self) -> dict[str, Any]:
        """Have every column either matched or left out, each of ours matched once, and what is given readable."""
        cleaned = self.cleaned_data
        first: dict[str, str] = {}
        for number, column in enumerate(self._page.columns):
            field = f"column_{number}"
            name = cleaned.get(field, "")
            if not name and not cleaned.get("rest") and field not in self.errors:
                self.add_error(field, "Say what it is, or do not import it.")
            elif name in first:
                self.add_error(field, f"“{first[name]}” is already this column. Choose another.")
            elif name and name not in (LEFT_OUT, headings.NOTE, "notes"):
                first[name] = column.heading
        for one in self._missing:
            self._clean_missing(one)
        return cleaned

    def _clean_missing(self, one: pages.Ours) -> None:
        cleaned, field = self.cleaned_data, f"given_{one.name}"
        if (cleaned.get(f"way_{one.name}") or GIVEN) != GIVEN:
            cleaned[field] = ""
            return
        text = cleaned.get(field, "").strip()
        if not text:
            if one.required and f"way_{one.name}" in self.fields:
                self.add_error(field, "Enter what it is in all rows.")
            return
        value = readable(self._kind, one.name, text, on=self._on)
        if value is None:
            self.add_error(field, f"“{text}” was not understood as {one.title.lower()}. Enter it another way.")
        else:
            cleaned[field] = value

    def matched(self) -> dict[str, str]:
        """Our column by theirs."""
        rest = self.cleaned_data["rest"]
        chosen = {column.heading: self.cleaned_data[field.name] or rest for column, field in self.lines}
        return {heading: name for heading, name in chosen.items() if name not in ("", LEFT_OUT)}

    def given(self) -> dict[str, str]:
        """What is the same for all rows, by our column."""
        return {one.name: value for one in self._missing if (value := self.cleaned_data.get(f"given_{one.name}", ""))}

    def ways(self) -> dict[str, Way]:
        """How a column is worked out."""
        said = {one.name: self.cleaned_data.get(f"way_{one.name}", "") for one in self._missing}
        return {name: Way(way) for name, way in said.items() if way not in ("", GIVEN)}


def readable(kind: Kind, column: str, text: str, *, on: dt.date) -> str | None:
    """What somebody writes for a column as it is kept; nothing where it cannot be read."""
    values = Reader(Plan({}), kind.ours(on)).values(Row(0), column, text)
    if values is None or column not in values:
        return None
    # One word may say two things: "wall head" is kept as it was said, and read again in each row.
    return text if len(values) > 1 else values[column]
