"""Failures as their screens show them: the form, one failure, and the list."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.coverage.pages.answers import AnswerPart, Choices
from fleet.derived.answers import Json
from fleet.elements.lists import Column, Listing
from fleet.elements.pieces import Fact, UnitLink
from fleet.registry.pages.documents import Papers
from fleet.rules.wording.names import PAYS

LABELS = {
    "component": "What failed", "failed_on": "Found on", "cause": "Cause", "leak_at": "Where it leaked",
    "fault_code": "Fault code", "found_by": "Found by", "notes": "Notes", "repaired_on": "Repaired on",
    "technician": "Repaired by", "labor_minutes": "Labor, minutes", "part_number": "Old part, number",
    "new_part_number": "New part, number", "part_taken_on": "New part taken on", "parts_cost": "Parts cost, $",
    "supplier": "Supplier", "invoice": "Supplier's invoice", "refrigerant_cost": "Refrigerant cost, $",
    "freight_cost": "Freight, $", "old_part_at": "The old part is", "new_serial": "Serial of the new unit",
    "new_model": "Model of the new unit", "under_warranty": "How the whole unit was exchanged",
}  # fmt: skip
# How the list is narrowed by what became of failures and by claims; the first where nobody chose.
SHOWN = ("all that count", "not repaired", "old part still here", "voided")
CLAIMED = ("any", "claimed", "not claimed")
DAYS = (0, 30, 90, 365)

COLUMNS = (
    Column("failed_on", "Found on", "day", sorts=True),
    Column("component", "What failed", "word", sorts=True),
    Column("serial", "Unit", "serial", sorts=True),
    Column("maker", "Maker", sorts=True, shown=False),
    Column("model", "Model", sorts=True, shown=False),
    Column("room", "Room", shown=False),
    Column("customer", "Customer", sorts=True),
    Column("site", "Site", sorts=True),
    Column("cause", "Cause", sorts=True),
    Column("repaired_on", "Repaired on", "day", sorts=True),
    Column("new_part_number", "New part", shown=False),
    Column("parts_cost", "Parts cost", "money", sorts=True),
    Column("labor_minutes", "Labor, minutes", "number", shown=False),
    Column("refrigerant_cost", "Refrigerant cost", "money", shown=False),
    Column("freight_cost", "Freight", "money", shown=False),
    Column("supplier", "Supplier", shown=False),
    Column("invoice", "Invoice", shown=False),
    Column("old_part_at", "Old part"),
    Column("claims", "Claimed"),
    Column("voided", "Voided", shown=False),
)


def label(field: str) -> str:
    """Say a field in words.

    >>> label("failed_on"), label("parts_cost")
    ('Found on', 'Parts cost, $')
    """
    return LABELS.get(field) or field.replace("_", " ").capitalize()


# ------------------------------------------------------------------------------------------------- the form


@dataclass(frozen=True, slots=True)
class Known:
    """A row on file that a form can take off: its key, and what it says."""

    pk: int
    words: str


@dataclass(frozen=True, slots=True)
class FormPage:
    """What the form of a failure stands on: the unit, the answer as far as it is filled in, and what to choose from.

    `pk` and `name` are those of the failure, where there is one; `fields` what it has on file, as a form shows it.
    """

    unit: UnitLink
    where: str
    model: str
    refrigerant: str
    today: dt.date
    choices: Choices
    suppliers: tuple[str, ...]
    answer: AnswerPart
    gone: str
    pk: int | None = None
    name: str = ""
    fields: tuple[tuple[str, str], ...] = ()
    new_serial: str = ""
    readings: tuple[Known, ...] = ()
    entries: tuple[Known, ...] = ()


# ------------------------------------------------------------------------------------------------- one failure


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading in words, and what it warns of or says too little about."""

    words: str
    details: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answered:
    """What was answered before: when it was asked, about what, and who would have paid."""

    heading: str
    pays: tuple[str, ...]
    terms: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cost:
    """What one kind of cost came to, and how."""

    kind: str
    amount: Decimal
    how: str


@dataclass(frozen=True, slots=True)
class FailurePage:
    """Everything on the page of a failure."""

    pk: int
    unit: UnitLink
    customer_pk: int
    customer: str
    site_pk: int
    site: str
    title: str
    sentences: tuple[str, ...]
    voided: str
    repaired: bool
    found: tuple[Fact, ...]
    repair: tuple[Fact, ...]
    costs: tuple[Cost, ...]
    cost: Decimal
    rate_is_set: bool
    readings: tuple[Measured, ...]
    refrigerant: tuple[str, ...]
    old_part_at: str
    has_old_part: bool
    answer: AnswerPart
    before: tuple[Answered, ...]
    papers: Papers
    changes: tuple[tuple[str, str], ...]


def pays_in_words(kind: str, pays: str) -> str:
    """Say who would have paid one kind of cost.

    >>> pays_in_words("parts", "maker"), pays_in_words("labor", "installer if")
    ('Parts: the maker', 'Labor: perhaps we do')
    """
    who = pays.removesuffix(" if")
    return f"{kind.capitalize()}: {'perhaps ' if who != pays else ''}{PAYS.get(who, who)}"


def terms_in_words(one: Json) -> str:
    """Say what one payer's terms answered, with the reasons that it gave then."""
    result = str(one["result"]).replace("_", " ")
    reasons = " ".join(str(reason["text"]) for reason in one["reasons"])
    return f"{one['terms']}, {one['pays_for']}: {result}. {reasons}".strip()


# ------------------------------------------------------------------------------------------------- the list


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is asked for; blank for any. `days`: found in so many days up to today, 0 for ever."""

    shown: str = SHOWN[0]
    days: int = 0
    component: str = ""
    cause: str = ""
    maker: str = ""
    claimed: str = CLAIMED[0]
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything narrows the list."""
        return self != Asked()


@dataclass(frozen=True, slots=True)
class FailuresPage:
    """The failures asked for, how many of them wait for their repair, and whether any is on file at all."""

    asked: Asked
    listing: Listing
    not_repaired: int
    nothing_on_file: bool = False
