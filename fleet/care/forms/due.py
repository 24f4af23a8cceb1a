"""What is recorded of a task."""

import datetime as dt
from typing import Any

from django import forms

from fleet.care.pages import due as pages
from fleet.elements.action_form import ActionForm, DayInput
from fleet.models.history import SKIP_REASONS

# What a technician sees of a part, from clean to blocked.
GRADES = (("", "not checked"), ("0", "0, clean"), ("1", "1, light"), ("2", "2, heavy"), ("3", "3, blocked"))


class RecordForm(ActionForm):
    """A task that was done or skipped on a day, by whom, and the dirt that was seen."""

    day = forms.DateField(label="Day", widget=DayInput)
    technician = forms.CharField(required=False, max_length=120, label="Technician (blank: the customer did it)")
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
        label="Reason, if skipped",
        choices=[("", "not skipped"), *((name, name) for name in SKIP_REASONS)],
    )
    not_before = forms.DateField(required=False, widget=DayInput, label="If skipped, not before")

    def __init__(self, data: Any = None, *, job: pages.Job, today: dt.date, who: str = "") -> None:
        super().__init__(data, initial={"day": today, "technician": who})
        if job.by == "technician":
            self.fields["technician"].label = "Technician"
        if not job.grades:
            del self.fields["dirt_wheel"], self.fields["dirt_coil"]
