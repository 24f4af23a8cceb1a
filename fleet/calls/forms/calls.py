"""The forms of a call: noting one while talking, and what becomes of it."""

import uuid
from collections.abc import Mapping
from typing import Any

from django import forms

from fleet import models
from fleet.calls.actions.calls import FIELDS
from fleet.elements.action_form import A_DAY, ActionForm, DayInput, LineForm, why_field
from fleet.elements.carried import CarryingForm
from fleet.elements.money_field import MoneyField
from fleet.rules import words
from fleet.rules.calls import Trouble

_FIRST = ("caller", "phone", "trouble", "said")


def _day(label: str, **named: Any) -> forms.DateField:
    return forms.DateField(
        label=label, widget=DayInput(), error_messages={"invalid": A_DAY}, **({"required": False} | named)
    )


def _money(label: str) -> MoneyField:
    return MoneyField(required=False, label=label)


class UnitField(forms.ModelChoiceField):
    """A unit by its room, as a caller names it."""

    def label_from_instance(self, obj: Any) -> str:
        """The room or role, and what stands there."""
        return f"{obj.room or obj.role}: {obj.maker} {obj.model} {obj.serial}"


class CallForm(CarryingForm):
    """What is noted of a call. The unit's choices are those of its site; a correction carries what each field showed."""

    key = forms.UUIDField(required=False, widget=forms.HiddenInput)
    site = forms.ModelChoiceField(models.Site.objects, required=False, widget=forms.HiddenInput)
    caller = forms.CharField(max_length=120, label="Who is calling", error_messages={"required": "Write who called."})
    phone = forms.CharField(required=False, max_length=60, label="Call back at")
    trouble = forms.ChoiceField(
        label="What is wrong",
        choices=[("", "choose"), *((one.value, one.value) for one in Trouble)],
        error_messages={"required": "Choose what is wrong."},
    )
    said = forms.CharField(required=False, label="In their words", widget=forms.Textarea(attrs={"rows": 2}))
    unit = UnitField(models.Unit.objects.none(), required=False, label="Which unit", empty_label="not known")
    component = forms.ChoiceField(
        required=False, label="Part asked about", choices=[("", "none"), *((one, one) for one in words.COMPONENTS)]
    )
    answer = forms.CharField(required=False, label="Answer that was read out", widget=forms.Textarea(attrs={"rows": 2}))
    cost_from = _money("Might cost at least, $")
    cost_to = _money("Might cost up to, $")
    promised_on = _day("Promised for")
    came_on = _day("Called on", required=True)
    came_at = forms.TimeField(required=False, label="Called at", widget=forms.TimeInput(attrs={"type": "time"}))

    def __init__(self, data: Any = None, *, site: int | None, shown: Mapping[str, Any], corrects: bool = False) -> None:
        super().__init__(data, initial={"key": uuid.uuid4(), **shown})
        unit = self.fields["unit"]
        assert isinstance(unit, UnitField)
        unit.queryset = models.Unit.objects.filter(system__site=site).order_by("system", "room", "pk")
        if site is None:
            del self.fields["unit"]
        if not corrects and not self.is_bound:
            # Whoever notes a call by keys begins at the first thing that is not known yet.
            first = next((name for name in ("caller", "phone") if not self.initial.get(name)), "trouble")
            self.fields[first].widget.attrs["autofocus"] = True
        if corrects:
            del self.fields["key"]
            for name in FIELDS:
                if name in self.fields:
                    self.carry(name)

    @property
    def first(self) -> list[forms.BoundField]:
        """What is asked while the caller talks, and what goes along unseen."""
        return [field for field in self.asked if field.is_hidden or field.name in _FIRST]

    @property
    def rest(self) -> list[forms.BoundField]:
        """What is asked after that."""
        return [field for field in self.asked if not field.is_hidden and field.name not in _FIRST]

    def facts(self) -> dict[str, Any]:
        """What each fact is to be."""
        return {name: self.cleaned_data[name] for name in FIELDS if name in self.cleaned_data}


class CallHereForm(LineForm):
    """A call about a unit that somebody stands before: what is wrong, by one button; everything else is known or comes later."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    trouble = forms.ChoiceField(choices=[(one.value, one.value) for one in Trouble])


class StepForm(ActionForm):
    """What becomes of a call, and why."""

    why = why_field("Reason")


class PartForm(CarryingForm):
    """A part that a call waits for."""

    what = forms.CharField(max_length=200, label="Part", error_messages={"required": "Write which part."})
    supplier = forms.CharField(required=False, max_length=200, label="Ordered from")
    ordered_on = _day("Ordered on")
    expected_on = _day("Expected on")
    arrived_on = _day("Arrived on")

    def __init__(self, data: Any = None, *, part: models.CallPart | None = None) -> None:
        names = ("what", "supplier", "ordered_on", "expected_on", "arrived_on")
        shown = {name: getattr(part, name) for name in names} if part else {}
        super().__init__(data, initial=shown, prefix=f"part{part.pk}" if part else "part")
        if part is not None:
            for name in names:
                self.carry(name)

    def facts(self) -> dict[str, Any]:
        """What each fact is to be."""
        return {name: value for name, value in self.cleaned_data.items() if not name.startswith("was_")}
