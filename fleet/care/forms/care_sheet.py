"""A care sheet's fields: what holds for every visit, and one task; they give the table that a file would hold."""

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput
from fleet.rules import caresheet, tables, words
from fleet.rules.dates import MONTHS
from fleet.rules.wording.care import PER, WHEN
from fleet.rules.wording.caresheet import ACCESS
from fleet.rules.wording.money import plain_amount

_MONTHS = [(str(number), name) for number, name in enumerate(MONTHS, 1)]


def _whole(label: str, *, least: int = 0, most: int = 1440, required: bool = True, help_text: str = "") -> Any:
    return forms.IntegerField(
        min_value=least,
        max_value=most,
        required=required,
        label=label,
        help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        error_messages={"required": "Enter a number.", "invalid": "Enter a whole number, such as 12."},
    )


class ExactField(forms.CharField):
    """An exact decimal, kept as the text that a file would hold; dollar signs and commas between thousands are left out."""

    def __init__(self, label: str, pattern: str, wanted: str, **named: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal"})
        super().__init__(label=label, widget=widget, max_length=20, **named)
        self._pattern, self._wanted = re.compile(pattern), wanted

    def clean(self, value: Any) -> str:
        """The number as text; blank where none is given."""
        text = plain_amount(super().clean(value)).strip()
        if text and not self._pattern.fullmatch(text):
            raise forms.ValidationError(self._wanted)
        return text


def _money(label: str, **named: Any) -> ExactField:
    missing = {"required": "Enter an amount; 0 is one."}
    return ExactField(label, r"\d{1,9}(\.\d{1,2})?", "Enter an amount, such as 35.00.", error_messages=missing, **named)


def _times(label: str) -> ExactField:
    return ExactField(label, r"\d{1,9}(\.\d{1,6})?", "Enter a number, such as 0.5.", required=False)


class GeneralForm(ActionForm):
    """What holds for every visit, whatever is done on it."""

    code = forms.CharField(
        max_length=80,
        label="Short name of this care sheet",
        help_text="Such as house-2026. The same name replaces the sheet of that name; a new one keeps the old sheet on file.",
        error_messages={"required": "Enter a short name."},
    )
    setup_minutes = _whole(
        "Minutes of every visit besides its tasks",
        help_text="To park, cover the floor, talk and write up.",
        required=False,
    )
    upkeep_on_file_from = forms.DateField(
        required=False,
        widget=DayInput,
        label="Our maintenance is on file from",
        help_text="What was due before that day counts as done. Blank keeps the day in force.",
    )

    def __init__(self, data: Any = None, *, table: Mapping[str, Any], version: int) -> None:
        initial = {name: table.get(name) for name in ("code", "setup_minutes", "upkeep_on_file_from")}
        initial |= _spread("access", table.get("access_minutes", {})) | _spread("factor", table.get("style_factor", {}))
        super().__init__(data, initial=initial, auto_id="sheet_%s")
        for word in words.ACCESS:
            self.fields[f"access_{word}"] = _whole(f"Minutes more for a unit {ACCESS[word]}", required=False)
        for style in words.STYLES:
            self.fields[f"factor_{style}"] = _times(f"A {style} head counts, times a plain one")
        self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput, initial=version)

    def clean_upkeep_on_file_from(self) -> dt.date | None:
        """A day as a file may hold it."""
        return _in_range(self.cleaned_data["upkeep_on_file_from"])

    def facts(self) -> dict[str, Any]:
        """What a file would hold above its tasks; None where it holds nothing."""
        told = self.cleaned_data
        access = {word: told[f"access_{word}"] for word in words.ACCESS if told[f"access_{word}"] is not None}
        factor = {style: told[f"factor_{style}"] for style in words.STYLES if told[f"factor_{style}"]}
        return {
            "code": told["code"],
            "setup_minutes": told["setup_minutes"],
            "upkeep_on_file_from": told["upkeep_on_file_from"],
            "access_minutes": access or None,
            "style_factor": factor or None,
        }


