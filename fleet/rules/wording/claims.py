"""Claims in plain English: why a step is refused, how a deadline stands, what is still missing."""

import datetime as dt
from decimal import Decimal
from typing import assert_never

from fleet.rules.claims import STEPS, Refusal, State, Why
from fleet.rules.clocks import Clock, ClockKind, ClockState
from fleet.rules.wants import Wanted
from fleet.rules.wording.claim_steps import STATES
from fleet.rules.wording.money import AMOUNT_WANTED, dollars
from fleet.rules.wording.names import DATES, dated, days, listed, upper

_DATES = DATES | {
    "approved_on": "the day prior approval was received",
    "form_on": "the day the claim form was filled out",
    "filed_on": "the day it was filed",
    "part_back_on": "the day the old part was returned",
    "step_on": "the day of this step",
    "last_step_on": "the day of the previous step",
}
_SAY = {
    State.ASKED_FOR_MORE: "what information the payer needs",
    State.PART_APPROVED: "why the payer approved only part of it",
    State.DENIED: "why the payer denied it",
    State.WITHDRAWN: "why you are withdrawing it",
    State.WRITTEN_OFF: "why you are writing it off",
    State.CREDITED: "why the payer pays less than it approved",
}
_HOW_MUCH = {
    State.FILED: "you are claiming",
    State.APPROVED: "was approved",
    State.PART_APPROVED: "was approved",
    State.CREDITED: "was credited",
}


def refusal(one: Refusal) -> str:  # noqa: C901 - one case for each reason
    """Why something is refused, and what to do instead.

    >>> refusal(Refusal(Why.NO_SUCH_STEP, State.ASKED_FOR_MORE, State.CREDITED))
    'A claim at “more information needed” cannot go to “credited”, only to “filed” or “withdrawn”.'
    """
    amount, limit = dollars(one.amount or Decimal(0)), dollars(one.limit or Decimal(0))
    match one.why:
        case Why.NO_SUCH_STEP:
            return _no_such_step(one)
        case Why.REASON_WANTED:
            return f"Say {_reason_for(one)}."
        case Why.AMOUNT_WANTED:
            return f"Say how much {_HOW_MUCH[one.to or State.FILED]}."
        case Why.AMOUNT_OUT_OF_PLACE:
            return f"This step has no amount; leave {amount} out."
        case Why.CORRECTION_WANTED:
            return "Only the payer’s own correction reopens a credited claim: check the box if that is what happened."
        case Why.NOT_AN_AMOUNT:
            return AMOUNT_WANTED
        case Why.OVER_SPENT:
            return f"{amount} is more than the {limit} that was spent and has not been credited yet."
        case Why.LESS_THAN_ASKED:
            return f"{amount} is less than the {limit} claimed; record a partial approval instead."
        case Why.NOT_LESS_THAN_ASKED:
            return f"{amount} is not less than the {limit} claimed; record an approval in full instead."
        case Why.MORE_THAN_THE_REST:
            return f"{amount} is more than the rest that was not approved: {limit}."
        case Why.NOTHING_PROMISED:
            return "By the terms on file this payer does not cover this failure; say why you are claiming anyway."
        case Why.LATER_THAN_TODAY:
            return f"{upper(_DATES[one.what])},{dated(one.day, ' ')}, is later than today."
        case Why.OUT_OF_ORDER:
            return (
                f"{upper(_DATES[one.what])},{dated(one.day, ' ')}, is before "
                f"{_DATES[one.other]},{dated(one.other_day, ' ')}."
            )
        case _ as never:
            assert_never(never)


def _no_such_step(one: Refusal) -> str:
    state = one.state or State.GATHERING
    lawful = listed((f"“{STATES[to]}”" for to in STEPS[state]), "or")
    only = f", only to {lawful}" if lawful else ": it is final"
    return f"A claim at “{STATES[state]}” cannot go to “{STATES[one.to or state]}”{only}."


def _reason_for(one: Refusal) -> str:
    if one.to is State.FILED:
        return {
            State.DENIED: "what has changed since it was denied",
            State.PART_APPROVED: "what has changed since only part of it was approved",
        }.get(one.state or State.CREDITED, "what the payer corrected")
    return _SAY[one.to or State.WITHDRAWN]


# What is to be done, what was done, what should have been done, what was not; and for those that come before something
# else, before what.
_CLOCKS = {
    ClockKind.FILE: (
        "File the claim",
        "The claim was filed",
        "The claim should have been filed",
        "The claim was not filed",
        "",
    ),
    ClockKind.PART_BACK: (
        "Return the old part",
        "The old part was returned",
        "The old part should have been returned",
        "The old part was not returned",
        "",
    ),
    ClockKind.FORM: (
        "Fill out the claim form",
        "The claim form was filled out",
        "The claim form should have been filled out",
        "No claim form was filled out",
        "the new part is picked up",
    ),
    ClockKind.APPROVAL: (
        "Get prior approval",
        "Prior approval was received",
        "Prior approval should have been received",
        "No prior approval was received",
        "the repair",
    ),
}


def clock(one: Clock, *, asked: dt.date) -> str:
    """How a deadline stands on a day.

    >>> running = Clock(ClockKind.FILE, ClockState.RUNNING, dt.date(2024, 4, 22), None, "failed_on")
    >>> clock(running, asked=dt.date(2024, 4, 19))
    'File the claim by April 22, 2024: 3 days left.'
    """
    do, did, should, not_done, before = _CLOCKS[one.kind]
    match one.state:
        case ClockState.FIRST:
            return f"{do} before {before}."
        case ClockState.WAITING:
            return f"{do}: the deadline counts from {_DATES[one.counted_from]}, which is not on file."
        case ClockState.RUNNING:
            left = 0 if one.last is None else (one.last - asked).days
            return f"{do} by{dated(one.last, ' ')}: {'today is the last day' if left == 0 else f'{days(left)} left'}."
        case ClockState.KEPT:
            return f"{did}{dated(one.done_on)}, {_in_time(one)}."
        case ClockState.MISSED if one.done_on is not None:
            return f"{did}{dated(one.done_on)}, {_gap(one.last, one.done_on)} late."
        case ClockState.MISSED:
            return f"{should} by{dated(one.last, ' ')}, {_gap(one.last, asked)} ago."
        case ClockState.STOPPED:
            return f"{not_done}; the claim is closed."
        case _ as never:
            assert_never(never)


def _in_time(one: Clock) -> str:
    if one.last is None or one.done_on is None:
        return "in time"
    left = (one.last - one.done_on).days
    return "on the last day" if left == 0 else f"{days(left)} before the last day"


def _gap(first: dt.date | None, later: dt.date) -> str:
    return "some days" if first is None else days((later - first).days)


def clock_line(one: Clock) -> str:
    """A deadline as the headline of a calendar's day.

    >>> clock_line(Clock(ClockKind.PART_BACK, ClockState.RUNNING, dt.date(2024, 4, 22), None, "failed_on"))
    'Return the old part by April 22, 2024'
    """
    do, _, _, _, before = _CLOCKS[one.kind]
    return f"{do} before {before}" if one.last is None and before else f"{do}{dated(one.last, ' by ')}"


def want(one: Wanted) -> str:
    """One thing that a claim needs: whether it is on hand, and who could supply it.

    >>> from fleet.rules.wants import Who
    >>> want(Wanted("sales receipt", False, Who.CUSTOMER, asked_by_payer=True))
    'Missing: sales receipt; ask the customer.'
    """
    return f"On hand: {one.text}." if one.there else f"Missing: {one.text}; ask the {one.who}."
