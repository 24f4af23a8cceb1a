"""Agreements: where they may stand, and one of them with its price, its bills and its visits."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

# How far ahead a renewal is worth asking for.
SOON = 90
STATES = ("in force", "to renew", "undecided", "to begin", "over", "ended")
STATE_WORDS = {
    "in force": "in force",
    "to renew": f"renews within {SOON} days, ask",
    "to begin": "not begun yet",
    "undecided": "past its term, undecided",
    "over": "ran out",
    "ended": "ended",
}


@dataclass(frozen=True, slots=True)
class Sum:
    """One line of how a year's price comes about."""

    words: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Billed:
    """One bill: its day, what it asks for, and whether it is agreed or hangs on a renewal."""

    on: dt.date
    amount: Decimal
    words: str


@dataclass(frozen=True, slots=True)
class Beyond:
    """A planned visit that the agreement did not sell, at its list price."""

    on: dt.date
    price: Decimal


@dataclass(frozen=True, slots=True)
class AgreementPage:
    """One agreement: where it stands, its price, its bills, its visits, and what may be done with it.

    `agreed` is how many terms are agreed today, `terms_agreed` how many of them somebody agreed to.
    """

    pk: int
    name: str
    site_pk: int
    site: str
    customer_pk: int
    customer: str
    phone: str
    where: str
    stands: str
    terms: str
    sums: tuple[Sum, ...]
    bills: tuple[Billed, ...]
    visits: str
    made: tuple[dt.date, ...]
    planned: tuple[dt.date, ...]
    beyond: tuple[Beyond, ...]
    notes: str
    changes: tuple[str, ...]
    agreed: int
    terms_agreed: int
    renewal_on: dt.date
    may_renew: bool
    may_unrenew: bool
    may_end: bool


@dataclass(frozen=True, slots=True)
class ForSite:
    """The site that an agreement is to be made for."""

    pk: int
    name: str
    customer: str
    heads: str
