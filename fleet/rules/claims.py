"""Claims: which step a claim may take, what the step needs, and why one is refused.

The state of a claim is where it stands between us and its payer. A credit in parts leaves it where it is until the last of it.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from fleet.rules.findings import Result

ZERO = Decimal(0)
CENT = Decimal("0.01")

# ------------------------------------------------------------------------------------------------------------ steps


class State(StrEnum):
    """Where a claim stands."""

    GATHERING = "gathering"
    FILED = "filed"
    ASKED_FOR_MORE = "asked for more"
    APPROVED = "approved"
    PART_APPROVED = "part approved"
    DENIED = "denied"
    CREDITED = "credited"
    WRITTEN_OFF = "written off"
    WITHDRAWN = "withdrawn"


class Need(StrEnum):
    """What a step needs beside its day."""

    REASON = "reason"
    AMOUNT = "amount"
    CORRECTION = "the payer's correction"


_SETTLING: Mapping[State, tuple[Need, ...]] = {State.CREDITED: (Need.AMOUNT,), State.WRITTEN_OFF: (Need.REASON,)}
# From each state, the states it may go to, and what the step needs. What does not stand here is refused.
STEPS: Mapping[State, Mapping[State, tuple[Need, ...]]] = {
    State.GATHERING: {State.FILED: (Need.AMOUNT,), State.WITHDRAWN: (Need.REASON,)},
    State.FILED: {
        State.ASKED_FOR_MORE: (Need.REASON,),
        State.APPROVED: (Need.AMOUNT,),
        State.PART_APPROVED: (Need.AMOUNT, Need.REASON),
        State.DENIED: (Need.REASON,),
        State.WITHDRAWN: (Need.REASON,),
    },
    State.ASKED_FOR_MORE: {State.FILED: (), State.WITHDRAWN: (Need.REASON,)},
    State.APPROVED: _SETTLING,
    State.PART_APPROVED: {**_SETTLING, State.FILED: (Need.REASON,)},
    State.DENIED: {State.FILED: (Need.AMOUNT, Need.REASON), State.WRITTEN_OFF: (Need.REASON,)},
    State.CREDITED: {State.FILED: (Need.REASON, Need.CORRECTION)},
    State.WRITTEN_OFF: {},
    State.WITHDRAWN: {},
}
# A claim in one of these asks for nothing more, so none of its clocks runs.
OVER = (State.CREDITED, State.WRITTEN_OFF, State.WITHDRAWN)
# Where what was approved is still to come, and where what was asked for is.
APPROVED = (State.APPROVED, State.PART_APPROVED)
ASKED_FOR = (State.FILED, State.ASKED_FOR_MORE)
_WITH_AMOUNT = (State.FILED, State.APPROVED, State.PART_APPROVED, State.CREDITED)


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim as it stands: its state, its days and its money.

    `most` is the most that may be asked for this failure (`money.most`), `elsewhere` what other payers have credited for
    it, `credited` what this one has.
    """

    state: State
    failed_on: dt.date
    last_step_on: dt.date | None = None
    asked: Decimal = ZERO
    approved: Decimal = ZERO
    credited: Decimal = ZERO
    most: Decimal = ZERO
    elsewhere: Decimal = ZERO


@dataclass(frozen=True, slots=True)
class Step:
    """A step that somebody wants a claim to take.

    `last` says of a credit that the payer will not pay more; `payers_correction` that the payer corrected itself.
    """

    to: State
    on: dt.date
    amount: Decimal | None = None
    reason: str = ""
    last: bool = False
    payers_correction: bool = False


