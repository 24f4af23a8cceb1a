"""Forms that put facts right: each field carries what it showed, so that nobody's change is written over unseen."""

import json
from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.http import QueryDict

from fleet import models
from fleet.elements.action_form import ActionForm, why_field
from fleet.elements.carried import CarryingForm
from fleet.elements.edits import Edit
from fleet.elements.questions import AskingForm
from fleet.models.facts import facts_of
from fleet.registry.actions import merges
from fleet.registry.facts.labels import label, said
from fleet.registry.forms.facts import state_of, widget_of
from fleet.registry.pages.editing import Choice, MergePage, PlacePage, SameName, Shown, ShownSystem, SwapPage
from fleet.rules import words
from fleet.rules.wording.changes import value
from fleet.sheets.foreign import from_json

_FIELDS: dict[str, Any] = {
    name: fact.field for table in (models.Customer, models.Site, models.Unit) for name, fact in facts_of(table).items()
} | {"use": models.SiteUse._meta.get_field("use")}


# What an exchange of an outdoor unit asks about the indoor units that stay.
STILL_MATCHED = "Is the system still matched?"
STILL_MATCHED_HELP = "The new outdoor unit with the indoor units that stay, as the manufacturer lists matched systems. Some coverage asks for one."
STILL_MATCHED_CHOICES = [("", ""), *((word, word) for word in words.STILL_MATCHED)]


class CorrectForm(AskingForm, CarryingForm):
    """The facts of one thing, and why they are changed."""

    why = forms.CharField(required=False, max_length=300, label="Reason (optional)")

    def __init__(self, shown: Shown, data: Any = None) -> None:
        super().__init__(data)
        self.names = tuple(field for field, _ in shown.fields)
        why = self.fields.pop("why")
        for field, now in shown.fields:
            self.fields[field] = forms.CharField(
                required=False, label=label(field), widget=widget_of(_FIELDS[field], now), strip=True
            )
            self.fields[field].initial = said(field, now) if field == "region" else now
            self.carry(field, now)
        self.fields["why"] = why

    def text(self, name: str) -> str:
        """What was written in a field; a state by its code, however it was written."""
        text = super().text(name)
        return state_of(text) if name == "region" else text

    @property
    def why_text(self) -> str:
        """Why it is changed."""
        return str(self.cleaned_data.get("why", ""))


class SystemForm(AskingForm, ActionForm):
    """Facts that the units of a system have in common, for those of them that are chosen; what is left blank stays as it is."""

    FACTS = ("maker", "purchased_on", "installed_on", "started_on")

    units = forms.MultipleChoiceField(
        label="Units",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one unit."},
    )
    was = forms.CharField(required=False, widget=forms.HiddenInput)
    why = forms.CharField(required=False, max_length=300, label="Reason (optional)")

    def __init__(self, shown: ShownSystem, data: Any = None) -> None:
        super().__init__(data)
        choices = cast(forms.MultipleChoiceField, self.fields["units"])
        choices.choices = [(str(unit.pk), unit.name) for unit in shown.units]
        choices.initial = [str(unit.pk) for unit in shown.units]
        self.fields["was"].initial = _seen(shown)
        why = self.fields.pop("why")
        for name in self.FACTS:
            self.fields[name] = forms.CharField(
                required=False, label=label(name), widget=widget_of(_FIELDS[name]), help_text=_now(shown, name)
            )
        self.fields["why"] = why

    def clean(self) -> dict[str, Any]:
        """Refuse a form that corrects nothing."""
        if not any(self.cleaned_data.get(name) for name in self.FACTS):
            raise forms.ValidationError("Enter the manufacturer or the day that is right.")
        return self.cleaned_data

    def edits(self) -> dict[int, dict[str, Edit]]:
        """What is to be, beside what was shown, by unit."""
        told = {name: text for name in self.FACTS if (text := self.cleaned_data[name])}
        was = _read(self.cleaned_data["was"])
        return {
            int(pk): {name: Edit(was.get(pk, {}).get(name, ""), text) for name, text in told.items()}
            for pk in self.cleaned_data["units"]
        }

    def see(self, shown: ShownSystem) -> None:
        """Carry on from what the facts are by now: sent again as it stands, the form has its way."""
        data = cast(QueryDict, self.data).copy()
        data["was"] = _seen(shown)
        self.data = data

    def carry_on(self, now: Any) -> None:
        """Nothing of one fact alone; `see` has all of them."""


def _seen(shown: ShownSystem) -> str:
    return json.dumps({str(unit.pk): dict(unit.facts) for unit in shown.units})


