"""Failures as their screens show them: the form, and one failure."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.claims.pages.claims import OfFailure
from fleet.coverage.pages.answers import AnswerPart, Choices, NotKnown
from fleet.derived.answers import Json
from fleet.elements.pieces import Fact, UnitLink
from fleet.registry.pages.documents import Papers
from fleet.rules.wording.names import PAYS

LABELS = {
    "component": "What failed", "failed_on": "Found on", "cause": "Cause", "leak_at": "Where it leaked",
    "fault_code": "Fault code", "found_by": "Found by", "notes": "Notes", "repaired_on": "Repaired on",
    "technician": "Repaired by", "labor_minutes": "Labor, minutes", "part_number": "Old part number",
    "part_serial": "Old part serial, if it has one", "new_part_number": "New part number",
    "new_part_serial": "New part serial", "part_taken_on": "New part picked up on", "parts_cost": "Parts cost, $",
    "supplier": "Supplier", "purchase_order": "Our purchase order", "invoice": "Supplier's invoice", "refrigerant_cost": "Refrigerant cost, $",
    "freight_cost": "Freight, $", "old_part_at": "Where the old part is", "new_serial": "Serial of the new unit",
    "new_model": "Model of the new unit", "under_warranty": "How the whole unit was exchanged",
    "still_matched": "Is the system still matched?",
}  # fmt: skip


def label(field: str) -> str:
    """A field's name in words.

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
    `not_known` stands in place of the answer where it is not known yet which component failed.
    """

    unit: UnitLink
    where: str
    model: str
    refrigerant: str
    today: dt.date
    choices: Choices
    suppliers: tuple[str, ...]
    answer: AnswerPart | None
    gone: str
    not_known: NotKnown | None = None
    asks_match: bool = False
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
    """Everything on the page of a failure.

    It has an `answer`, or what is `not_known` in its place. `said_later` is its component, where that was said later and can be undone.
    """

    pk: int
    unit: UnitLink
    choices: Choices
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
    answer: AnswerPart | None
    not_known: NotKnown | None
    said_later: str
    before: tuple[Answered, ...]
    claims: OfFailure
    papers: Papers
    changes: tuple[tuple[str, str], ...]


def pays_in_words(kind: str, pays: str) -> str:
    """Who would have paid one kind of cost, in words.

    >>> pays_in_words("parts", "maker"), pays_in_words("labor", "installer if")
    ('Parts: the manufacturer', 'Labor: perhaps we do')
    """
    who = pays.removesuffix(" if")
    return f"{kind.capitalize()}: {'perhaps ' if who != pays else ''}{PAYS.get(who, who)}"


def terms_in_words(one: Json) -> str:
    """What one payer's terms answered, with the reasons given then."""
    result = str(one["result"]).replace("_", " ")
    reasons = " ".join(str(reason["text"]) for reason in one["reasons"])
    return f"{one['terms']}, {one['pays_for']}: {result}. {reasons}".strip()
