"""What is recorded of a registration."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.http import QueryDict

from fleet.coverage.pages import registrations as pages
from fleet.elements.action_form import ActionForm, DayInput, LineForm
from fleet.elements.questions import AskingForm
from fleet.models.reminders import REMINDER_WAYS
from fleet.models.words import choices


class _OfSystem(ActionForm):
    """A form on the page of one system, once for each payer: `number` tells them apart."""

    NAME: str

    def __init__(self, data: Any = None, files: Any = None, *, number: int, initial: Any = None) -> None:
        super().__init__(data, files, initial=initial, prefix=f"with-{number}", auto_id=f"{self.NAME}_%s")


class _WithUnits(_OfSystem):
    units = forms.MultipleChoiceField(required=False)

    def __init__(self, data: Any = None, files: Any = None, *, lines: Iterable[pages.UnitLine], **kwargs: Any) -> None:
        super().__init__(data, files, **kwargs)
        self.lines = tuple(lines)
        self.fields["units"].choices = [(line.value, line.serial) for line in self.lines]  # type: ignore[attr-defined]

    def clean_units(self) -> list[tuple[int, int]]:
        """The keys of the chosen units and terms, in pairs."""
        chosen = self.cleaned_data["units"]
        if not chosen:
            raise forms.ValidationError("Choose at least one unit.")
        return [(int(unit), int(terms)) for unit, terms in (value.split("-") for value in chosen)]

    def ticked(self) -> list[tuple[pages.UnitLine, bool]]:
        """Each line with whether it is chosen: all of them until somebody says otherwise."""
        chosen = set(cast(QueryDict, self.data).getlist(self.add_prefix("units"))) if self.is_bound else None
        return [(line, chosen is None or line.value in chosen) for line in self.lines]


class ConfirmForm(AskingForm, _WithUnits):
    """A registration that was sent, or confirmed with a number."""

    NAME = "confirm"

    registered_on = forms.DateField(label="Registered on", widget=DayInput)
    number = forms.CharField(
        required=False, max_length=120, label="Registration number (leave blank until they send it)"
    )
    in_name = forms.CharField(required=False, max_length=200, label="In whose name")
    proof = forms.FileField(required=False, label="Proof: a photo or a PDF (optional)")


class MissedForm(ConfirmForm):
    """A missed registration that was made all the same: after its last day, or in time and only entered now."""

    NAME = "missed"


class LateForm(_WithUnits):
    """That the payer accepted a late registration in writing."""

    NAME = "late"

    accepted_on = forms.DateField(label="Day of their letter", widget=DayInput)
    told_by = forms.CharField(max_length=200, label="Who wrote it")


class ProofForm(_OfSystem):
    """The paper that proves what is on file; `first` is the first registration that it is about."""

    NAME = "proof"

    proof = forms.FileField(label="A photo or a PDF", error_messages={"required": "Choose a photo or a PDF first."})

    def __init__(self, data: Any = None, files: Any = None, *, number: int, first: int) -> None:
        super().__init__(data, files, number=number)
        self.auto_id = f"proof_{number}_{first}_%s"
        self.first = first


class DateForm(AskingForm, _OfSystem):
    """The date that a limit counts from."""

    NAME = "date"

    date = forms.ChoiceField(choices=choices(("installed_on", "started_on", "purchased_on", "closed_on")))
    day = forms.DateField(widget=DayInput)


class DifferingForm(LineForm):
    """What of some registrations is put right, or left as it is."""

    what = forms.ChoiceField(choices=choices(("name", "serial")))
    act = forms.ChoiceField(choices=choices(("right", "fine")))


class RemindForm(LineForm):
    """How the homeowner was asked."""

    way = forms.ChoiceField(choices=choices(REMINDER_WAYS))