def _read(text: str) -> dict[str, dict[str, str]]:
    """What a form carried; where that was tampered with, nothing was seen."""
    try:
        read = from_json(text)
    except ValueError:
        return {}
    rows = read.items() if isinstance(read, dict) else ()
    return {pk: {name: str(fact) for name, fact in facts.items()} for pk, facts in rows if isinstance(facts, dict)}


def _now(shown: ShownSystem, name: str) -> str:
    """What the units tell of a fact by now, in a sentence."""
    found = shown.alike(name)
    said_of = {text: _in_words(name, text) for text in found}
    if len(found) == 1:
        return f"Now: {next(iter(said_of.values()))}."
    each = (f"{said_of[text]} ({', '.join(names)})" for text, names in found.items())
    return f"Now: {'; '.join(each)}."


def _in_words(name: str, text: str) -> str:
    return (value(text) if name.endswith("_on") else text) or "not recorded"


def _which(choice: Choice, *, required: bool = True) -> forms.ChoiceField:
    """Which of two is right."""
    return forms.ChoiceField(
        required=required,
        label=choice.label,
        choices=[("kept", choice.kept), ("gone", choice.gone)],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose which is right."},
    )


class MergeForm(ActionForm):
    """Which is right of each fact that differs between the two."""

    other = forms.IntegerField(widget=forms.HiddenInput)
    why = forms.CharField(required=False, max_length=300, label="Reason (optional)")

    def __init__(self, page: MergePage, data: Any = None) -> None:
        super().__init__(data, initial={"other": page.other.pk if page.other else None})
        why = self.fields.pop("why")
        for choice in page.choices:
            self.fields[f"use_{choice.field}"] = _which(choice)
        for site in page.same_names:
            self._ask_of(site)
        self.fields["why"] = why
        self.choices, self.same_names = page.choices, page.same_names

    def _ask_of(self, site: SameName) -> None:
        """Ask whether two sites of one name are one; what they tell differently matters only then, the other name only if not."""
        self.fields[f"site_{site.pk}"] = forms.ChoiceField(
            label=f"Both have a site named {site.name}",
            choices=[
                ("merge", f"They are one site: {site.kept or 'no street on file'}"),
                ("rename", f"They are two sites: give the one at {site.gone or 'an unknown street'} another name"),
            ],
            widget=forms.RadioSelect,
            error_messages={"required": "Choose whether they are one site or two."},
        )
        self.fields[f"site_{site.pk}_name"] = forms.CharField(
            required=False, max_length=200, label="If they are two, its name from now on", initial=site.another
        )
        for choice in site.choices:
            self.fields[f"site_{site.pk}_{choice.field}"] = _which(choice, required=False)

    def clean(self) -> dict[str, Any]:
        """Of sites that are one, which is right where they differ; of one that gets another name, that name."""
        told = super().clean() or self.cleaned_data
        for site in self.same_names:
            if told.get(f"site_{site.pk}") == "rename" and not told.get(f"site_{site.pk}_name"):
                self.add_error(f"site_{site.pk}_name", "Enter another name for this site.")
            for choice in site.choices if told.get(f"site_{site.pk}") == "merge" else ():
                if not told.get(f"site_{site.pk}_{choice.field}"):
                    self.add_error(f"site_{site.pk}_{choice.field}", "Choose which is right.")
        return told

    def of_sites(self) -> list[dict[str, Any]]:
        """The fields of each two sites of one name: whether they are one, which is right where they differ, another name."""
        return [
            {
                "is_one": self[f"site_{site.pk}"],
                "which": [self[f"site_{site.pk}_{choice.field}"] for choice in site.choices],
                "name": self[f"site_{site.pk}_name"],
            }
            for site in self.same_names
        ]

    def sites(self) -> dict[int, merges.SameName]:
        """What becomes of each site whose name the other has too, by its key."""
        told = self.cleaned_data
        return {
            site.pk: merges.SameName(
                told[f"site_{site.pk}"] == "merge",
                {choice.field: told[f"site_{site.pk}_{choice.field}"] for choice in site.choices},
                told[f"site_{site.pk}_name"],
            )
            for site in self.same_names
        }

    def which(self) -> list[forms.BoundField]:
        """The fields by which somebody chooses what is right of the two."""
        return [self[f"use_{choice.field}"] for choice in self.choices]

    def chosen(self) -> dict[str, str]:
        """The side chosen for each contradiction, by field."""
        return {one.field: self.cleaned_data[f"use_{one.field}"] for one in self.choices}


