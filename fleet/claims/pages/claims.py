"""Claims as their screens show them: one claim, what a failure's payers might still be asked, and the clocks."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

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
    approved_on: dt.date | None
    approval_number: str
    form_on: dt.date | None
    part_back_on: dt.date | None
    part_asked_for: bool | None
    carrier: str


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A change beside the steps, in words; `can_undo`: it is a correction that still holds, else `why_not` says why it cannot be."""

    pk: int
    words: str
    can_undo: bool = False
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class ClaimPage:
    """One claim: where it stands, what is wanted, until when, what should come and why, what was done, what may be."""

    pk: int
    version: int
    state: str
    state_words: str
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
    changes: tuple[ChangeLine, ...]

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
    component_known: bool
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
