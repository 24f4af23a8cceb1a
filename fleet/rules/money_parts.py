"""Where each dollar of a failure's cost stands: paid, outstanding, still to be claimed, lost, the customer's, or ours.

Every dollar of the cost stands in one place. What payers and the customer pay above the cost stands apart (`above`).
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from fleet.rules.claims import APPROVED, ASKED_FOR, OVER, ZERO, State
from fleet.rules.dates import DAY

_REFUSED = (State.DENIED, State.WRITTEN_OFF)


class Figure(StrEnum):
    """Where a dollar stands."""

    CREDITED = "credited"
    CUSTOMER_PAID = "customer paid"
    OUT = "out"
    CUSTOMER_OWES = "customer owes"
    TO_CLAIM = "to claim"
    DENIED = "denied"
    UNAPPROVED = "unapproved"
    TOO_LATE = "too late"
    OURS = "ours"


LOST = (Figure.TOO_LATE, Figure.DENIED, Figure.UNAPPROVED)


@dataclass(frozen=True, slots=True)
class OnePayer:
    """What one payer of a failure owes: by its claim, or, without one, by its terms.

    `state` is none where nobody opened a claim. `expected` is what the terms should credit, `last` the last day to file
    (none: there is none, or it is not known yet, or somebody noted that it no longer applies).
    """

    payer: str
    payer_name: str
    claim: int | None = None
    state: State | None = None
    expected: Decimal = ZERO
    asked: Decimal = ZERO
    approved: Decimal = ZERO
    credited: Decimal = ZERO
    last: dt.date | None = None

    @property
    def filed(self) -> bool:
        """Whether the payer was ever asked."""
        return self.state not in (None, State.GATHERING, State.WITHDRAWN) or self.asked > 0

    @property
    def out(self) -> Decimal:
        """Claimed or approved, and not credited yet."""
        if self.state in APPROVED:
            return max(self.approved - self.credited, ZERO)
        return max(self.asked - self.credited, ZERO) if self.state in ASKED_FOR else ZERO

    @property
    def denied(self) -> Decimal:
        """Claimed, and denied or written off."""
        return max(self.asked - self.credited, ZERO) if self.state in _REFUSED else ZERO

    @property
    def unapproved(self) -> Decimal:
        """Claimed, and not paid by a payer that paid a part or will: the rest that it did not approve."""
        if self.state in APPROVED:
            return max(self.asked - max(self.approved, self.credited), ZERO)
        return max(self.asked - self.credited, ZERO) if self.state is State.CREDITED else ZERO

    def unclaimed(self, on: dt.date) -> tuple[Figure, Decimal]:
        """What nobody has filed for: still to be claimed up to the last day to file, and too late from the day after."""
        if self.filed or self.state in OVER:
            return Figure.TO_CLAIM, ZERO
        return (Figure.TO_CLAIM if self.last is None or on <= self.last else Figure.TOO_LATE), self.expected


@dataclass(frozen=True, slots=True)
class Part:
    """Some dollars of one failure that stand in one place; `above` is what comes on top of what the failure cost."""

    figure: Figure
    amount: Decimal
    above: Decimal = ZERO
    payer: str = ""
    payer_name: str = ""
    claim: int | None = None


def parts(
    cost: Decimal,
    payers: Iterable[OnePayer],
    *,
    on: dt.date,
    most: Decimal | None = None,
    billed: Decimal = ZERO,
    paid: Decimal = ZERO,
) -> tuple[Part, ...]:
    """Every dollar of a failure's cost in its place, on a day; the amounts add up to the cost.

    In this order, each as far as the cost reaches: what payers credited, what the customer paid, what is outstanding with
    payers, what the customer owes, what can still be claimed, what was denied, what was not approved, what it is too late to
    claim; the rest is ours. What was paid or is owed beyond the cost stands above it, and so does an allowance that is more
    than the work cost. What nobody filed is never more than all payers together may be asked for (`most`; the cost where it is not said).
    """
    told = tuple(payers)
    left, room = cost, max(cost, most or ZERO)
    found: list[Part] = []
    for figure, amount, one in _in_order(told, on, billed=billed, paid=paid):
        if figure in (Figure.TO_CLAIM, Figure.TOO_LATE):
            amount = min(amount, room)
        within = min(amount, left)
        # What was refused and cost us nothing is no loss.
        above = ZERO if figure in (Figure.DENIED, Figure.UNAPPROVED) else amount - within
        left -= within
        if one.payer:
            room = max(room - amount, ZERO)
        if within or above:
            found.append(Part(figure, within, above, one.payer, one.payer_name, one.claim))
    if left:
        found.append(Part(Figure.OURS, left))
    return tuple(found)


_CUSTOMER = OnePayer("", "")


def _in_order(
    payers: tuple[OnePayer, ...], on: dt.date, *, billed: Decimal, paid: Decimal
) -> Iterator[tuple[Figure, Decimal, OnePayer]]:
    yield from ((Figure.CREDITED, one.credited, one) for one in payers)
    yield Figure.CUSTOMER_PAID, paid, _CUSTOMER
    yield from ((Figure.OUT, one.out, one) for one in payers)
    yield Figure.CUSTOMER_OWES, max(billed - paid, ZERO), _CUSTOMER
    unclaimed = [(*one.unclaimed(on), one) for one in payers]
    yield from (row for row in unclaimed if row[0] is Figure.TO_CLAIM)
    yield from ((Figure.DENIED, one.denied, one) for one in payers)
    yield from ((Figure.UNAPPROVED, one.unapproved, one) for one in payers)
    yield from (row for row in unclaimed if row[0] is Figure.TOO_LATE)


def next_change(payers: Iterable[OnePayer], *, on: dt.date) -> dt.date | None:
    """The next day on which passing time alone moves a dollar: the day after the next last day to file."""
    days = (
        one.last + DAY
        for one in payers
        if one.last is not None and one.last >= on and not one.filed and one.state not in OVER
    )
    return min(days, default=None)


@dataclass(frozen=True, slots=True)
class Waits:
    """How long one payer takes from filing to the last credit of a claim, over so many claims."""

    payer_name: str
    claims: int
    median: Decimal
    slowest: int


def waits(told: Iterable[tuple[str, dt.date, dt.date]]) -> tuple[Waits, ...]:
    """The days from filing to credit by payer, in order of names: each claim as its payer, day of filing and day of credit.

    The median of an even number of claims is half way between the two in the middle.
    """
    days: dict[str, list[int]] = defaultdict(list)
    for name, filed_on, credited_on in told:
        days[name].append((credited_on - filed_on).days)
    return tuple(Waits(name, len(some), _median(sorted(some)), max(some)) for name, some in sorted(days.items()))


def _median(ordered: list[int]) -> Decimal:
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return Decimal(ordered[middle])
    return Decimal(ordered[middle - 1] + ordered[middle]) / 2
