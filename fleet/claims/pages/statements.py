"""Payers' statements as the screen shows them: what was booked, what is left to a person, what was set aside."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Heading:
    """One heading of a payer's file: what stands in it, and which of our columns it most likely is (blank: none)."""

    name: str
    samples: tuple[str, ...]
    ours: str


@dataclass(frozen=True, slots=True)
class Matching:
    """The headings of a payer's file, to be matched to our columns.

    `open_order` are the headings whose days could be read in two ways; `order` is what was said of that before. `is_ours`: the
    file has our own columns; `is_remembered`: they were matched before for this payer.
    """

    headings: tuple[Heading, ...]
    order: str
    open_order: tuple[str, ...]
    is_ours: bool
    is_remembered: bool


@dataclass(frozen=True, slots=True)
class Candidate:
    """A claim that a credit may belong to; `value` names it with the version that was seen."""

    value: str
    pk: int
    payer: str
    about: str
    place: str
    state_words: str
    left: Decimal
    proposed: bool


@dataclass(frozen=True, slots=True)
class LeftLine:
    """A credit that a person must decide, with why, and the claims beside it.

    `book_on` is the first day on which the claims beside it can take it; `early` where that is later than its own.
    """

    pk: int
    row: int
    on: dt.date
    reference: str
    number: str
    amount: Decimal
    text: str
    why: str
    candidates: tuple[Candidate, ...]
    takes_back: bool
    more: bool
    book_on: dt.date

    @property
    def early(self) -> bool:
        """Whether the day that the statement tells is before a step of the claim."""
        return self.book_on > self.on


@dataclass(frozen=True, slots=True)
class DoneLine:
    """A credit that was booked on a claim or set aside."""

    pk: int
    row: int
    on: dt.date
    reference: str
    number: str
    amount: Decimal
    text: str
    claim_pk: int | None
    claim: str
    why: str


@dataclass(frozen=True, slots=True)
class StatementPage:
    """One statement."""

    pk: int
    name: str
    payer: str
    taken: dt.date
    by: str
    sentences: tuple[str, ...]
    left: tuple[LeftLine, ...]
    booked: tuple[DoneLine, ...]
    aside: tuple[DoneLine, ...]