class TaskForm(ActionForm):
    """One task: what, by whom, to what, how often, when, for how long, at what price, and what brings it forward."""

    title = forms.CharField(
        max_length=120,
        label="What is done",
        help_text="As people read it: “Clear the drain line”.",
        error_messages={"required": "Say what is done."},
    )
    code = forms.CharField(
        max_length=120,
        label="Short name",
        help_text="Files and records know the task by it: a new one is a new task.",
        error_messages={"required": "Enter a short name."},
    )
    by = forms.ChoiceField(label="Who does it", choices=[("technician", "We do"), ("owner", "The customer does")])
    per = forms.ChoiceField(label="To what", choices=list(PER.items()))
    styles = forms.MultipleChoiceField(
        required=False,
        label="Only heads of these styles",
        choices=[(style, style) for style in words.STYLES],
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: all styles.",
    )
    every_months = _whole("Every so many months", least=1, most=1200)
    early_days = _whole("May be done this many days early", most=36500)
    late_days = _whole("Overdue this many days after", most=36500)
    counts_from = forms.ChoiceField(
        label="The next one counts from",
        choices=[("day done", "the day it was done"), ("due day", "the day it was due")],
    )
    minutes = _whole("Minutes it takes")
    price = _money("Price in dollars", help_text="Of the first one in a system.")
    further_price = _money(
        "Price of each other", required=False, help_text="In the same system. Blank: the same price."
    )
    months = forms.MultipleChoiceField(
        required=False, label="Best in", choices=_MONTHS, widget=forms.CheckboxSelectMultiple
    )
    not_months = forms.MultipleChoiceField(
        required=False, label="Never planned in", choices=_MONTHS, widget=forms.CheckboxSelectMultiple
    )
    dirt = forms.ChoiceField(
        required=False,
        label="Comes sooner when this is found dirty",
        choices=[("", "nothing"), ("wheel", "the blower wheel"), ("coil", "the coil")],
    )
    floor_days = _whole("Never sooner than this many days", most=36500, required=False)
    cautions = forms.CharField(
        required=False,
        max_length=4000,
        label="Cautions, one on each line",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="They stand where the work is written up. The manual and local codes come first.",
    )
    source_title = forms.CharField(
        max_length=500,
        label="Where this comes from",
        help_text="The manual it is read from, or “Common practice, no source”.",
        error_messages={"required": "Say where this comes from, or “Common practice, no source”."},
    )
    source_page = forms.CharField(required=False, max_length=500, label="Page")
    checked_on = forms.DateField(
        widget=DayInput, label="Checked on", error_messages={"required": "Enter the day on which somebody checked it."}
    )

    def __init__(
        self, data: Any = None, *, task: Mapping[str, Any] | None = None, version: int, today: dt.date
    ) -> None:
        self._task = dict(task or {})
        super().__init__(data, initial=_initial(self._task, today), auto_id="task_%s")
        self._today = today
        for style in words.STYLES:
            self.fields[f"style_{style}"] = _whole(f"Minutes more for a {style} head", required=False)
        for word in words.SURROUNDINGS:
            self.fields[f"shorten_{word}"] = _times(f"With {WHEN[word]}")
        self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput, initial=version)

    def clean_checked_on(self) -> dt.date:
        """A day no later than today."""
        day: dt.date = self.cleaned_data["checked_on"]
        if day > self._today:
            raise forms.ValidationError("Enter a day no later than today.")
        _in_range(day)
        return day

    def clean(self) -> dict[str, Any]:
        """Hold the task to the rules that a file is held to."""
        told = super().clean() or {}
        if not self.errors:
            self._hold(self.table())
        return told

    def _hold(self, table: Mapping[str, Any]) -> None:
        try:
            caresheet.read({"code": "x", "task": [table]})
        except tables.BadTable as refused:
            for fault in refused.faults:
                key = fault.where.removeprefix("task[1]").lstrip(".")
                name, text = _SAID.get((key, fault.wanted.split(":")[0].split(",")[0]), (key, f"{fault.wanted}."))
                self.add_error(name if name in self.fields else None, text)

    def table(self) -> dict[str, Any]:
        """What a file would hold under `[[task]]`; what was there already keeps its order."""
        told = self.cleaned_data
        style_minutes = {style: told[f"style_{style}"] for style in words.STYLES if told[f"style_{style}"] is not None}
        shorten = {word: told[f"shorten_{word}"] for word in words.SURROUNDINGS if told[f"shorten_{word}"]}
        former = [one["when"] for one in self._task.get("shorten", [])]
        found = {
            "code": told["code"],
            "title": told["title"],
            "by": told["by"],
            "per": told["per"],
            "styles": _ordered(told["styles"], self._task.get("styles", [])),
            "every_months": told["every_months"],
            "early_days": told["early_days"],
            "late_days": told["late_days"],
            "minutes": told["minutes"],
            "style_minutes": style_minutes,
            "price": told["price"],
            "further_price": told["further_price"],
            "counts_from": self._counts_from(),
            "months": _ordered([int(month) for month in told["months"]], self._task.get("months", [])),
            "not_months": _ordered([int(month) for month in told["not_months"]], self._task.get("not_months", [])),
            "floor_days": told["floor_days"],
            "dirt": told["dirt"],
            "shorten": [{"when": word, "times": shorten[word]} for word in _ordered(shorten, former)],
            "cautions": [line.strip() for line in told["cautions"].splitlines() if line.strip()],
            "source": {"title": told["source_title"]} | ({"page": told["source_page"]} if told["source_page"] else {}),
            "checked_on": told["checked_on"],
        }
        return {key: value for key, value in found.items() if value not in (None, "", [], {})}

    def _counts_from(self) -> str:
        """Blank where a file leaves it out: counting from the day done goes without saying."""
        chosen: str = self.cleaned_data["counts_from"]
        return chosen if chosen != "day done" or "counts_from" in self._task else ""

    @property
    def plain(self) -> list[forms.BoundField]:
        """The fields of every task, in their order."""
        return [self[name] for name in _PLAIN]

    @property
    def more(self) -> list[forms.BoundField]:
        """The fields that few tasks need."""
        return [self[name] for name in ("dirt", "floor_days", "further_price")]

    @property
    def of_styles(self) -> list[forms.BoundField]:
        """Minutes more for heads of a style."""
        return [self[f"style_{style}"] for style in words.STYLES]

    @property
    def sooner(self) -> list[forms.BoundField]:
        """What of the usual time is left in each surrounding."""
        return [self[f"shorten_{word}"] for word in words.SURROUNDINGS]


