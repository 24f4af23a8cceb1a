"""Promises of our own: one of them on its page, those of a site, and the paper for the customer."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.rules.company import Company


@dataclass(frozen=True, slots=True)
class PromisePage:
    """One promise with where it stands, and what may be done with it."""

    pk: int
    site_pk: int
    site: str
    customer: str
    phone: str
    system: str
    words: str
    conditions: str
    made_by: str
    made_on: dt.date
    until: dt.date
    cost_at_most: Decimal | None
    stands: str
    called_what: str
    called_cost: Decimal | None
    released_why: str
    is_open: bool
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A promise on the page of its site."""

    pk: int
    words: str
    conditions: str
    stands: str
    whom: str


@dataclass(frozen=True, slots=True)
class Paper:
    """A promise as the customer gets it."""

    customer: str
    where: str
    system: str
    words: str
    conditions: str
    made_by: str
    made_on: str
    until: str
    written_on: str
    sender: Company

    @property
    def filename(self) -> str:
        """The name of its file."""
        return "our-promise.pdf"


@dataclass(frozen=True, slots=True)
class Ahead:
    """What lapses in a month: how many promises, and what they could cost at most."""

    month: dt.date
    promises: int
    cost: Decimal
    without_cost: int


@dataclass(frozen=True, slots=True)
class Reserve:
    """What the standing promises could cost at most, by the month in which they lapse, against the reserve."""

    sentence: str
    months: tuple[Ahead, ...]
