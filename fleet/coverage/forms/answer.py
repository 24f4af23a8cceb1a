"""What is asked on a unit's page: which component failed, why, and on which day."""

import datetime as dt

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from fleet.coverage.pages.answers import Choices, Question
from fleet.elements.action_form import A_DAY, DayInput
from fleet.models.words import choices
from fleet.rules import words
from fleet.rules.wording.names import CAUSES

# No unit is older, and a day far beyond every promise asks nothing.
_EARLIEST, _LATEST = dt.date(1950, 1, 1), dt.date(2199, 12, 31)
_BOUNDS = f"Enter a day between {_EARLIEST.year} and {_LATEST.year}."


class AnswerForm(forms.Form):
    """A failure asked about; what is left blank is the component usual for the unit, no cause, today."""

    component = forms.ChoiceField(
        required=False, choices=choices(words.COMPONENTS), label="What failed", label_suffix=""
    )
    cause = forms.ChoiceField(
        required=False,
        choices=[("", "not known yet"), *((name, CAUSES.get(name, name)) for name in words.CAUSES)],
        label="Cause",
        label_suffix="",
    )
    on = forms.DateField(
        required=False,
        label="Day it failed",
        label_suffix="",
        widget=DayInput(),
        validators=[MinValueValidator(_EARLIEST, _BOUNDS), MaxValueValidator(_LATEST, _BOUNDS)],
        error_messages={"invalid": A_DAY},
    )

    @classmethod
    def of(cls, question: Question, offered: Choices) -> "AnswerForm":
        """The form, filled with the question that was answered."""
        form = cls({"component": question.component, "cause": question.cause, "on": question.on})
        form.offer(offered)
        return form

    def offer(self, offered: Choices) -> None:
        """Show the components usual for the unit's role before all others."""
        grouped = [("Usual for this unit", choices(offered.usual)), ("All others", choices(offered.others))]
        shown = self.fields["component"]
        assert isinstance(shown, forms.ChoiceField)
        shown.choices = [group for group in grouped if group[1]]
