"""How one spreadsheet is read: what each of its columns is, and what a person has said of whatever could not be read.

A plan reads a row at a time, in the order of the file, and tells what is still open: nothing is left out in silence.
"""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from fleet.rules.spreadsheets import cells as cell_rules
from fleet.rules.spreadsheets import days, headings, people, places
from fleet.rules.spreadsheets.cells import HOUSEHOLD, Act, Meaning
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.headings import ADDRESS, FIRST_NAME, LAST_NAME, NOTE
from fleet.rules.spreadsheets.places import Address

# Checks a value of a column and gives it as it is kept; raises ValueError, whose text says what is wanted.
Plain = Callable[[str], str]
# A customer, a site of theirs (blank: the customer as a whole), and one of our columns.
Fact = tuple[str, str, str]
# A customer's name, and a street by `places.same_street` (blank: all streets of the name).
NameAndStreet = tuple[str, str]
# Who is meant by a name at a street: another customer of the name, still to be made; one on file, by its key. By a name at
# several streets: one customer, or one at each street.
NEW_CUSTOMER, ONE, APART = "new", "one", "apart"
# In this order: a ZIP code is read by its row's state.
_FIRST = (ADDRESS, "region")


@dataclass(frozen=True, slots=True)
class Columns:
    """Our columns of one kind of file: how each value is checked, those that hold days, and those that each row needs."""

    plain: Mapping[str, Plain]
    days: frozenset[str]
    required: tuple[str, ...]

    @property
    def core(self) -> frozenset[str]:
        """Columns of which a row has at least one filled: one that has only the name of a house, or a total, tells of nothing."""
        return frozenset({*self.required, "serial"} - {*HOUSEHOLD, "system"})


@dataclass(frozen=True, slots=True)
class Plan:
    """What is said of a spreadsheet so far."""

    columns: Mapping[str, str]  # what each of their headings is
    given: Mapping[str, str] = field(default_factory=dict)  # the same for all rows
    ways: Mapping[str, Way] = field(default_factory=dict)  # worked out
    orders: Mapping[str, Order] = field(default_factory=dict)  # of days in numbers
    meanings: Mapping[str, Mapping[str, Meaning]] = field(default_factory=dict)  # by column and text
    rest: Mapping[str, Meaning] = field(default_factory=dict)  # of every other text that cannot be read
    addresses: Mapping[str, Address] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)  # of customers that are one, the name that stays
    left_out: Collection[int] = ()  # rows
    serials: Mapping[int, str] = field(default_factory=dict)  # by row, put right
    # Of a customer, or of one site of theirs, the one value that holds where its rows say several.
    facts: Mapping[Fact, str] = field(default_factory=dict)
    whose: Mapping[NameAndStreet, str] = field(default_factory=dict)  # who is meant by a name at a street
    confirmed: Collection[str] = ()  # questions that were answered, or that somebody said yes to

    def meaning(self, column: str, text: str) -> Meaning | None:
        """What a text of a column means, if somebody said so."""
        return self.meanings.get(column, {}).get(text) or (self.rest.get(column) if text else None)


@dataclass(slots=True)
class Row:
    """One row as far as it is read: values by our columns, notes, and what nobody has said yet."""

    number: int
    cells: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    unread: list[tuple[str, str]] = field(default_factory=list)
    ambiguous: list[tuple[str, str]] = field(default_factory=list)
    # What the file has, by our columns, for showing what was made of it; its address before it was taken apart.
    texts: dict[str, str] = field(default_factory=dict)
    address: Address | None = None
    # What is the row above's, which has its notes already.
    copied: set[str] = field(default_factory=set)
    is_empty: bool = False  # a title, a total or a house without a unit: whatever it is, it is nothing to take


