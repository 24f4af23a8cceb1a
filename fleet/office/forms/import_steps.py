"""What somebody answers of a file before it is taken, a step at a time."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm
from fleet.office.actions.import_kinds import Kind
from fleet.office.actions.imports import Confirmed, Twin, Values
from fleet.office.pages import import_steps as pages
from fleet.rules import words
from fleet.rules.spreadsheets import headings, places
from fleet.rules.spreadsheets.cells import Act, Meaning
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.places import Address
from fleet.rules.spreadsheets.plan import Plan, Reader, Row

LEFT_OUT, GIVEN = "-", "given"
# What is worth giving for all rows where no column has it; any other fact is put in the file.
OFTEN_GIVEN = ("region", "city", "use", "installed_by", "licensed_installer", "recognized_installer", "refrigerant")


class SheetForm(ActionForm):
    """Which sheet is read, and which of its rows names the columns."""

    row = forms.ChoiceField(
        label="The row that names the columns", error_messages={"required": "Choose the row that names the columns."}
    )

    def __init__(self, data: Any = None, *, page: pages.SheetPage) -> None:
        super().__init__(data)
        self._page = page
        choices = [(line.choice, "") for top in page.sheets for line in top.lines]
        choices += [(top.no_headings, "") for top in page.sheets]
        self.fields["row"].choices = choices  # type: ignore[attr-defined]
        self.chosen = data.get("row", "") if data else page.chosen

    def said(self) -> tuple[str, int]:
        """The sheet by its name, and the number of the row (-1: none names the columns)."""
        place, _, number = self.cleaned_data["row"].partition(":")
        return self._page.sheets[int(place)].name, int(number)


class ColumnsForm(ActionForm):
    """For each of their columns, ours that it is, or that it is left out; and how those that they lack are filled."""

    rest = forms.ChoiceField(
        required=False,
        label="Every column that is not matched",
        choices=[("", "choose"), (headings.NOTE, "keep it in the notes"), (LEFT_OUT, "leave it out")],
    )

    def __init__(self, data: Any = None, *, page: pages.ColumnsPage, kind: Kind, on: dt.date) -> None:
        super().__init__(data)
        self._page, self._kind, self._on = page, kind, on
        ours = [(one.name, f"{one.title} (needed)" if one.required else one.title) for one in page.ours]
        choices = [("", "choose"), (LEFT_OUT, "leave it out"), *ours]
        for number, column in enumerate(page.columns):
            self.fields[f"column_{number}"] = forms.ChoiceField(
                required=False, label=column.heading, choices=choices, initial=column.name
            )
        matched = self._matched_now()
        self._missing = [one for one in page.ours if self._can_be_given(one, matched)]
        for one in self._missing:
            self._add_missing(one)

    def _matched_now(self) -> set[str]:
        if self.is_bound:
            return {str(self.data.get(f"column_{number}", "")) for number in range(len(self._page.columns))}
        return {column.name for column in self._page.columns}

    def _can_be_given(self, one: pages.Ours, matched: set[str]) -> bool:
        if one.name in matched or (one.name == "customer" and matched & {headings.FIRST_NAME, headings.LAST_NAME}):
            return False
        is_in_address = headings.ADDRESS in matched and one.name in ("street", "city", "region", "postcode")
        return one.required or (one.name in OFTEN_GIVEN and one.name in self._kind.names and not is_in_address)

    def _add_missing(self, one: pages.Ours) -> None:
        ways = [(way.value, words) for way, words in one.ways]
        if ways:
            self.fields[f"way_{one.name}"] = forms.ChoiceField(
                required=False,
                label=f"{one.title} is",
                choices=[*ways, (GIVEN, "the same for all rows:")],
                initial=self._page.ways.get(one.name) or (GIVEN if self._page.given.get(one.name) else ways[0][0]),
            )
        known = self._kind.choices(one.name)
        label = f"{one.title}, the same for all rows" if not ways else f"{one.title} for all rows"
        self.fields[f"given_{one.name}"] = (
            forms.ChoiceField(
                required=False,
                label=label,
                choices=[("", "not given"), *((word, pages.shown(one.name, word)) for word in known)],
                initial=self._page.given.get(one.name, ""),
            )
            if known
            else forms.CharField(
                required=False,
                label=label,
                max_length=200,
                initial=pages.shown(one.name, self._page.given.get(one.name, "")),
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )
        )

    @property
    def lines(self) -> list[tuple[pages.Theirs, forms.BoundField]]:
        """Each of their columns with its field."""
        return [(column, self[f"column_{number}"]) for number, column in enumerate(self._page.columns)]

    @property
    def needed(self) -> list[list[forms.BoundField]]:
        """The fields of each of our columns that rows need and that theirs do not have."""
        return [self._of(one) for one in self._missing if one.required]

    @property
    def optional(self) -> list[list[forms.BoundField]]:
        """The same of those that may be given."""
        return [self._of(one) for one in self._missing if not one.required]

    def _of(self, one: pages.Ours) -> list[forms.BoundField]:
        return [self[name] for name in (f"way_{one.name}", f"given_{one.name}") if name in self.fields]

    def clean(self) -> dict[str, Any]:
        """Have every column either matched or left out, each of ours matched once, and what is given readable."""
        asked = self.cleaned_data
        first: dict[str, str] = {}
        for number, column in enumerate(self._page.columns):
            field = f"column_{number}"
            name = asked.get(field, "")
            if not name and not asked.get("rest") and field not in self.errors:
                self.add_error(field, "Say what it is, or leave it out.")
            elif name in first:
                self.add_error(field, f"“{first[name]}” is matched with this already.")
            elif name and name not in (LEFT_OUT, headings.NOTE, "notes"):
                first[name] = column.heading
        for one in self._missing:
            self._clean_missing(one)
        return asked

    def _clean_missing(self, one: pages.Ours) -> None:
        asked, field = self.cleaned_data, f"given_{one.name}"
        if (asked.get(f"way_{one.name}") or GIVEN) != GIVEN:
            asked[field] = ""
            return
        text = asked.get(field, "").strip()
        if not text:
            if one.required and f"way_{one.name}" in self.fields:
                self.add_error(field, "Write what it is in all rows.")
            return
        value = readable(self._kind, one.name, text, on=self._on)
        if value is None:
            self.add_error(field, f"“{text}” cannot be read as {one.title.lower()}.")
        else:
            asked[field] = value

    def matched(self) -> dict[str, str]:
        """Our column by theirs."""
        rest = self.cleaned_data["rest"]
        chosen = {column.heading: self.cleaned_data[field.name] or rest for column, field in self.lines}
        return {heading: name for heading, name in chosen.items() if name not in ("", LEFT_OUT)}

    def given(self) -> dict[str, str]:
        """What is the same for all rows, by our column."""
        return {one.name: value for one in self._missing if (value := self.cleaned_data.get(f"given_{one.name}", ""))}

    def ways(self) -> dict[str, Way]:
        """How a column is worked out."""
        said = {one.name: self.cleaned_data.get(f"way_{one.name}", "") for one in self._missing}
        return {name: Way(way) for name, way in said.items() if way not in ("", GIVEN)}


def readable(kind: Kind, column: str, text: str, *, on: dt.date) -> str | None:
    """What somebody writes for a column as it is kept; nothing where it cannot be read."""
    found = Reader(Plan({}), kind.ours(on)).values(Row(0), column, text)
    if found is None or column not in found:
        return None
    # One word may say two things: "wall head" is kept as it was said, and read again in each row.
    return text if len(found) > 1 else found[column]


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
        for asked in page.days:
            self.fields[f"order_{asked.column}"] = forms.ChoiceField(
                label=f"{asked.heading}: which comes first?",
                choices=[(reading.order, f"{reading.order}: {reading.words}") for reading in asked.readings],
                widget=forms.RadioSelect,
                initial=asked.chosen,
                error_messages={"required": "Say which comes first."},
            )
        for others in page.others:
            self.fields[f"rest_{others.column}"] = forms.ChoiceField(
                label=f"{others.count:,} other texts of {others.title}",
                choices=[("", "choose"), (Act.NOTE, "keep them in the notes"), (Act.BLANK, "leave them blank")],
                initial=others.act,
                error_messages={"required": "Say what becomes of them."},
            )

    def _add(self, number: int, one: pages.Unread) -> None:
        value_of = f"{Act.VALUE}:{one.value}"
        known = [(f"{Act.VALUE}:{word}", pages.shown(one.column, word)) for word in one.choices]
        acts = [
            *([(Act.ABOVE.value, "the same as the row above")] if one.is_of_house else []),
            *([(Act.BLANK.value, "leave it blank")] if one.can_be_blank else []),
            *([(Act.NOTE.value, "keep it in the notes")] if one.text else []),
            *([] if one.can_be_blank else [(Act.LEAVE_OUT.value, "leave these rows out")]),
        ]
        written = [] if known else [(Act.VALUE.value, "what I write beside it")]
        initial = one.act if one.act != Act.VALUE or not known else value_of
        self.fields[f"means_{number}"] = forms.ChoiceField(
            required=False,
            label=f"{one.title}: {one.text or 'blank'}",
            choices=[("", "choose"), *known, *written, *acts],
            initial=initial,
        )
        if not known:
            self.fields[f"value_{number}"] = forms.CharField(
                required=False,
                label=f"{one.title} for {one.text or 'blank'}",
                max_length=200,
                initial=one.value,
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )

    def _lines(self, unread: tuple[pages.Unread, ...], start: int) -> list[ValueLine]:
        return [
            ValueLine(
                one, self[f"means_{number}"], self[f"value_{number}"] if f"value_{number}" in self.fields else None
            )
            for number, one in enumerate(unread, start)
        ]

    @property
    def lines(self) -> list[ValueLine]:
        """The texts that nobody has said anything of."""
        return self._lines(self._page.unread, 0)

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
            elif act is Act.VALUE:
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
        found = readable(self._kind, one.column, value, on=self._on) if value else None
        if not value:
            self.add_error(field, "Write what it means.")
        elif found is None:
            wanted = "a day that can be read one way, such as March 8, 2024, and not later than today"
            self.add_error(
                field, f"Write {wanted}." if one.column in self._kind.days else f"“{value}” cannot be read here."
            )
        else:
            self.cleaned_data[f"kept_{number}"] = found

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


_PARTS = {"street": ("Street", 200), "city": ("City", 120), "region": ("State", 40), "postcode": ("ZIP code", 20)}


class ConfirmForm(ActionForm):
    """Addresses taken apart, customers that may be one, facts that differ, and serials that are alike."""

    def __init__(self, data: Any = None, *, page: pages.ConfirmPage) -> None:
        super().__init__(data)
        self._page = page
        for number, address in enumerate(page.unsure):
            for part, (label, most) in _PARTS.items():
                self.fields[f"address_{number}_{part}"] = forms.CharField(
                    required=False,
                    label=label,
                    max_length=most,
                    initial=pages.shown(part, getattr(address, part)),
                    widget=forms.TextInput(attrs={"autocomplete": "off"}),
                )
        for name, many in (("name", page.names), ("fact", page.facts)):
            for number, one in enumerate(many):
                choices = [
                    (
                        value.value,
                        f"{value.words} (row {value.row:,}{f', {value.count:,} in all' if value.count > 1 else ''})",
                    )
                    for value in one.values
                ]
                if name == "name":
                    choices.append((LEFT_OUT, "They are different customers"))
                self._ask(f"{name}_{number}", one.title or "One customer, by the name", choices, one.answer or LEFT_OUT)
        for number, twins in enumerate(page.twins):
            self._ask(f"twin_{number}", "What are they?", list(twins.choices), twins.answer)
            for unit in twins.units:
                if unit.row:
                    self.fields[f"serial_{number}_{unit.row}"] = forms.CharField(
                        required=False,
                        label=f"Serial in row {unit.row:,}",
                        max_length=120,
                        initial=unit.serial,
                        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
                    )

    def _ask(self, name: str, label: str, choices: list[tuple[str, str]], initial: str) -> None:
        self.fields[name] = forms.ChoiceField(
            label=label,
            choices=choices,
            widget=forms.RadioSelect,
            initial=initial,
            error_messages={"required": "Choose one of these."},
        )

    @property
    def addresses(self) -> Iterator[tuple[pages.AddressAsked, list[forms.BoundField]]]:
        """Each address that only its words take apart, with a field for each part."""
        for number, address in enumerate(self._page.unsure):
            yield address, [self[f"address_{number}_{part}"] for part in _PARTS]

    @property
    def names(self) -> list[forms.BoundField]:
        """Names that may be of one customer."""
        return [self[f"name_{number}"] for number in range(len(self._page.names))]

    @property
    def facts(self) -> list[forms.BoundField]:
        """Facts that rows of one house say differently."""
        return [self[f"fact_{number}"] for number in range(len(self._page.facts))]

    @property
    def twins(
        self,
    ) -> Iterator[tuple[pages.Twins, forms.BoundField, list[tuple[pages.Beside, forms.BoundField | None]]]]:
        """Units side by side, each of the file with a field for its serial."""
        for number, twins in enumerate(self._page.twins):
            beside = [(unit, self[f"serial_{number}_{unit.row}"] if unit.row else None) for unit in twins.units]
            yield twins, self[f"twin_{number}"], beside

    def clean(self) -> dict[str, Any]:
        """Have each state and ZIP code be one, and units that are different have serials that differ."""
        for number, address in enumerate(self._page.unsure):
            self._clean_address(number, address)
        for number, twins in enumerate(self._page.twins):
            plates = [words.key(serial) for serial in self._serials(number, twins).values()]
            is_as_they_are = self.cleaned_data.get(f"twin_{number}") == "as they are"
            if not all(plates):
                self.add_error(f"twin_{number}", "Each of these needs a serial.")
            elif is_as_they_are and twins.must_differ and len(set(plates)) < len(plates):
                self.add_error(
                    f"twin_{number}", "Different units have different serials: correct the one that is wrong."
                )
        return self.cleaned_data

    def _clean_address(self, number: int, address: pages.AddressAsked) -> None:
        asked = self.cleaned_data
        state = asked.get(f"address_{number}_region", "").strip()
        region = places.region(state) if state else ""
        if region is None:
            self.add_error(f"address_{number}_region", "Write a state, such as Maine or ME.")
            return
        code = asked.get(f"address_{number}_postcode", "").strip()
        postcode = places.postcode(code, region) if code else ""
        if postcode is None:
            self.add_error(f"address_{number}_postcode", "Write a ZIP code, such as 04101.")
            return
        asked[f"address_{number}"] = Address(
            asked[f"address_{number}_street"].strip(), asked[f"address_{number}_city"].strip(), region, postcode
        )

    def _serials(self, number: int, twins: pages.Twins) -> Mapping[int, str]:
        return {
            unit.row: self.cleaned_data.get(f"serial_{number}_{unit.row}", "").strip()
            for unit in twins.units
            if unit.row
        }

    def said(self) -> Confirmed:
        """All of it."""
        asked = self.cleaned_data
        names = {one.key: asked[f"name_{number}"] for number, one in enumerate(self._page.names)}
        return Confirmed(
            addresses={one.text: asked[f"address_{number}"] for number, one in enumerate(self._page.unsure)},
            names={key: "" if name == LEFT_OUT else name for key, name in names.items()},
            facts={one.key: asked[f"fact_{number}"] for number, one in enumerate(self._page.facts)},
            twins={
                one.key: Twin(asked[f"twin_{number}"], self._serials(number, one))
                for number, one in enumerate(self._page.twins)
            },
            keys=frozenset((self._page.addresses_key,)),
        )
