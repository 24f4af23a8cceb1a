"""A new install as it is written: what holds for all of it, and a row for each unit.

The fields read nothing but text: what may stand in each is said once, where rows of files are read, and by those words.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict

from fleet import models
from fleet.elements.action_form import LineForm
from fleet.elements.questions import AskingForm
from fleet.models.facts import facts_of
from fleet.refusals import Refused
from fleet.registry.facts.labels import said
from fleet.registry.forms.addresses import AddressForm, street_field
from fleet.registry.forms.documents import files_field
from fleet.registry.forms.facts import state_of, widget_of
from fleet.registry.forms.whose import WhoseForm, whose_field
from fleet.registry.pages import new_install as pages
from fleet.registry.pages.new_install import Doubt, Suggestions, Told
from fleet.rules import words
from fleet.rules.plausible import Oddity

MORE_ROWS = 4
_YES_NO = (("", ""), ("yes", "yes"), ("no", "no"))
_FACTS = facts_of(models.Unit)
# Each tick with the field that it is about.
# What is sent as files beside the facts.
FILES = ("plate", "proof")
TICKS = {"customer": "another_customer", "site": "another_site", "system": "joins", "serial": "another_unit"}


def _text(label: str, **attrs: Any) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.TextInput(attrs={"autocomplete": "off", **attrs}))


def _day(label: str) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.DateInput(attrs={"type": "date"}))


def _choice(label: str, choices: Iterable[tuple[str, str]]) -> forms.CharField:
    return forms.CharField(required=False, label=label, widget=forms.Select(choices=list(choices)))


def _one_of(known: Iterable[str]) -> list[tuple[str, str]]:
    return [("", ""), *((word, word) for word in known)]


def _asked(new_install: str) -> tuple[str, ...]:
    return tuple(name for name, fact in _FACTS.items() if fact.new_install == new_install)


class _InstallPart(AskingForm, LineForm):
    """A form whose faults and doubts come from elsewhere; `doubts` are those shown, by field."""

    use_required_attribute = False
    doubts: dict[str, Doubt]
    ASKED: tuple[str, ...] = ()  # which facts of a unit it asks for, besides those that stand below

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **{**named, "label_suffix": ""})
        self.doubts = {}
        for name, fact in _FACTS.items():
            if fact.new_install in self.ASKED and name not in self.fields:
                self.fields[name] = forms.CharField(required=False, label=fact.label, widget=widget_of(fact.field))

    def cells(self) -> dict[str, str]:
        """What was written, by field, without the ticks."""
        self.is_valid()
        cells = {
            name: self.cleaned_data.get(name, "")
            for name in self.fields
            if name not in (*TICKS.values(), "whose", *FILES)
        }
        return cells | ({"region": state_of(cells["region"])} if "region" in cells else {})

    def show(self, doubt: Doubt) -> bool:
        """Show a doubt; return whether it still stands in the way, as it does until its tick is set."""
        ticked = bool(doubt.value) and self.cleaned_data.get(TICKS[doubt.field]) == doubt.value
        self.doubts[doubt.field] = doubt
        if not ticked:
            self.add_error(doubt.field, doubt.text)
        return not ticked

    def refuse(self, field: str, texts: str) -> None:
        """Show what is wrong beside its field."""
        for text in texts.splitlines():
            self.add_error(field if field in self.fields else None, text)


class InstallForm(WhoseForm, AddressForm, _InstallPart):
    """Who and where, and the system once."""

    customer = _text("Customer", autofocus=True)
    phone = _text("Phone", inputmode="tel")
    email = _text("E-mail", inputmode="email")
    site = _text("Site")
    street = street_field()
    city = _text("City")
    region = _text("State", list="regions", autocapitalize="words")
    postcode = _text("ZIP code", inputmode="numeric")
    use = _choice("Use", [("", ""), *((word, said("use", word)) for word in words.USES)])
    new_construction = _choice("New construction", _YES_NO)
    closed_on = _day("Closing day")
    system = _text("Name of the system")
    installed_by = _text("Installed by", placeholder="us")
    original_site = _choice("First site of these units", _YES_NO)
    attached = _choice("Labor plan sold with it", ())
    whose = whose_field("Which customer is it?")
    another_customer = forms.CharField(required=False)
    another_site = forms.CharField(required=False)
    joins = forms.CharField(required=False)
    proof = files_field("Proof of registration, if you have it (photo or PDF)", papers=True)

    WHERE = (
        "phone",
        "email",
        "site",
        "street",
        "city",
        "region",
        "postcode",
        "use",
        "new_construction",
        "closed_on",
    )
    ASKED = ("once", "more")
    ONCE = ("system", *sorted(_asked("once"), key=lambda name: name.endswith("_on")))  # the days stand side by side
    MORE = (*_asked("more"), "attached")

    def offer(self, found: Suggestions) -> None:
        """Show the labor plans that can be bought."""
        plans = self.fields["attached"].widget
        assert isinstance(plans, forms.Select)
        plans.choices = [("", ""), *found.plans]

    def where(self) -> list[forms.BoundField]:
        """The fields of the customer and the site after the customer's name."""
        return [self[name] for name in self.WHERE]

    def once(self) -> list[forms.BoundField]:
        """The fields of the system."""
        return [self[name] for name in self.ONCE]

    def more(self) -> list[forms.BoundField]:
        """The fields that terms may ask about."""
        return [self[name] for name in self.MORE]

    @property
    def told_more(self) -> bool:
        """Whether any of those has something in it."""
        return any(self[name].value() or self[name].errors for name in self.MORE)