class Reader:
    """Reads the rows of one file, in their order."""

    def __init__(self, plan: Plan, ours: Columns) -> None:
        self._plan = plan
        self._ours = ours
        self._above: dict[str, str] = {}
        # Our columns in the order in which they are read, each with the headings of theirs that it is.
        by_column: dict[str, list[str]] = {}
        for heading, column in plan.columns.items():
            by_column.setdefault(column, []).append(heading)
        self._columns = {column: by_column[column] for column in sorted(by_column, key=lambda name: name not in _FIRST)}
        matched = {*by_column, *plan.given, *plan.ways}
        if FIRST_NAME in matched or LAST_NAME in matched:
            matched.add("customer")
        self._needed = tuple(name for name in ours.required if name in matched)

    def row(self, number: int, theirs: Mapping[str, str]) -> Row | None:
        """One row by our columns; nothing where it is left out, or only says the headings again."""
        if number in self._plan.left_out or headings.is_header_again(theirs):
            return None
        row = Row(number, dict(self._plan.given))
        self._texts(row, theirs)
        if headings.is_total(theirs) or not any(row.texts.get(column) for column in self._ours.core):
            row.is_empty = True
            return row
        for column in self._columns:
            if column != NOTE and (text := row.texts.get(column, "")) and not self._take(row, column, text):
                return None
        for heading in self._columns.get(NOTE, ()):
            if (text := theirs.get(heading, "")) and not self._take_note(row, heading, text):
                return None
        self._name(row)
        if number in self._plan.serials:
            row.cells["serial"] = self._plan.serials[number]
        if not self._missing(row):
            return None
        self._above = row.texts
        if row.notes:
            row.cells["notes"] = "; ".join(filter(None, [row.cells.get("notes", ""), *row.notes]))
        return row

    def _texts(self, row: Row, theirs: Mapping[str, str]) -> None:
        """Set down what the file has; where a row's customer is of the row above, so is whatever else of the house is blank."""
        row.texts = {
            column: "; ".join(filter(None, (theirs.get(heading, "") for heading in those)))
            for column, those in self._columns.items()
            if column != NOTE
        }
        above = [column for column in row.texts if self._is_above(column, row.texts[column])]
        if any(column in ("customer", LAST_NAME, FIRST_NAME) for column in above):
            above += [column for column in row.texts if column in HOUSEHOLD and not row.texts[column]]
        for column in above:
            row.texts[column] = self._above.get(column, "")
        row.copied.update(above)

    def _is_above(self, column: str, text: str) -> bool:
        meaning = self._plan.meaning(column, text) if text or column in self._needed or column in HOUSEHOLD else None
        return meaning is not None and meaning.act is Act.ABOVE

    def _take(self, row: Row, column: str, text: str) -> bool:
        """Take one text; False where its row is left out."""
        if column == ADDRESS and cell_rules.read(column, text):
            row.address = self._plan.addresses.get(text) or places.take_apart(text)
            self._take_address(row, row.address)
            return True
        if values := self.values(row, column, text):
            self._keep_phone_of_name(row, column, values)
            row.cells.update(values)
            return True
        return self._take_unread(row, column, text, said=headings.title(column))

    def _keep_phone_of_name(self, row: Row, column: str, values: dict[str, str]) -> None:
        """A phone number behind a name is the customer's, unless the row has another, beside which it is a note."""
        if column != "customer" or "phone" not in values or not row.texts.get("phone"):
            return
        number = values.pop("phone")
        if people.phone(row.texts["phone"]) != number:
            row.notes.append(f"{headings.title('phone')}: {number}")

    def values(self, row: Row, column: str, text: str) -> dict[str, str] | None:
        """The values that a text can only mean, as they are kept."""
        values = cell_rules.read(
            column,
            text,
            is_day=column in self._ours.days,
            order=self._plan.orders.get(column),
            region=row.cells.get("region", ""),
        )
        if values is None:
            return None
        try:
            return {
                name: self._ours.plain[name](value) if name in self._ours.plain else value
                for name, value in values.items()
            }
        except ValueError:
            return None

    def _take_note(self, row: Row, heading: str, text: str) -> bool:
        if cell_rules.read(NOTE, text) is not None:
            row.notes.append(f"{heading}: {text}")
            return True
        return self._take_unread(row, NOTE, text, said=heading)

    def _take_unread(self, row: Row, column: str, text: str, *, said: str) -> bool:
        meaning = self._plan.meaning(column, text)
        match meaning:
            case None | Meaning(Act.ABOVE):
                if column in self._ours.days and days.is_ambiguous(text) and meaning is None:
                    row.ambiguous.append((column, text))
                else:
                    row.unread.append((column, text))
            case Meaning(Act.VALUE):
                self._take_value(row, column, text, meaning.value)
            case Meaning(Act.BOTH):
                self._take_value(row, column, text, meaning.value)
                self._note(row, column, f"{said}: {text}")
            case Meaning(Act.NOTE):
                self._note(row, column, f"{said}: {text}")
            case Meaning(Act.LEAVE_OUT):
                return False
        return True

    def _note(self, row: Row, column: str, note: str) -> None:
        if column not in row.copied:
            row.notes.append(note)

    def _take_value(self, row: Row, column: str, text: str, value: str) -> None:
        if values := self.values(row, column, value):
            row.cells.update(values)
        else:  # what was said once may not hold for a row of today, such as a day that is still to come
            row.unread.append((column, text))

    def _take_address(self, row: Row, address: Address) -> None:
        parts = {"street": address.street, "city": address.city, "region": address.region, "postcode": address.postcode}
        row.cells.update({name: part for name, part in parts.items() if part})

    def _name(self, row: Row) -> None:
        whole = " ".join(filter(None, (row.cells.pop(name, "") for name in (FIRST_NAME, LAST_NAME))))
        if whole and not row.cells.get("customer"):
            row.cells["customer"] = whole
        if name := row.cells.get("customer"):
            row.cells["customer"] = self._plan.names.get(name, name)

    def _missing(self, row: Row) -> bool:
        """Note a blank that each row needs a value for; False where somebody said that such a row is left out."""
        for column in self._blanks(row):
            meaning = self._plan.meaning(column, "")
            if meaning is not None and meaning.act is Act.LEAVE_OUT:
                return False
            if meaning is not None and meaning.act is Act.VALUE:
                self._take_value(row, column, "", meaning.value)
            else:
                row.unread.append((column, ""))
        return True

    def _blanks(self, row: Row) -> Iterator[str]:
        said = {column for column, _ in (*row.unread, *row.ambiguous)}
        for column in self._needed:
            if column not in self._plan.ways and not row.cells.get(column) and column not in said:
                yield column
        if (
            "room" in self._ours.plain
            and not row.cells.get("serial")
            and not row.cells.get("room")
            and not said & {"serial", "room"}
        ):
            yield "room"


