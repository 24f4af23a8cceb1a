"""Claims as their screens show them: the list, one claim, what a failure's payers might still be asked, and the clocks."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.elements.lists import Column, Listing
from fleet.rules.claims import State

# What the list is narrowed to by state: the first where nobody chose.
OPEN, ANY = "not over", "any"
STATES = (OPEN, *(str(state) for state in State), ANY)
# Out for more than so many days; the first: for however long.
AGES = (0, 10, 30, 60)

COLUMNS = (
    Column("claim", "Claim"),
    Column("state", "State", "word", sorts=True),
    Column("payer", "Payer", "payer", sorts=True),
    Column("payer_name", "Asked of", sorts=True),
    Column("maker", "Maker", sorts=True, shown=False),
    Column("model", "Model", shown=False),
    Column("serial", "Unit", "serial", sorts=True),
    Column("customer", "Customer", sorts=True),
    Column("site", "Site", shown=False),
    Column("component", "Component", "word", sorts=True),
    Column("failed_on", "Failed on", "day", sorts=True, shown=False),
    Column("opened_on", "Opened on", "day", sorts=True, shown=False),
    Column("filed_on", "Filed on", "day", sorts=True),
    Column("days_out", "Days out", "number"),
    Column("expected", "Expected", "money", sorts=True),
    Column("asked", "Asked for", "money", sorts=True),
    Column("approved", "Approved", "money", sorts=True, shown=False),
    Column("credited", "Credited", "money", sorts=True),
    Column("out", "Still out", "money"),
    Column("reference", "Their number"),
)

CLOCK_COLUMNS = (
    Column("clock", "What is to be done", "word"),
    Column("last_day", "Last day", "day", sorts=True),
    Column("days_left", "Days left", "number"),
    Column("claim", "Claim"),
    Column("payer", "Payer", "payer", sorts=True),
    Column("payer_name", "Asked of", shown=False),
    Column("component", "Component", "word", sorts=True),
    Column("failed_on", "Failed on", "day", sorts=True),
    Column("serial", "Unit", "serial", sorts=True),
    Column("customer", "Customer", sorts=True),
    Column("phone", "Phone", shown=False),
)
# How the list of clocks is narrowed: the first where nobody chose.
CLOCKS = ("running or missed", "missed", "too late to claim")


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list of claims is asked for; blank for any. `days` is for how many days the money is out at least."""

    state: str = OPEN
    payer: str = ""
    maker: str = ""
    days: int = 0
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything but the state narrows the list."""
        return bool(self.payer or self.maker or self.days or self.text)


@dataclass(frozen=True, slots=True)
class ClaimsPage:
    """Claims of some kind: how many, and what they have out."""

    asked: Asked
    listing: Listing
    out: Decimal
    nothing_on_file: bool = False


@dataclass(frozen=True, slots=True)
class ClocksAsked:
    """Which clocks are asked for."""

    which: str = CLOCKS[0]
    payer: str = ""
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything but the kind of clock narrows the list."""
        return bool(self.payer or self.text)


@dataclass(frozen=True, slots=True)
class ClocksPage:
    """Clocks by their last day, in sentences first; `too_late` counts the failures that it is too late to claim."""

    asked: ClocksAsked
    listing: Listing
    sentences: tuple[str, ...]
    too_late: int
    more_too_late: bool = False


# ------------------------------------------------------------------------------------------------------- one claim


@dataclass(frozen=True, slots=True)
class ClockLine:
    """One clock of a claim in words; `day_field` is what records that it was done, blank where a step does."""

    kind: str
    words: str
    state: str
    open: bool
    day_field: str
    note: str = ""
    noted: str = ""


