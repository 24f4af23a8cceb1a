"""What is said to book a visit, to change it, or to call it off."""

import datetime as dt
import uuid
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator

from fleet.care.actions.bookings import SEEN
from fleet.care.pages import visits as pages
from fleet.elements.action_form import ActionForm, DayInput
from fleet.elements.carried import WAS, CarryingForm
from fleet.rules.dates import DAY
from fleet.sheets.columns import LAST_DAY


def _time(label: str) -> forms.TimeField:
    return forms.TimeField(required=False, label=label, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))


class _VisitForm(CarryingForm):
    """The day, who goes, a note, and why that day if its windows say another."""

    day = forms.DateField(
        label="Day",
        widget=DayInput,
        error_messages={"required": "Choose a day."},
        validators=[MaxValueValidator(LAST_DAY, "Enter a day before 2200.")],
    )
    technician = forms.TypedChoiceField(required=False, label="Technician", coerce=int, empty_value=None)
    note = forms.CharField(
        required=False,
        max_length=300,
        label="Note for the technician",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    arrive_from = _time("Arrive from")
    arrive_to = _time("to")
    why = forms.CharField(
        required=False,
        max_length=300,
        label="Reason, if outside the recommended dates",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, data: Any, technicians: tuple[tuple[int, str], ...], *, initial: Mapping[str, Any]) -> None:
        super().__init__(data, initial=dict(initial))
        self.fields["technician"].choices = [("", "not assigned yet"), *technicians]  # type: ignore[attr-defined]

    @property
    def shown(self) -> list[forms.BoundField]:
        """The fields that people fill in."""
        return [self[name] for name in ("day", "technician", "arrive_from", "arrive_to", "note", "why")]

    @property
    def window(self) -> tuple[dt.time | None, dt.time | None]:
        """When somebody will arrive."""
        return self.cleaned_data.get("arrive_from"), self.cleaned_data.get("arrive_to")

    def the_day(self) -> dt.date | None:
        """The day as far as it can be read, else None."""
        self.is_valid()
        return self.cleaned_data.get("day")


class BookForm(_VisitForm):
    """A visit to book: what it is for, too."""

    key = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid.uuid4)
    tasks = forms.MultipleChoiceField(required=False, label="Work", widget=forms.CheckboxSelectMultiple)

    calls = forms.TypedMultipleChoiceField(
        required=False, label="Calls", coerce=int, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, data: Any, page: pages.SiteVisits, *, call: int | None = None) -> None:
        """`call` is the call that the visit is for: then nothing else is ticked."""
        only = page.technicians[0][0] if len(page.technicians) == 1 else ""
        super().__init__(
            data,
            page.technicians,
            initial={
                "day": (page.room or (page.on,))[0] if call else page.day,
                "technician": only,
                "tasks": [] if call else [task.key for task in page.tasks if task.ticked],
                "calls": [call] if call else [],
            },
        )
        # What is booked already is shown, and not offered again.
        choices = [(task.key, task.words) for task in page.tasks if task.booked_on is None]
        self.fields["tasks"].choices = choices  # type: ignore[attr-defined]
        self.fields["calls"].choices = list(page.calls)  # type: ignore[attr-defined]
        self._page = page
        self._opens = {task.key: task.first for task in page.tasks}

    @cached_property
    def near(self) -> list[Any]:
        """What may be done by a month after the day planned, or is ticked."""
        return [choice for choice in self["tasks"] if not self._is_later(choice)]

    @cached_property
    def later(self) -> list[Any]:
        """What opens after that."""
        return [choice for choice in self["tasks"] if self._is_later(choice)]

    def _is_later(self, choice: Any) -> bool:
        opens = self._opens.get(str(choice.data["value"]))
        return opens is not None and opens > self._page.day + 31 * DAY and not choice.data["selected"]

    def chosen(self) -> list[tuple[int, str]]:
        """The tasks that are ticked, each with its unit: as sent, or as they stand in a new form."""
        keys = self.cleaned_data.get("tasks", []) if self.is_bound and self.is_valid() else self["tasks"].value() or []
        return [(int(unit), code) for unit, _, code in (key.partition(":") for key in keys) if unit.isdecimal()]


class ChangeForm(_VisitForm):
    """A booked visit to move, to hand to somebody else, or to note something about; with what it showed before."""

    def __init__(self, data: Any, technicians: tuple[tuple[int, str], ...], *, initial: Mapping[str, Any]) -> None:
        super().__init__(data, technicians, initial=initial)
        for name in SEEN:
            self.fields[f"{WAS}{name}"] = forms.CharField(required=False, widget=forms.HiddenInput)


class CancelForm(ActionForm):
    """Why a visit is called off."""

    why = forms.CharField(
        required=False,
        max_length=300,
        label="Reason for canceling",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