class Why(StrEnum):
    """Why something is refused."""

    NO_SUCH_STEP = "no_such_step"
    REASON_WANTED = "reason_wanted"
    AMOUNT_WANTED = "amount_wanted"
    AMOUNT_OUT_OF_PLACE = "amount_out_of_place"
    CORRECTION_WANTED = "correction_wanted"
    NOT_AN_AMOUNT = "not_an_amount"
    OVER_SPENT = "over_spent"
    LESS_THAN_ASKED = "less_than_asked"
    NOT_LESS_THAN_ASKED = "not_less_than_asked"
    MORE_THAN_THE_REST = "more_than_the_rest"
    NOTHING_PROMISED = "nothing_promised"
    LATER_THAN_TODAY = "later_than_today"
    OUT_OF_ORDER = "out_of_order"


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason why something is refused, with the facts that its sentence names.

    `state` and `to` are those of the step; `amount` is held against `limit`; the day named `what` against the day named `other`.
    """

    why: Why
    state: State | None = None
    to: State | None = None
    amount: Decimal | None = None
    limit: Decimal | None = None
    what: str = ""
    day: dt.date | None = None
    other: str = ""
    other_day: dt.date | None = None


def opening(results: Iterable[Result], *, reason: str) -> tuple[Refusal, ...]:
    """Why no claim may be opened on a payer: it promised nothing for this failure, and no reason was stated."""
    hopeful = any(result is not Result.NOT_COVERED for result in results)
    return () if hopeful or reason.strip() else (Refusal(Why.NOTHING_PROMISED),)


def refusals(claim: Claim, step: Step, *, today: dt.date) -> tuple[Refusal, ...]:
    """Everything that stands against a step, in this order; empty where it may be taken.

    1. The table of steps knows no such step: nothing more is said. 2. Something that the step needs is not there.
    3. Its amount is none, or over what was spent, or belongs to another step. 4. Its day is out of order.
    """
    needs = STEPS[claim.state].get(step.to)
    if needs is None:
        return (Refusal(Why.NO_SUCH_STEP, claim.state, step.to),)
    short = step.to is State.CREDITED and step.last and claim.credited + (step.amount or ZERO) < claim.approved
    found = []
    if (Need.REASON in needs or short) and not step.reason.strip():
        found.append(Refusal(Why.REASON_WANTED, claim.state, step.to))
    if Need.CORRECTION in needs and not step.payers_correction:
        found.append(Refusal(Why.CORRECTION_WANTED, claim.state, step.to))
    if Need.AMOUNT in needs and step.amount is None:
        found.append(Refusal(Why.AMOUNT_WANTED, claim.state, step.to))
    if step.amount is not None:
        found += [replace(one, state=claim.state, to=step.to) for one in _against_amount(claim, step.to, step.amount)]
    return (*found, *_against_day(claim, step, today=today))


def beyond_approved(claim: Claim, step: Step) -> Decimal:
    """By how much a credit brings more than was approved: lawful, and so odd that somebody confirms it; nothing otherwise."""
    if step.to is not State.CREDITED or step.amount is None:
        return ZERO
    return max(claim.credited + step.amount - claim.approved, ZERO)


def asked_again(asked: Decimal, approved: Decimal, amount: Decimal | None) -> Decimal:
    """What a claim asks for in all once it is filed again after a part was approved.

    The amount is what of the rest is asked for (none: all of it), on top of the part; one that is more than the rest is the whole.

    >>> asked_again(Decimal(150), Decimal(100), Decimal(30)), asked_again(Decimal(150), Decimal(100), Decimal(150))
    (Decimal('130'), Decimal('150'))
    """
    if amount is None:
        return asked
    return approved + amount if amount <= asked - approved else amount


def _against_amount(claim: Claim, to: State, amount: Decimal) -> Iterable[Refusal]:
    if to not in _WITH_AMOUNT:
        yield Refusal(Why.AMOUNT_OUT_OF_PLACE, amount=amount)
        return
    if not amount.is_finite() or amount <= 0 or amount != amount.quantize(CENT):
        yield Refusal(Why.NOT_AN_AMOUNT, amount=amount)
        return
    if claim.state is State.PART_APPROVED and to is State.FILED:
        rest = claim.asked - claim.approved
        if rest < amount <= claim.approved and amount != claim.asked:
            yield Refusal(Why.MORE_THAN_THE_REST, amount=amount, limit=rest)
            return
        amount = asked_again(claim.asked, claim.approved, amount)
    before = claim.credited if to is State.CREDITED else ZERO
    room = claim.most - claim.elsewhere - before
    if amount > room:
        yield Refusal(Why.OVER_SPENT, amount=amount, limit=max(room, ZERO))
    if to is State.APPROVED and amount < claim.asked:
        yield Refusal(Why.LESS_THAN_ASKED, amount=amount, limit=claim.asked)
    if to is State.PART_APPROVED and amount >= claim.asked:
        yield Refusal(Why.NOT_LESS_THAN_ASKED, amount=amount, limit=claim.asked)


def _against_day(claim: Claim, step: Step, *, today: dt.date) -> Iterable[Refusal]:
    if step.on > today:
        yield Refusal(Why.LATER_THAN_TODAY, claim.state, step.to, what="step_on", day=step.on)
    for name, day in (("failed_on", claim.failed_on), ("last_step_on", claim.last_step_on)):
        if day is not None and step.on < day:
            yield Refusal(
                Why.OUT_OF_ORDER, claim.state, step.to, what="step_on", day=step.on, other=name, other_day=day
            )


def state_after(claim: Claim, step: Step) -> State:
    """The state after a step that was not refused: a credit in parts changes it only with the last of it."""
    if step.to is State.CREDITED and not step.last and claim.credited + (step.amount or ZERO) < claim.approved:
        return claim.state
    return step.to


@dataclass(frozen=True, slots=True)
class Taken:
    """A step that a claim took: what it was, where the claim went with it, on which day, with what money."""

    asked_for: State
    went_to: State
    on: dt.date
    amount: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a claim stands, and its money, as its steps make them; `filed_on` is the day of the first filing."""

    state: State = State.GATHERING
    asked: Decimal = ZERO
    approved: Decimal = ZERO
    credited: Decimal = ZERO
    filed_on: dt.date | None = None
    last_step_on: dt.date | None = None


