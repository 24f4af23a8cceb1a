"""Payers' statements: which claim a credit belongs to, and when a person must say."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from fleet.rules import words
from fleet.rules.claims import APPROVED, State


class Fit(StrEnum):
    """How a credit fits the claims on file; only the first is booked without a person."""

    EXACT = "exact"
    PART = "part"
    MORE = "more"
    NOT_APPROVED = "not approved"
    TOO_EARLY = "too early"
    SEVERAL = "several"
    TOLD_BEFORE = "told before"
    TAKES_BACK = "takes back"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Line:
    """One credit as a statement tells it: the payer's reference, a serial or our claim's number, the day and the amount."""

    reference: str
    number: str
    on: dt.date
    amount: Decimal

    @property
    def mark(self) -> tuple[str, str, dt.date, Decimal]:
        """What makes a credit the same one in two statements."""
        return words.key(self.reference), words.key(self.number), self.on, self.amount


@dataclass(frozen=True, slots=True)
class Awaiting:
    """A claim that a credit may belong to; `number` is our own, `left` what was approved and is not credited yet."""

    number: int
    version: int
    reference: str
    serial: str
    state: State
    left: Decimal
    last_step_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """How a credit fits, and the claims that it may belong to; the one that it belongs to stands alone."""

    fit: Fit
    claims: tuple[Awaiting, ...] = ()


@dataclass(frozen=True)
class Book:
    """Claims by what a statement may name them by."""

    by_reference: Mapping[str, tuple[Awaiting, ...]] = field(default_factory=dict)
    by_number: Mapping[str, tuple[Awaiting, ...]] = field(default_factory=dict)


def book(claims: Iterable[Awaiting]) -> Book:
    """Arrange claims for matching: capitals, spaces and hyphens do not count, and `claim 17` is 17."""
    by_reference, by_number = defaultdict(list), defaultdict(list)
    for claim in claims:
        if key := words.key(claim.reference):
            by_reference[key].append(claim)
        for key in {words.key(claim.serial), str(claim.number)} - {""}:
            by_number[key].append(claim)
    return Book(
        {key: tuple(found) for key, found in by_reference.items()},
        {key: tuple(found) for key, found in by_number.items()},
    )


def match(line: Line, claims: Book, *, told_before: bool = False) -> Found:
    """Find the claim that a credit belongs to.

    1. Claims by the payer's reference, narrowed by the number where several share it; without any, by the number.
    2. Of those that wait for a credit, the one whose rest is this very amount. 3. Else nothing is booked: the only claim is
    proposed for a part, or said not to fit; several are shown; where there is none, a person looks for it.
    A credit that another statement told already, and one that takes money back, are always left to a person.
    """
    found = _named(line, claims)
    if line.amount <= 0:
        return Found(Fit.TAKES_BACK, found)
    if told_before:
        return Found(Fit.TOLD_BEFORE, found)
    if not found:
        return Found(Fit.NONE)
    exact = [claim for claim in found if claim.state in APPROVED and claim.left == line.amount]
    if len(exact) == 1:
        early = exact[0].last_step_on is not None and line.on < exact[0].last_step_on
        return Found(Fit.TOO_EARLY if early else Fit.EXACT, (exact[0],))
    if len(found) > 1:
        return Found(Fit.SEVERAL, found)
    (claim,) = found
    if claim.state not in APPROVED:
        return Found(Fit.NOT_APPROVED, found)
    return Found(Fit.PART if line.amount < claim.left else Fit.MORE, found)


def _named(line: Line, claims: Book) -> tuple[Awaiting, ...]:
    number = words.key(line.number)
    by_number = claims.by_number.get(number) or claims.by_number.get(number.removeprefix("claim"), ())
    by_reference = claims.by_reference.get(words.key(line.reference), ())
    if len(by_reference) > 1 and (both := tuple(claim for claim in by_reference if claim in by_number)):
        return both
    return by_reference or by_number
