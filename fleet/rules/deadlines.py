"""Deadlines of every kind in one order: what is to be done, by when, what it is worth, and who can act.

A kind joins by a line in `Kind`, in `WHO` where it is always the same, and in `wording.deadlines`; and by a source of its rows.
"""

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from fleet.rules.clocks import ClockKind
from fleet.rules.dates import DAY
from fleet.rules.decisions import UNPAID_DAYS, Decision
from fleet.rules.findings import Answer, Result
from fleet.rules.lost import Lost
from fleet.rules.terms import Terms


class Kind(StrEnum):
    """What is to be done by a day."""

    REGISTER = "register"
    NOTIFY = "tell of the sale"
    APPROVAL = "prior approval"
    FORM = "claim form"
    FILE = "file the claim"
    PART_BACK = "return the old part"
    DECIDE = "decide about an agreement"
    NOTICE = "give notice of a renewal"
    PROMISE = "our promise ends"
    COMPONENT = "say which component failed"


class Who(StrEnum):
    """Who can act."""

    WE = "we"
    CUSTOMER = "customer"
    EITHER = "either"


OF_CLOCKS = {
    ClockKind.APPROVAL: Kind.APPROVAL,
    ClockKind.FORM: Kind.FORM,
    ClockKind.FILE: Kind.FILE,
    ClockKind.PART_BACK: Kind.PART_BACK,
}
# Those that come before something that any day may bring, so that there is a day only once that is booked.
STEPS_IN_ORDER = (Kind.APPROVAL, Kind.FORM)
# Who can act on a kind, where its terms have no say in it; a sale is known to its buyer, and to us.
WHO = {
    Kind.NOTIFY: Who.EITHER,
    Kind.APPROVAL: Who.WE,
    Kind.FORM: Who.WE,
    Kind.FILE: Who.WE,
    Kind.PART_BACK: Who.WE,
    Kind.DECIDE: Who.WE,
    Kind.NOTICE: Who.WE,
    Kind.PROMISE: Who.WE,
    Kind.COMPONENT: Who.WE,
}
_REGISTERS = {"owner": Who.CUSTOMER, "installer": Who.WE, "either": Who.EITHER}


def registers(by: str) -> Who:
    """Who can register, by what terms say of it (`owner`, `installer`, `either`)."""
    return _REGISTERS[by]


@dataclass(frozen=True, slots=True)
class Deadline:
    """One thing to be done: its last day (none: it is not known yet, or it comes before something that has no day), and what hangs on it.

    `ahead` marks a step that comes before another which is still ahead. `dollars` is what it is worth where that is known,
    else `lost` is the coverage that would be lost.
    """

    kind: Kind
    last: dt.date | None
    who: Who
    ahead: bool = False
    dollars: Decimal | None = None
    lost: tuple[Lost, ...] = ()

    def days_left(self, on: dt.date) -> int | None:
        """The days left, negative once the last day has passed; None without one."""
        return None if self.last is None else (self.last - on).days


def of_decision(decision: Decision) -> tuple[Kind, dt.date]:
    """The kind of what an agreement waits for, and its last day: of a bill that was not paid in time, when it should have been."""
    if decision.what == "unpaid":
        return Kind.DECIDE, decision.on + UNPAID_DAYS * DAY
    return (Kind.NOTICE if decision.what == "notice" else Kind.DECIDE), decision.on


def step_day(booked: Iterable[dt.date], *, on: dt.date) -> dt.date | None:
    """The day of a step that comes before the work: the first booked visit from today on; None where nothing is booked."""
    return min((day for day in booked if day >= on), default=None)


def rank(deadline: Deadline) -> tuple[int, dt.date]:
    """A key to sort deadlines by: first the steps without a day whose work is still ahead, then by last day, last what waits for a day."""
    if deadline.last is not None:
        return 1, deadline.last
    return (0 if deadline.ahead else 2), dt.date.max


@dataclass(frozen=True, slots=True)
class Before:
    """What must be done before anyone goes out, and whom it is asked of."""

    kind: Kind
    terms: str


def before_anyone_goes_out(
    found: Iterable[Answer], held: Iterable[Terms], component: str, *, done: Collection[Kind] = ()
) -> tuple[Before, ...]:
    """The steps that come before the work on a component, for each terms that may pay for its parts, in the order of answers.

    1. Prior approval, for the components that the terms name. 2. The claim form, before the new part is picked up.
    """
    by_code = {terms.code: terms for terms in held}
    steps = []
    for answer in found:
        if answer.kind != "parts" or answer.result is Result.NOT_COVERED:
            continue
        rules = by_code[answer.terms].claims
        if component in rules.leave_first:
            steps.append(Before(Kind.APPROVAL, answer.terms))
        if rules.form_before_part:
            steps.append(Before(Kind.FORM, answer.terms))
    return tuple(step for step in steps if step.kind not in done)