def as_json(plan: Plan) -> dict[str, Any]:
    """A plan in plain values, for keeping."""
    return {
        "given": dict(plan.given),
        "ways": dict(plan.ways),
        "orders": dict(plan.orders),
        "meanings": {
            column: {text: [meaning.act, meaning.value] for text, meaning in many.items()}
            for column, many in plan.meanings.items()
        },
        "rest": {column: [meaning.act, meaning.value] for column, meaning in plan.rest.items()},
        "addresses": {text: [one.street, one.city, one.region, one.postcode] for text, one in plan.addresses.items()},
        "names": dict(plan.names),
        "left_out": sorted(plan.left_out),
        "serials": {str(row): serial for row, serial in plan.serials.items()},
        "facts": [[*fact, value] for fact, value in plan.facts.items()],
        "whose": [[*where, answer] for where, answer in plan.whose.items()],
        "confirmed": sorted(plan.confirmed),
    }


def from_json(columns: Mapping[str, str], stored: Mapping[str, Any]) -> Plan:
    """A plan as it was kept."""
    return Plan(
        columns=columns,
        given=stored.get("given", {}),
        ways={column: Way(way) for column, way in stored.get("ways", {}).items()},
        orders={column: Order(order) for column, order in stored.get("orders", {}).items()},
        meanings={
            column: {text: Meaning(Act(act), value) for text, (act, value) in many.items()}
            for column, many in stored.get("meanings", {}).items()
        },
        rest={column: Meaning(Act(act), value) for column, (act, value) in stored.get("rest", {}).items()},
        addresses={text: Address(*parts) for text, parts in stored.get("addresses", {}).items()},
        names=stored.get("names", {}),
        left_out=frozenset(stored.get("left_out", ())),
        serials={int(row): serial for row, serial in stored.get("serials", {}).items()},
        facts={(customer, site, column): value for customer, site, column, value in stored.get("facts", ())},
        whose={(name, street): answer for name, street, answer in stored.get("whose", ())},
        confirmed=frozenset(stored.get("confirmed", ())),
    )