class SwapForm(ActionForm):
    """With which head, and whether the rooms or the serials change places."""

    other = forms.ChoiceField(
        label="With which head?", widget=forms.RadioSelect, error_messages={"required": "Choose the other head."}
    )
    what = forms.ChoiceField(
        label="What was mixed up?",
        choices=[
            ("rooms", "The rooms: each head hangs in the other’s room"),
            ("serials", "The serials: the nameplates were mixed up when they were entered"),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what to swap."},
    )

    def __init__(self, page: SwapPage, data: Any = None) -> None:
        super().__init__(data)
        choices = [
            (str(one.pk), ", ".join(filter(None, (one.room or "no room", one.model, one.serial or "no serial"))))
            for one in page.others
        ]
        cast(forms.ChoiceField, self.fields["other"]).choices = choices
        if len(choices) == 1:
            self.fields["other"].initial = choices[0][0]


class LifeForm(AskingForm, ActionForm):
    """What became of a unit."""

    kind = forms.CharField(widget=forms.HiddenInput)
    day = forms.CharField(required=False, label="Day", widget=forms.DateInput(attrs={"type": "date"}))
    FIELDS: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *, prefix_of: str, model: str = "", asks_match: bool = True) -> None:
        super().__init__(data, auto_id=f"{prefix_of}_%s", initial={"kind": self.KIND, "new_model": model})
        if not asks_match:
            self.fields.pop("still_matched", None)

    KIND = ""

    def told(self) -> dict[str, str]:
        """What was written, by field."""
        self.is_valid()
        return {name: str(value) for name, value in self.cleaned_data.items() if name not in ("kind", "day")}


class MovedForm(LifeForm):
    """Moved: where to."""

    KIND = "moved"
    to_site = forms.CharField(
        required=False,
        label="To the site",
        help_text="Leave blank for the site where it is.",
        widget=forms.TextInput(attrs={"list": "sites", "autocomplete": "off"}),
    )
    to_system = forms.CharField(
        required=False,
        label="To the system",
        help_text="Leave blank for a system of the same name; a new name makes a new system.",
        widget=forms.TextInput(attrs={"list": "systems", "autocomplete": "off"}),
    )


class ExchangedForm(LifeForm):
    """Exchanged: what came instead, and who paid for it."""

    KIND = "exchanged"
    under_warranty = forms.ChoiceField(
        required=False,
        label="How",
        choices=[
            ("", ""),
            ("yes", "under warranty: the coverage goes on with the new unit"),
            ("no", "bought: coverage starts anew"),
        ],
    )
    new_model = forms.CharField(required=False, label="Model of the new unit")
    new_serial = forms.CharField(required=False, label="Serial of the new unit")
    still_matched = forms.ChoiceField(
        required=False, label=STILL_MATCHED, help_text=STILL_MATCHED_HELP, choices=STILL_MATCHED_CHOICES
    )
    cause = forms.ChoiceField(
        required=False, label="Cause", choices=[("", "not given"), *((one, one) for one in words.CAUSES)]
    )


class RemovedForm(LifeForm):
    """Taken out, with nothing in its place."""

    KIND = "removed"
    cause = forms.ChoiceField(
        required=False, label="Cause", choices=[("", "not given"), *((one, one) for one in words.CAUSES)]
    )


class IdleForm(LifeForm):
    """Idle from a day on."""

    KIND = "idle"


class InUseForm(LifeForm):
    """Back in use from a day on."""

    KIND = "back in use"


class PlaceForm(CarryingForm):
    """In whose place a head stands."""

    place = forms.ChoiceField(
        required=False,
        label="Takes the place of",
        error_messages={
            "invalid_choice": "Choose a head that was taken out of this system before this one was put in."
        },
    )

    def __init__(self, page: PlacePage, data: Any = None) -> None:
        super().__init__(data, auto_id=f"place_{page.pk}_%s", initial={"place": page.now})
        shown = [("", "no other: it was added"), *page.choices]
        cast(forms.ChoiceField, self.fields["place"]).choices = shown
        self.carry("place", page.now)


class BackForm(ActionForm):
    """What was entered of a unit by mistake, and why it is undone."""

    what = forms.ChoiceField(label="What never happened", error_messages={"required": "Choose what to undo."})
    why = why_field()

    def __init__(self, told: Iterable[tuple[str, str]], data: Any = None) -> None:
        super().__init__(data, auto_id="back_%s")
        cast(forms.ChoiceField, self.fields["what"]).choices = [("", ""), *told]
        self.fields["what"].error_messages["invalid_choice"] = "That is no longer on file for this unit."


LIVES: dict[str, type[LifeForm]] = {
    form.KIND: form for form in (MovedForm, ExchangedForm, RemovedForm, IdleForm, InUseForm)
}
