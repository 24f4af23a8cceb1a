"""One cell under a column of ours: the values that it can only mean, and what is proposed where nothing can be sure."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from fleet.rules import words
from fleet.rules.spreadsheets import blanks, days, equipment, people, places
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.headings import ADDRESS, NOTE


class Act(StrEnum):
    """What becomes of a text that cannot be read."""

    VALUE = "value"
    BOTH = "both"
    BLANK = "blank"
    NOTE = "note"
    ABOVE = "above"
    LEAVE_OUT = "leave out"


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a person says that a text means: another text that can be read, that and a note of what stands there, nothing, a note,
    the row above, or no row at all.
    """

    act: Act
    value: str = ""


BLANK, AS_NOTE, AS_ABOVE, NO_ROW = Meaning(Act.BLANK), Meaning(Act.NOTE), Meaning(Act.ABOVE), Meaning(Act.LEAVE_OUT)

# What is of a house and not of a unit: a row may leave it blank where the row above has it.
HOUSEHOLD = (
    "customer",
    "first name",
    "last name",
    "phone",
    "email",
    "site",
    ADDRESS,
    "street",
    "city",
    "region",
    "postcode",
    "use",
)
YES_NO = (
    "new_construction", "registration_accepted_late", "recognized_installer", "licensed_installer", "matched_system",
    "original_site", "under_warranty",
)  # fmt: skip
_PERCENT = r"%|percent|pct"
_READS: dict[str, Callable[[str], str | None]] = {
    "customer": people.name,
    "phone": people.phone,
    "email": people.email,
    "region": places.region,
    "use": equipment.use,
    "access": equipment.access,
    "surroundings": equipment.surroundings,
    "refrigerant": equipment.refrigerant,
    "still_matched": equipment.yes_no,
    "plate_charge_oz": equipment.ounces,
    "plate_amps": lambda cell: equipment.number(cell, "a|amps?"),
    "drive_minutes": equipment.minutes,
    "labor_minutes": equipment.minutes,
    "parts_cost": equipment.number,
    "first_head": equipment.number,
    "further_head": equipment.number,
    "discount_percent": lambda cell: equipment.number(cell, _PERCENT),
    "rise_percent": lambda cell: equipment.number(cell, _PERCENT),
    **dict.fromkeys(YES_NO, equipment.yes_no),
}
_PLATE = ("model", "serial", "new_model", "new_serial")
# Of one thing: more than that in its cell is a remark, or another one.
_ONE_MARK = ("serial", "model", "new_serial", "new_model")
_REMARK = re.compile(r"^(.*?)\s*(?:[(\[].*|[-–,;]\s+[a-z].*)$|^(.*?)\s+[a-z]{3,}.*$")
_PREFIXED = re.compile(r"['’‘`](?=.*[0-9])")
_US = frozenset(("us", "we", "ours", "we did", "our crew"))
# What a head's kind is called where one word says both.
HEADS = tuple(f"{style} head" for style in words.STYLES)


@lru_cache(maxsize=1 << 14)
def read(
    column: str, cell: str, *, is_day: bool = False, order: Order | None = None, region: str = ""
) -> dict[str, str] | None:
    """The values of ours that a cell can only mean, by column; nothing where it could mean another, or none.

    >>> read("role", "Wall head"), read("role", "Indoor"), read("installed_on", "3/8/24", is_day=True)
    ({'role': 'head', 'style': 'wall'}, None, None)
    """
    text = " ".join(cell.split()) if column not in ("notes", NOTE, ADDRESS) else cell.strip()
    if column in _PLATE:
        text = _PREFIXED.sub("", text, count=1) if _PREFIXED.match(text) else text
    if blanks.is_nothing(text) or blanks.is_above(text):
        return None
    if is_day:
        day = days.in_order(text, order) or days.one_day(text)
        return {column: day.isoformat()} if day else None
    match column:
        case "role" | "style":
            return _kind(column, text)
        case "postcode":
            return _one(column, places.postcode(text, region))
        case "installed_by":
            return {column: "us" if text.casefold() in _US else text}
        case _ if column in _PLATE and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?: .*)?", text):
            return None  # a spreadsheet has taken what was typed for a day
        case _ if column in _PLATE and not _is_one_mark(text):
            return None
        case "customer" if people.phones_in(text):
            return _name_and_phone(text)
    reads = _READS.get(column)
    return _one(column, reads(text)) if reads else {column: text}