@dataclass(frozen=True, slots=True)
class WantLine:
    """One thing that the claim needs: whether it is there, who could supply it, what was given for it."""

    text: str
    there: bool
    who: str
    asked_by_payer: bool
    given: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step that the claim took."""

    number: int
    on: dt.date
    words: str
    amount: Decimal | None
    reason: str
    note: str
    reference: str
    by: str


@dataclass(frozen=True, slots=True)
class Offer:
    """One step that the claim may take now, with what it asks for and what is filled in already."""

    to: str
    title: str
    amount_label: str
    reason_label: str
    amount: Decimal | None
    wants_amount: bool
    may_say_amount: bool
    wants_reason: bool
    may_say_reason: bool
    may_be_last: bool
    is_payers: bool
    wants_correction: bool


@dataclass(frozen=True, slots=True)
class Known:
    """What the claim has beside its steps, as a form shows it."""

    reference: str
    supplier: int | None
    kinds: tuple[str, ...]
    leave_on: dt.date | None
    form_on: dt.date | None
    part_back_on: dt.date | None
    part_asked_for: bool | None
    carrier: str


@dataclass(frozen=True, slots=True)
class ClaimPage:
    """One claim: where it stands, what is wanted, until when, what should come and why, what was done, what may be."""

    pk: int
    version: int
    state: str
    over: bool
    stands: str
    waits_on: str
    payer: str
    payer_name: str
    terms_pk: int
    terms_title: str
    component: str
    failed_on: dt.date
    failure_pk: int
    failure_voided: str
    unit_pk: int
    unit: str
    serial: str
    site_pk: int
    site: str
    customer_pk: int
    customer: str
    phone: str
    opened_on: dt.date
    opened_by: str
    because: str
    supplier_name: str
    supplier_note: str
    results: tuple[str, ...]
    known: Known
    asks_whether_part: bool
    clocks: tuple[ClockLine, ...]
    wants: tuple[WantLine, ...]
    credit: tuple[str, ...]
    credit_total: str
    spent: tuple[tuple[str, Decimal], ...]
    spent_total: Decimal
    most: Decimal
    elsewhere: Decimal
    steps: tuple[StepLine, ...]
    offers: tuple[Offer, ...]
    documents: tuple[tuple[int, str, bool], ...]
    others: tuple[tuple[int, str, str], ...]
    changes: tuple[str, ...]

    @property
    def missing(self) -> int:
        """How many things that the claim needs are not there."""
        return sum(not want.there for want in self.wants)

    @property
    def open_clocks(self) -> tuple[ClockLine, ...]:
        """The clocks under which something is still to be done."""
        return tuple(clock for clock in self.clocks if clock.open)

    @property
    def other_clocks(self) -> tuple[ClockLine, ...]:
        """The clocks that are done with, one way or another."""
        return tuple(clock for clock in self.clocks if not clock.open)


# ---------------------------------------------------------------------------------------------- what may be opened


@dataclass(frozen=True, slots=True)
class Opened:
    """A claim on the page of its failure."""

    pk: int
    payer: str
    payer_name: str
    stands: str


@dataclass(frozen=True, slots=True)
class MayOpen:
    """A payer of a failure on whom a claim may be opened, with everything known filled in.

    `promised` is false where its terms deny every kind of cost: then a reason is wanted.
    """

    terms_pk: int
    title: str
    payer: str
    payer_name: str
    kinds: tuple[str, ...]
    results: tuple[str, ...]
    supplier: int | None
    supplier_name: str
    expected: str
    sums: tuple[str, ...]
    clocks: tuple[str, ...]
    promised: bool


@dataclass(frozen=True, slots=True)
class OfFailure:
    """The claims of one failure, and whom else it is worth asking."""

    failure: int
    heading: str
    unit_pk: int
    unit: str
    voided: bool
    claims: tuple[Opened, ...]
    offers: tuple[MayOpen, ...]
    suppliers: tuple[tuple[int, str], ...]

    @property
    def promised(self) -> tuple[MayOpen, ...]:
        """The payers that promised something."""
        return tuple(offer for offer in self.offers if offer.promised)

    @property
    def denied(self) -> tuple[MayOpen, ...]:
        """The payers that promised nothing for this failure."""
        return tuple(offer for offer in self.offers if not offer.promised)


@dataclass(frozen=True, slots=True)
class ShortClocks:
    """What is missed and what runs, for another page: sentences, and the first rows."""

    sentences: tuple[str, ...]
    missed: Listing
    running: Listing
    too_late: int
    more_too_late: bool = False