def standing(steps: Iterable[Taken]) -> Standing:
    """Add up the steps of a claim, in their order.

    Filing anew leaves what was asked unless it says how much, and what was approved before counts no more: the payer speaks of the
    whole claim again. After a part was approved, filing says how much of the rest is asked for (all of it where it does not say), on
    top of the part. Credits add up.
    """
    found = Standing()
    for step in steps:
        asked, approved, credited, filed_on = found.asked, found.approved, found.credited, found.filed_on
        if step.asked_for is State.FILED:
            if found.state is State.PART_APPROVED:
                asked = asked_again(asked, approved, step.amount)
            elif step.amount is not None:
                asked = step.amount
            approved = ZERO
            filed_on = filed_on or step.on
        elif step.asked_for in APPROVED:
            approved = step.amount or ZERO
        elif step.asked_for is State.CREDITED:
            credited += step.amount or ZERO
        found = Standing(step.went_to, asked, approved, credited, filed_on, step.on)
    return found


# ------------------------------------------------------------------------------------------------------------- days


@dataclass(frozen=True, slots=True)
class Days:
    """The days of a failure that a claim rests on; None where it has not happened, or nobody recorded it.

    `form_on` is the day the claim form was made out, `approved_on` the day the payer gave its leave to replace, `filed_on`
    the day of the first filing.
    """

    failed_on: dt.date
    repaired_on: dt.date | None = None
    part_taken_on: dt.date | None = None
    approved_on: dt.date | None = None
    form_on: dt.date | None = None
    filed_on: dt.date | None = None
    part_back_on: dt.date | None = None


# A part may well be taken after the repair: the technician had one on the truck, and fetches the payer's later.
_ORDER = (
    ("failed_on", "repaired_on"),
    ("failed_on", "part_taken_on"),
    ("failed_on", "approved_on"),
    ("failed_on", "form_on"),
    ("failed_on", "filed_on"),
    ("failed_on", "part_back_on"),
    ("form_on", "filed_on"),
)


def days_out_of_order(days: Days, *, today: dt.date) -> tuple[Refusal, ...]:
    """The days that cannot be: later than today, or before the one that they follow."""
    known = {name: getattr(days, name) for name in Days.__dataclass_fields__}
    found = [
        Refusal(Why.LATER_THAN_TODAY, what=name, day=day)
        for name, day in known.items()
        if day is not None and day > today
    ]
    for first, then in _ORDER:
        if known[first] is not None and known[then] is not None and known[then] < known[first]:
            found.append(Refusal(Why.OUT_OF_ORDER, what=then, day=known[then], other=first, other_day=known[first]))
    return tuple(found)