class UnitForm(_InstallPart):
    """One unit."""

    role = _choice("Role", [(word, word) for word in words.ROLES])
    maker = _text("Manufacturer", list="makers")
    model = _text("Model", list="models", spellcheck="false", autocapitalize="characters")
    style = _choice("Style", _one_of(words.STYLES))
    room = _text("Room")
    serial = _text("Serial", spellcheck="false", autocapitalize="characters")
    another_unit = forms.CharField(required=False)
    plate = files_field("Nameplate photo")

    ASKED = ("row",)
    WHAT = ("role", "maker", "model", "style")
    SHOWN = (*WHAT, *sorted(set(_asked("row")) - {*WHAT, *pages.TOLD_APART}), *pages.TOLD_APART)

    def shown(self) -> list[forms.BoundField]:
        """The fields in the order of the row."""
        return [self[name] for name in self.SHOWN]


UnitFormSet = forms.formset_factory(
    UnitForm, extra=0, max_num=pages.MOST_UNITS, absolute_max=pages.MOST_UNITS, validate_max=True
)
_FIRST_ROWS = [{"role": "outdoor"}, {"role": "head"}]


class NewInstall:
    """The whole form: what holds for all, and the rows."""

    def __init__(
        self,
        data: QueryDict | None = None,
        files: Any = None,
        *,
        initial: Mapping[str, str] | None = None,
        serial: str = "",
    ) -> None:
        first = {"site": pages.FIRST_SITE, "system": pages.FIRST_SYSTEM}
        self.install = InstallForm(data, files, initial=first | dict(initial or {}))
        first_rows = [_FIRST_ROWS[0] | ({"serial": serial} if serial else {}), *_FIRST_ROWS[1:]]
        self.units = UnitFormSet(data, files, prefix="unit", initial=None if data is not None else first_rows)

    @classmethod
    def with_more_rows(cls, data: QueryDict) -> "NewInstall":
        """The form with a few rows more, each like the last."""
        sent = cls(data)
        last = sent.units.forms[-1].cells() if sent.units.forms else {"role": "outdoor"}
        there = len(sent.units.forms)
        count = min(there + MORE_ROWS, pages.MOST_UNITS)
        longer = data.copy()
        longer["unit-TOTAL_FORMS"], longer["unit-INITIAL_FORMS"] = str(count), "0"
        for number in range(there, count):
            last = pages.copied(last)
            longer.update({f"unit-{number}-{name}": value for name, value in last.items()})
        found = cls(longer)
        del found.install.fields["customer"].widget.attrs["autofocus"]
        if count > there:
            found.units.forms[there].fields["room"].widget.attrs["autofocus"] = True
        return found

    def told(self) -> Told:
        """What was written; a row in which nothing was written since it was copied is left out."""
        units: dict[int, dict[str, str]] = {}
        above: dict[str, str] = {}
        for number, form in enumerate(self.units.forms):
            cells = form.cells()
            as_copied = all(
                cells[name] in ("", above.get(name)) for name in cells if name not in ("role", *pages.TOLD_APART)
            )
            if cells["room"] or cells["serial"] or not as_copied or form.cleaned_data.get("plate"):
                units[number] = cells
            above = cells
        return Told(self.install.cells(), units)

    def photos(self) -> Iterator[tuple[int | None, UploadedFile]]:
        """Each file that was chosen, with the row of the unit whose nameplate it shows; None: the proof of registration."""
        for number, form in enumerate(self.units.forms):
            yield from ((number, file) for file in form.cleaned_data.get("plate") or ())
        yield from ((None, file) for file in self.install.cleaned_data.get("proof") or ())

    def is_whole(self) -> bool:
        """Whether the form came back with all its fields well formed."""
        return self.units.is_valid() and self.install.is_valid()

    def show(self, doubts: Iterable[Doubt]) -> bool:
        """Show doubts; return whether any still stands in the way."""
        standing = [self._form(doubt.unit).show(doubt) for doubt in doubts]
        return any(standing)

    def asks_back(self, oddities: Mapping[int | None, Iterable[Oddity]]) -> bool:
        """Show what is odd, by the row of its unit; return whether any of it is still to be confirmed."""
        standing = [self._form(unit).asks_back(odd) for unit, odd in oddities.items()]
        return any(standing)

    def refuse(self, refused: Refused) -> None:
        """Show what is wrong, each beside its field."""
        for name, texts in refused.faults.items():
            unit, _, field = name.removeprefix("unit-").partition("-")
            of = self._form(int(unit)) if field else self.install
            of.refuse(field or name, texts)

    def _form(self, unit: int | None) -> _InstallPart:
        return self.install if unit is None else self.units.forms[unit]
