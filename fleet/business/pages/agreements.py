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
class BillLine:
    """One bill: the days it is for, its amount and where it stands; `sent` is the key of one that was sent, else 0."""

    kind: str
    first: dt.date
    last: dt.date
    amount: Decimal
    words: str
    sent: int

    @property
    def address(self) -> str:
        """What of an address tells a planned bill from the others of its agreement."""
        return f"kind={self.kind.replace(' ', '+')}&first={self.first.isoformat()}"


@dataclass(frozen=True, slots=True)
class Proposal:
    """Heads that were put in on a day in mid-term: how many, and the bill proposed for the days left."""

    on: dt.date
    heads: int
    last: dt.date
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Decided:
    """What was decided about heads put in on a day."""

    on: dt.date
    taken: bool


@dataclass(frozen=True, slots=True)
class RefundPart:
    """What an agreement that ended early gives back: what was paid, by days and by visits, and what was decided."""

    paid: Decimal
    days_used: Decimal
    days_words: str
    visits_used: Decimal | None
    visits_words: str
    visits: str
    decided: str
    why: str
    ways: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Payment:
    """Money that came in for a bill."""

    pk: int
    on: dt.date
    amount: Decimal
    note: str


@dataclass(frozen=True, slots=True)
class BillPage:
    """A bill that was sent, with what came in for it."""

    pk: int
    agreement_pk: int
    agreement: str
    customer: str
    site: str
    phone: str
    kind: str
    first: dt.date
    last: dt.date
    amount: Decimal
    words: str
    open: Decimal
    payments: tuple[Payment, ...]


@dataclass(frozen=True, slots=True)
class Beyond:
    """A planned visit that the agreement did not sell, at its list price."""

    on: dt.date
    price: Decimal


@dataclass(frozen=True, slots=True)
class AgreementPage:
    """One agreement: where it stands, what is to be decided, its price, its bills and visits, and what may be done.

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
    decisions: tuple[str, ...]
    bills: tuple[BillLine, ...]
    proposals: tuple[Proposal, ...]
    decided: tuple[Decided, ...]
    refund: RefundPart | None
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