def _is_one_mark(text: str) -> bool:
    """Whether a serial or a model has no remark beside it, and is not two of them."""
    return not re.search(r"[()\[\],;\n]|\s[/&+]\s|\b[a-z]{3,}\b", text)


def _name_and_phone(text: str) -> dict[str, str] | None:
    """A name and the one phone number behind it; nothing where more stands there."""
    numbers = people.phones_in(text)
    name = people.without_phones(text)
    if len(numbers) != 1 or not name or re.search(r"[0-9]", name):
        return None
    return {"customer": people.name(name), "phone": numbers[0]}


def _one(column: str, value: str | None) -> dict[str, str] | None:
    return None if value is None else {column: value}


def _kind(column: str, text: str) -> dict[str, str] | None:
    if column == "role" and text.casefold() in words.ROLES:
        return {column: text.casefold()}
    kind = equipment.kind(text)
    if kind is None or not kind.is_sure:
        return None
    if column == "style":
        return {"style": kind.style} if kind.style else None
    return {"role": kind.role} | ({"style": kind.style} if kind.style else {})


def propose(column: str, cell: str, *, is_required: bool = False, is_day: bool = False) -> Meaning | None:
    """What a text that cannot be read most likely means; nothing where a person has to say it.

    >>> propose("serial", "n/a"), propose("role", "Indoor", is_required=True)
    (Meaning(act=<Act.BLANK: 'blank'>, value=''), Meaning(act=<Act.VALUE: 'value'>, value='head'))
    >>> propose("installed_on", "yes - see file", is_day=True), propose("model", "n/a", is_required=True)
    (Meaning(act=<Act.NOTE: 'note'>, value=''), None)
    """
    if blanks.is_above(cell) or (not cell and column in HOUSEHOLD):
        return AS_ABOVE
    if is_required and (not cell or blanks.is_nothing(cell)):
        return None
    if blanks.is_nothing(cell):
        return BLANK
    if value := _proposed_value(column, cell, is_day=is_day):
        return Meaning(Act.BOTH if _says_more(column, cell, value) else Act.VALUE, value)
    if is_required or not cell or (is_day and days.is_ambiguous(cell)):
        return None
    return AS_NOTE


def _says_more(column: str, cell: str, value: str) -> bool:
    """Whether a cell says something that is not in the value that is proposed for it, which then goes to the notes."""
    if column in ("role", "style"):
        return not equipment.is_all_known(cell)
    bare = _bare(cell)
    if column in YES_NO:
        return len(bare) > len("registered")
    if column == "postcode" or column == "use":
        return False
    if days.serial_day(cell):
        return False
    return bare != _bare(value) if column not in ("phone",) else people.phone(cell) is None


def _bare(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.casefold())


def _proposed_value(column: str, cell: str, *, is_day: bool) -> str:
    if is_day:
        found = days.serial_day(cell) or days.only_day_in(cell)
        return found.isoformat() if found else ""
    match column:
        case "role" | "style":
            kind = equipment.kind(cell)
            if kind is None or (column == "style" and not kind.style):
                return ""
            return kind.style if column == "style" else f"{kind.style} {kind.role}".strip()
        case "use":
            return equipment.proposed_use(cell)
        case "postcode":
            return places.proposed_postcode(cell)
        case "phone":
            return next(iter(people.phones_in(cell)), "")
        case "email":
            return next(iter(people.emails_in(cell)), "")
        case "customer":
            return people.name(people.without_phones(cell)) if people.phones_in(cell) else ""
        case _ if column in _ONE_MARK:
            return _first_mark(cell)
        case _:
            return equipment.proposed_yes(cell) if column in YES_NO else ""


def _first_mark(cell: str) -> str:
    """The serial or model that stands before a remark; blank where it could be several.

    >>> _first_mark("M9996 (replaced)"), _first_mark("M9996 - swapped 2021"), _first_mark("M9996, M9997"), _first_mark("see plate")
    ('M9996', 'M9996', '', '')
    """
    text = " ".join(cell.split())
    found = _REMARK.match(text)
    mark = _PREFIXED.sub("", (found[1] or found[2] or "").strip(" -–,;:"), count=1) if found else ""
    behind = text[len(mark) :]
    another = any(re.search("[0-9]", word) and re.search("[A-Z]", word) for word in behind.split())
    return mark if re.search("[0-9]", mark) and _is_one_mark(mark) and not another else ""
