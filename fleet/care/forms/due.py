"""What the list of dues is asked for, and what is recorded of a task."""

import datetime as dt
from typing import Any

from django import forms

from fleet.care.pages import due as pages
from fleet.elements.action_form import ActionForm
from fleet.elements.list_form import DayInput, ListForm, search_field
from fleet.models.history import SKIP_REASONS

# What a technician sees of a part, from clean to blocked.
GRADES = (("", "not looked at"), ("0", "0, clean"), ("1", "1, light"), ("2", "2, heavy"), ("3", "3, blocked"))


class DueForm(ListForm):
    """How it is put together, whose work, where it stands, which task, in which month, and where."""

    listed = forms.ChoiceField(required=False, label="Listed", choices=[(name, name) for name in pages.LISTED])
    whose = forms.ChoiceField(required=False, label="Whose work", choices=[(name, name) for name in pages.WHOSE])
    state = forms.ChoiceField(
        required=False, label="Where it stands", choices=[("", "any"), *((name, name) for name in pages.STATES)]
    )
    task = forms.ChoiceField(required=False)
    month = forms.ChoiceField(required=False, label="Due in")
    text = search_field("Serial, site or customer has")

    field_order = ["listed", "whose", "state", "task", "month", "text", "sort", "page"]

    def __init__(self, data: Any, *, tasks: tuple[tuple[str, str], ...], months: tuple[tuple[str, str], ...]) -> None:
        listed = data.get("listed", "")
        super().__init__(data, columns=pages.COLUMNS.get(listed, pages.DUES))
        self.fields["task"].choices = [("", "any"), *tasks]  # type: ignore[attr-defined]
        self.fields["month"].choices = [("", "any month"), *months]  # type: ignore[attr-defined]

    def asked(self) -> dict[str, Any]:
        """Give what was asked for; what nobody chose is the usual."""
        found = super().asked()
        found["listed"] = found.get("listed") or pages.LISTED[0]
        found["whose"] = found.get("whose") or pages.WHOSE[0]
        return found


class RecordForm(ActionForm):
    """A task that was done or skipped on a day, by whom, and the dirt that was seen."""

    day = forms.DateField(label="Day", widget=DayInput)
    technician = forms.CharField(required=False, max_length=120, label="Technician (blank: the owner did it)")
    minutes = forms.IntegerField(required=False, min_value=0, max_value=1440, label="Minutes")
    dirt_wheel = forms.TypedChoiceField(
        required=False, choices=GRADES, coerce=int, empty_value=None, label="Dirt on the blower wheel"
    )
    dirt_coil = forms.TypedChoiceField(
        required=False, choices=GRADES, coerce=int, empty_value=None, label="Dirt on the coil"
    )
    notes = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}), label="Notes")
    skip_reason = forms.ChoiceField(
        required=False,
        label="If it was skipped, why",
        choices=[("", "it was done"), *((name, name) for name in SKIP_REASONS)],
    )
    not_before = forms.DateField(required=False, widget=DayInput, label="If skipped: not before")

    def __init__(self, data: Any = None, *, job: pages.Job, today: dt.date, who: str = "") -> None:
        super().__init__(data, initial={"day": today, "technician": who})
        if job.by == "technician":
            self.fields["technician"].label = "Technician"
        if not job.grades:
            del self.fields["dirt_wheel"], self.fields["dirt_coil"]
