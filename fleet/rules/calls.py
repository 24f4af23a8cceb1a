"""Calls: which comes first, which step one may take, when it is up to us, and whether our own work may have led to it.

A call is something that a customer rang about. It is open until somebody has put right what it was about, or it is closed
without work. No rule here asks for a time of day.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from fleet.rules import payers
from fleet.rules.dates import DAY, WorkingDays

# ----------------------------------------------------------------------------------------------------------- the order


class Trouble(StrEnum):
    """What is wrong, in the order in which calls are answered; the words are those that are kept."""

    SMELL_OR_ALARM = "smell or alarm"
    NO_HEAT = "no heat"
    WATER = "water"
    NO_COOLING = "no cooling"
    ERROR = "error shown"
    NOISE = "noise"
    OTHER = "other"


# Smell or alarm first, then no heat and water alike, then no cooling, then the rest.
_RANK = {Trouble.SMELL_OR_ALARM: 0, Trouble.NO_HEAT: 1, Trouble.WATER: 1, Trouble.NO_COOLING: 2}
_THE_REST = 3
# What cannot wait until the second working day.
SAME_DAY = frozenset({Trouble.SMELL_OR_ALARM, Trouble.NO_HEAT, Trouble.WATER})


# What a repair is booked for until somebody has looked. Common practice, no source.
CALL_MINUTES = 60


def order(trouble: Trouble, came_on: dt.date, number: int, *, put_first: bool = False) -> tuple[int, int, dt.date, int]:
    """Where a call stands among the open ones: what somebody put first, then by what is wrong, then the oldest.

    `number` parts calls of one day: that of the row, so the one that was noted first.

    >>> noise = order(Trouble.NOISE, dt.date(2026, 3, 1), 1)
    >>> order(Trouble.WATER, dt.date(2026, 3, 2), 2) < noise < order(Trouble.NOISE, dt.date(2026, 3, 1), 3)
    True
    """
    return (0 if put_first else 1, _RANK.get(trouble, _THE_REST), came_on, number)


# ---------------------------------------------------------------------------------------------------------- the states


class State(StrEnum):
    """Where a call stands."""

    OPEN = "open"
    BOOKED = "booked"
    WAITING_FOR_PART = "waiting for a part"
    PUT_RIGHT = "put right"
    CLOSED = "closed without work"


# From each state, the states it may go to. What does not stand here is refused.
STEPS: Mapping[State, frozenset[State]] = {
    State.OPEN: frozenset({State.BOOKED, State.CLOSED}),
    State.BOOKED: frozenset({State.WAITING_FOR_PART, State.PUT_RIGHT, State.OPEN, State.CLOSED}),
    State.WAITING_FOR_PART: frozenset({State.BOOKED, State.PUT_RIGHT, State.CLOSED}),
    State.PUT_RIGHT: frozenset({State.OPEN}),
    State.CLOSED: frozenset(),
}
# Which of them asks for a reason: what is given up, and what was thought to be right and was not.
NEEDS_REASON = frozenset({State.CLOSED})


def may_go(state: State, to: State) -> bool:
    """Whether a call in one state may go to another."""
    return to in STEPS[state]


# ------------------------------------------------------------------------------------------------------------ up to us


@dataclass(frozen=True, slots=True)
class Part:
    """A part that a call waits for: when it was ordered, is expected and arrived (None: not, or not known)."""

    ordered_on: dt.date | None = None
    expected_on: dt.date | None = None
    arrived_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Call:
    """A call as it stands: its state, what is wrong, the day it came, the day promised, its parts, and its next visit."""

    state: State
    trouble: Trouble
    came_on: dt.date
    promised_on: dt.date | None = None
    parts: tuple[Part, ...] = ()
    next_visit_on: dt.date | None = None


class Reason(StrEnum):
    """Why a call is up to us."""

    PROMISE_MISSED = "promise missed"
    NOT_BOOKED = "not booked"
    PART_LATE = "part late"
    PART_ARRIVED = "part arrived"
    VISIT_PAST = "visit past"


@dataclass(frozen=True, slots=True)
class UpToUs:
    """One reason why a call is up to us, and the day since which it is."""

    reason: Reason
    since: dt.date


def book_by(trouble: Trouble, came_on: dt.date, working: WorkingDays) -> dt.date:
    """The day from which a call that nobody has booked is up to us.

    Smell, heat and water: the day it came. Anything else: the second working day after it.

    >>> book_by(Trouble.NOISE, dt.date(2026, 11, 26), WorkingDays())  # a Thursday
    datetime.date(2026, 11, 30)
    """
    if trouble in SAME_DAY:
        return came_on
    first = working.first_from(came_on + DAY)
    return working.first_from(first + DAY)


def up_to_us(call: Call, working: WorkingDays, *, today: dt.date) -> tuple[UpToUs, ...]:
    """Why a call is up to us today, the longest first; nothing where it is put right or closed."""
    return tuple(sorted(_reasons(call, working, today), key=lambda one: (one.since, one.reason)))


def _reasons(call: Call, working: WorkingDays, today: dt.date) -> Iterable[UpToUs]:
    if call.state in (State.PUT_RIGHT, State.CLOSED):
        return
    if call.promised_on is not None and call.promised_on < today:
        yield UpToUs(Reason.PROMISE_MISSED, call.promised_on + DAY)
    if call.state is State.OPEN and (by := book_by(call.trouble, call.came_on, working)) <= today:
        yield UpToUs(Reason.NOT_BOOKED, by)
    if call.state is State.BOOKED and call.next_visit_on is not None and call.next_visit_on < today:
        yield UpToUs(Reason.VISIT_PAST, call.next_visit_on + DAY)
    if call.state is State.WAITING_FOR_PART:
        yield from _of_parts(call.parts, today)


def _of_parts(parts: Sequence[Part], today: dt.date) -> Iterable[UpToUs]:
    late = [part.expected_on for part in parts if part.arrived_on is None and part.expected_on is not None]
    if late and min(late) < today:
        yield UpToUs(Reason.PART_LATE, min(late) + DAY)
    arrived = [part.arrived_on for part in parts if part.arrived_on is not None]
    if parts and len(arrived) == len(parts) and max(arrived) <= today:
        yield UpToUs(Reason.PART_ARRIVED, max(arrived))


# ----------------------------------------------------------------------------------------------------------- call-backs


@dataclass(frozen=True, slots=True, order=True)
class Work:
    """Work of ours on a unit: the day, what kind it was (a task, a repair, an install), who did it, and its own number.

    `key` tells two works of one day and kind apart.
    """

    on: dt.date
    kind: str
    technician: str = ""
    key: str = ""


def ours(works: Iterable[Work], other_companies: Collection[str]) -> tuple[Work, ...]:
    """The works that are ours: a record says by whom it was done in its technician's place, be that a person or another company.

    >>> done = [Work(dt.date(2026, 3, 1), "Repair", "Ike"), Work(dt.date(2026, 3, 1), "Repair", "Gull Air"), Work(dt.date(2026, 3, 1), "Install")]
    >>> [work.technician for work in ours(done, {"Gull Air"})]
    ['Ike', '']
    """
    return tuple(work for work in works if work.technician not in other_companies)


def may_be_call_back(works: Iterable[Work], came_on: dt.date, *, days: int) -> Work | None:
    """The latest work of ours that a call may come back to: done 1 to `days` days before it came; None: there is none.

    `works` are those on the units of the call's system, or of its site where no unit is known.
    """
    if days < 1:
        raise ValueError("A call may come back to work done at least one day before.")
    near = [work for work in works if DAY <= came_on - work.on <= days * DAY]
    return max(near, default=None)


@dataclass(frozen=True, slots=True)
class Rate:
    """How often work of one kind by one technician brought a call back: yes ÷ works, exactly (None: no work).

    `payer_owes` are works that brought a call back for a failure that a payer owes for; they are apart, and no part of `came_back`.
    """

    kind: str
    technician: str
    works: int
    came_back: int
    payer_owes: int = 0

    @property
    def share(self) -> Fraction | None:
        """The part of the works that brought a call back, from 0 to 1."""
        return Fraction(self.came_back, self.works) if self.works else None


def rates(
    works: Iterable[Work], came_back: Collection[Work], payer_owes: Collection[Work] = frozenset()
) -> tuple[Rate, ...]:
    """Of works in a period (by their own days), how many brought a call back, by kind and technician in that order.

    `came_back` are the works that somebody said yes for, `payer_owes` those of them of which every call found a failure that
    a payer owes for. More calls about one work before the first is put right are one, so each work counts once.
    """
    counted: dict[tuple[str, str], list[int]] = {}
    yes, apart = set(came_back), set(payer_owes)
    for work in set(works):
        count = counted.setdefault((work.kind, work.technician), [0, 0, 0])
        count[0] += 1
        count[1] += work in yes - apart
        count[2] += work in yes & apart
    return tuple(Rate(kind, technician, *count) for (kind, technician), count in sorted(counted.items()))


def a_payer_owes(pays: Iterable[str]) -> bool:
    """Whether somebody besides us and the customer owes for certain, by who pays each kind of cost of a failure.

    >>> a_payer_owes(["maker", "customer"]), a_payer_owes(["installer", "customer"]), a_payer_owes(["maker if"])
    (True, False, False)
    """
    return any(code in payers.BY_CODE and not payers.BY_CODE[code].ours for code in pays)


# --------------------------------------------------------------------------------------------------------- read it out

# Common practice; the signs and what to do are those that American gas companies and the CDC publish for homes. The local
# emergency services decide.
EMERGENCY = (
    "If you smell gas or something burning, or a carbon monoxide alarm is sounding: leave the building now, everybody. Don't "
    "switch anything on or off. Call 911 or the gas company from outside, and don't go back in until they say so."
)

# ------------------------------------------------------------------------------------------------------- symptoms first

# What is usually behind it, the likeliest first. Common practice, no source: whoever looks decides.
LIKELY: Mapping[Trouble, tuple[str, ...]] = {
    Trouble.SMELL_OR_ALARM: ("heat exchanger", "gas valve", "wiring", "control board", "indoor fan motor"),
    Trouble.NO_HEAT: ("reversing valve", "control board", "refrigerant", "compressor", "igniter", "outdoor fan motor"),
    Trouble.WATER: ("drain line", "drain pan", "drain pump", "indoor coil"),
    Trouble.NO_COOLING: ("refrigerant", "capacitor", "outdoor fan motor", "compressor", "control board"),
    Trouble.ERROR: ("sensor", "control board", "wiring"),
    Trouble.NOISE: ("blower wheel", "indoor fan motor", "outdoor fan motor", "compressor"),
    Trouble.OTHER: (),
}


def likely(trouble: Trouble, possible: Collection[str], asked: str = "") -> tuple[str, ...]:
    """The components that may be behind a trouble on a unit that has only the `possible` ones; what was asked about first.

    >>> likely(Trouble.WATER, {"drain line", "indoor coil", "filter"}, "filter")
    ('filter', 'drain line', 'indoor coil')
    """
    named = tuple(name for name in LIKELY[trouble] if name in possible and name != asked)
    return ((asked,) if asked else ()) + named