_PLAIN = ("title", "code", "by", "per", "every_months", "early_days", "late_days", "counts_from", "minutes", "price")
# What the rules for files say of a task, as it is said beside the field.
_SAID = {
    ("styles", "are styles of head"): ("styles", "Styles go with heads and drain lines only. Untick them."),
    ("style_minutes", "are styles of head"): (
        "per",
        "Minutes more by style go with heads and drain lines only. Clear them, or choose one of those.",
    ),
    ("not_months", "goes with our own tasks"): ("not_months", "We plan none of the customer’s work. Untick them."),
    ("not_months", "must leave a month in which it is planned"): (
        "not_months",
        "Leave a month in which it is planned.",
    ),
    ("not_months", "stand in months too"): ("not_months", "A month cannot be best and never planned. Untick one."),
}


def _spread(prefix: str, values: Mapping[str, Any]) -> dict[str, Any]:
    return {f"{prefix}_{word}": value for word, value in values.items()}


def _initial(task: Mapping[str, Any], today: dt.date) -> dict[str, Any]:
    """A task of a file as the form's fields show it."""
    source = task.get("source", {})
    initial = {name: task.get(name) for name in (*_PLAIN, "further_price", "floor_days", "dirt", "checked_on")}
    initial["styles"] = task.get("styles", [])
    initial |= {name: [str(month) for month in task.get(name, [])] for name in ("months", "not_months")}
    initial |= {"source_title": source.get("title", ""), "source_page": source.get("page", "")}
    initial |= _spread("style", task.get("style_minutes", {}))
    initial |= {f"shorten_{one['when']}": one["times"] for one in task.get("shorten", [])}
    initial["cautions"] = "\n".join(task.get("cautions", []))
    initial["counts_from"] = task.get("counts_from", "day done")
    if not task:
        initial |= {"by": "technician", "per": "head", "early_days": 60, "late_days": 60, "checked_on": today}
    return initial


def _ordered(values: Iterable[Any], former: Iterable[Any]) -> list[Any]:
    """Values in the order that they had before, and then as they come."""
    values = list(values)
    first = [one for one in former if one in values]
    return [*first, *(one for one in values if one not in first)]


def _in_range(day: dt.date | None) -> dt.date | None:
    if day is not None and not 1900 <= day.year <= 2200:
        raise forms.ValidationError("Enter a day from 1900 to 2200.")
    return day


class FileForm(ActionForm):
    """A care sheet as a file."""

    file = forms.FileField(
        label="Care sheet (.toml)",
        widget=forms.FileInput(attrs={"accept": ".toml"}),
        error_messages={"required": "Choose a file first.", "empty": "The file is empty. Choose another one."},
    )


class SiteForm(forms.Form):
    """A site to try the sheet on, by a part of its customer's name, its own or its street."""

    find = forms.CharField(required=False, max_length=120, label="A customer, site or street")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="", auto_id="try_%s")
