"""What each text of a file means that cannot be read."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.actions.import_answers import Values
from fleet.office.actions.import_kinds import Kind
from fleet.office.forms.folded import Folded
from fleet.office.forms.import_columns import readable
from fleet.office.pages import import_steps as pages
from fleet.rules.dates import in_words
from fleet.rules.spreadsheets.cells import Act, Meaning
from fleet.rules.spreadsheets.days import Order


@dataclass(frozen=True, slots=True)
class ValueLine:
    """A text that cannot be read, with the fields that say what it means."""

    unread: pages.Unread
    means: forms.BoundField
    value: forms.BoundField | None


class ValuesForm(ActionForm):
    """What each text means that cannot be read, and how the days of a column are written."""

    def __init__(self, data: Any = None, *, page: pages.ValuesPage, kind: Kind, on: dt.date) -> None:
        super().__init__(data)
        self._page, self._kind, self._on = page, kind, on
        self._unread = [*page.unread, *page.known]
        for number, one in enumerate(self._unread):
            self._add(number, one)
        for question in page.days:
            self.fields[f"order_{question.column}"] = forms.ChoiceField(
                label=f"{question.heading}: which comes first?",
                choices=[(reading.order, f"{reading.order}: {reading.words}") for reading in question.readings],
                widget=forms.RadioSelect,
                initial=question.chosen,
                error_messages={"required": "Say which comes first."},
            )
        for others in page.others:
            self.fields[f"rest_{others.column}"] = forms.ChoiceField(
                label=f"{others.count:,} other values of {others.title}",
                choices=[("", "choose one"), (Act.NOTE, "put them in the notes"), (Act.BLANK, "leave them blank")],
                initial=others.act,
                error_messages={"required": "Say what to do with them."},
            )

    def _add(self, number: int, one: pages.Unread) -> None:
        known = [(f"{Act.VALUE}:{word}", pages.shown(one.column, word)) for word in one.choices]
        noted = [(f"{Act.BOTH}:{word}", f"{pages.shown(one.column, word)}, and a note") for word in one.choices]
        acts = [
            *([(Act.ABOVE.value, "the same as the row above")] if one.is_of_house else []),
            *([(Act.BLANK.value, "leave it blank")] if one.can_be_blank else []),
            *([(Act.NOTE.value, "put it in the notes")] if one.text else []),
            *([] if one.can_be_blank else [(Act.LEAVE_OUT.value, "skip these rows")]),
        ]
        written = [(Act.VALUE.value, "what I enter beside it")]
        if one.text:
            written.append((Act.BOTH.value, "what I enter beside it, and a note"))
        has_value = one.act in (Act.VALUE, Act.BOTH)
        initial = f"{one.act}:{one.value}" if has_value and known else one.act
        self.fields[f"means_{number}"] = forms.ChoiceField(
            required=False,
            label=f"{one.title}: {one.text or 'blank'}",
            choices=[
                ("", "choose one"),
                *(known or written),
                *acts,
                *([("Keep what is there in the notes, too", noted)] if known and one.text else []),
            ],
            initial=initial,
        )
        if not known:
            self.fields[f"value_{number}"] = forms.CharField(
                required=False,
                label=f"{one.title} for {one.text or 'blank'}",
                max_length=200,
                initial=self._written(one),
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )

    def _written(self, one: pages.Unread) -> str:
        """A value as somebody would write it."""
        is_day = one.column in self._kind.days and one.value
        return in_words(dt.date.fromisoformat(one.value)) if is_day else pages.shown(one.column, one.value)

    def _lines(self, unread: tuple[pages.Unread, ...], start: int) -> list[ValueLine]:
        return [
            ValueLine(
                one, self[f"means_{number}"], self[f"value_{number}"] if f"value_{number}" in self.fields else None
            )
            for number, one in enumerate(unread, start)
        ]

    @property
    def lines(self) -> Folded:
        """The texts that nobody has said anything of: those without a guess of ours first."""
        lines = self._lines(self._page.unread, 0)
        return Folded.of(
            (line for line in lines if line.unread.act), first=[line for line in lines if not line.unread.act]
        )

    @property
    def known_lines(self) -> list[ValueLine]:
        """Those of which somebody has, in this file or in another."""
        return self._lines(self._page.known, len(self._page.unread))

    @property
    def orders(self) -> list[tuple[pages.DaysAsked, forms.BoundField]]:
        """Each column of days that could be read in several ways."""
        return [(one, self[f"order_{one.column}"]) for one in self._page.days]

    @property
    def rest(self) -> list[forms.BoundField]:
        """What is said of all further texts of a column."""
        return [self[f"rest_{one.column}"] for one in self._page.others]

    def clean(self) -> dict[str, Any]:
        """Have each text mean something, and what is written be readable."""
        for number, one in enumerate(self._unread):
            act, value = self._said(number)
            if act is None:
                self.add_error(f"means_{number}", "Say what it means.")
            elif act in (Act.VALUE, Act.BOTH):
                self._clean_value(number, one, value)
        return self.cleaned_data

    def _said(self, number: int) -> tuple[Act | None, str]:
        """What is chosen; something written beside a text whose meaning nobody chose is what it means."""
        act, _, word = self.cleaned_data.get(f"means_{number}", "").partition(":")
        written = self.cleaned_data.get(f"value_{number}", "").strip()
        if not act:
            return (Act.VALUE, written) if written else (None, "")
        return Act(act), word or written

    def _clean_value(self, number: int, one: pages.Unread, value: str) -> None:
        field = f"value_{number}" if f"value_{number}" in self.fields else f"means_{number}"
        plain = readable(self._kind, one.column, value, on=self._on) if value else None
        if not value:
            self.add_error(field, "Enter what it means.")
        elif plain is None:
            expected = "a date such as March 8, 2024, no later than today"
            self.add_error(
                field,
                f"Enter {expected}."
                if one.column in self._kind.days
                else f"“{value}” was not understood here. Enter it another way.",
            )
        else:
            self.cleaned_data[f"kept_{number}"] = plain

    def said(self) -> Values:
        """All of it."""
        meanings: dict[str, dict[str, Meaning]] = {}
        for number, one in enumerate(self._unread):
            act, _ = self._said(number)
            assert act is not None  # `clean` holds this
            meaning = Meaning(act, self.cleaned_data.get(f"kept_{number}", ""))
            meanings.setdefault(one.column, {})[one.text] = meaning
        rest = {one.column: Meaning(Act(self.cleaned_data[f"rest_{one.column}"])) for one in self._page.others}
        orders = {one.column: Order(self.cleaned_data[f"order_{one.column}"]) for one in self._page.days}
        return Values(meanings, rest, orders)
