"""The form of an action: what somebody tells it, and what it refuses, each sentence at its field."""

import datetime as dt
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any, cast

from django import forms
from django.http import QueryDict

from fleet.refusals import Conflict, Refused
from fleet.sheets.columns import in_plain

_AGAIN = " Save again to have yours instead."


def sentence(text: str) -> str:
    """Write what is wrong as a sentence.

    >>> sentence("wanted: a day")
    'Wanted: a day.'
    """
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."


def why_field(label: str = "Why", **named: Any) -> forms.CharField:
    """A reason in one line; where it is missing the action says so, unless the form is told to."""
    widget = forms.TextInput(attrs={"autocomplete": "off"})
    return forms.CharField(max_length=300, label=label, widget=widget, **({"required": False} | named))


class LineForm(forms.Form):
    """A form whose one-line fields hold one line: a browser sends no other, and a name of two lines would break a paper."""

    def _post_clean(self) -> None:
        """Refuse line breaks once the fields are read, whatever else a form checks."""
        super()._post_clean()  # type: ignore[misc]
        for name, value in list(self.cleaned_data.items()):
            field = self.fields.get(
                name.removeprefix("was_")
            )  # what a field of several lines held may have several, too
            is_area = field is None or isinstance(field.widget, forms.Textarea)
            if isinstance(value, str) and not is_area and len(value.splitlines()) > 1:
                self.add_error(name, "This must be one line.")


def sure_field() -> forms.CharField:
    """A box that is shown once something improbable was questioned, to say that it is right."""
    return forms.CharField(required=False, label="It is right as entered", widget=forms.HiddenInput)


class SureForm(LineForm):
    """A form of something that may be questioned (`sure_field`): what is asked stands at the box by which somebody says so."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self.show_if_sure()

    def show_if_sure(self) -> None:
        """Show the box again where it was checked."""
        if "sure" in self.fields and self.is_bound and self.data.get(self.add_prefix("sure")):
            self.show_sure()

    def add_error(self, field: str | None, error: Any) -> None:
        """Show the box where something is asked at it."""
        super().add_error(field, error)
        if field == "sure":
            self.show_sure()

    def show_sure(self) -> None:
        """Show the box."""
        self.fields["sure"].widget = forms.CheckboxInput()


# Said where a day cannot be read: browsers without a picker of their own leave it to be written.
A_DAY = "Enter a day, such as March 8, 2026 or 3/8/2026."


class DayInput(forms.DateInput):
    """A day as a browser's own picker gives it; what was typed stays as it was typed."""

    input_type = "date"

    def format_value(self, value: Any) -> str:
        """Write a day as the picker reads it."""
        return value.isoformat() if isinstance(value, dt.date) else str(value or "")


class ActionForm(LineForm):
    """What an action is told: a field is called as the fact is, so that what is refused stands at it.

    `status` is that of a page on which it stands: 422 where it was refused, 409 where somebody changed something meanwhile.
    """

    use_required_attribute = False

    def __init__(self, data: Any = None, files: Any = None, **named: Any) -> None:
        super().__init__(data, files, **({"label_suffix": ""} | named))
        self.status = 422 if self.is_bound else 200

    def field_of(self, fact: str) -> str:
        """The name of the field that a fact stands in."""
        return fact

    @contextmanager
    def may_be_refused(self) -> Iterator[None]:
        """Act inside: where the action is refused it ends there, and the form shows why."""
        try:
            yield
        except Refused as refused:
            self.refuse(refused)

    def refuse(self, refused: Refused) -> None:
        """Show each sentence at its field, or above the form where it has none there; what was typed stays."""
        self.is_valid()
        for fact, text in refused.faults.items():
            name = self.field_of(fact)
            shown = name in self.fields and not self.fields[name].widget.is_hidden
            again = _AGAIN if shown and isinstance(refused, Conflict) and fact in refused.now else ""
            for line in text.splitlines():
                self.add_error(name if shown else None, sentence(line) + again)
        if isinstance(refused, Conflict):
            self.status = 409
            self.carry_on(refused.now)

    def carry_on(self, now: Mapping[str, Any]) -> None:
        """Carry on from what these facts are by now: sent again as it stands, the form has its way."""
        data = cast(QueryDict, self.data).copy()
        for fact, value in now.items():
            name = self.field_of(fact)
            data[self.add_prefix(f"was_{name}" if f"was_{name}" in self.fields else name)] = in_plain(value)
        self.data = data
