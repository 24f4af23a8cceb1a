"""Claims in plain English: why a step is refused, how a clock stands, what is still wanted."""

import datetime as dt
from decimal import Decimal
from typing import assert_never

from fleet.rules.claims import STEPS, Refusal, State, Why
from fleet.rules.clocks import Clock, ClockKind, ClockState
from fleet.rules.wants import Wanted
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import DATES, dated, days, listed, upper

_DATES = DATES | {
    "approved_on": "the day of the payer's leave",
    "form_on": "the day of the claim form",
    "filed_on": "the day it was filed",
    "part_back_on": "the day the old part went back",
    "step_on": "the day of this step",
    "last_step_on": "the day of the step before",
}
_SAY = {
    State.ASKED_FOR_MORE: "what the payer asks for",
    State.PART_APPROVED: "why the payer approved only a part",
    State.DENIED: "why the payer denied it",
    State.WITHDRAWN: "why it is withdrawn",
    State.WRITTEN_OFF: "why it is written off",
    State.CREDITED: "why the payer pays less than it approved",
}
_HOW_MUCH = {
    State.FILED: "is asked for",
    State.APPROVED: "was approved",
    State.PART_APPROVED: "was approved",
    State.CREDITED: "was credited",
}


def refusal(one: Refusal) -> str:  # noqa: C901 - one case for each reason
    """Write why something is refused, and what would be taken instead.

    >>> refusal(Refusal(Why.NO_SUCH_STEP, State.ASKED_FOR_MORE, State.CREDITED))
    'A claim cannot go from asked for more to credited, only to filed or withdrawn.'
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
            return f"This step takes no amount; {amount} was given."
        case Why.CORRECTION_WANTED:
            return "Only a correction by the payer reopens a credited claim."
        case Why.NOT_AN_AMOUNT:
            return "An amount in dollars and cents is wanted, more than nothing."
        case Why.OVER_SPENT:
            return f"{amount} is more than what was spent and is not credited yet: {limit}."
        case Why.LESS_THAN_ASKED:
            return f"{amount} is less than the {limit} that was asked for; that is part approved."
        case Why.NOT_LESS_THAN_ASKED:
            return f"{amount} is not less than the {limit} that was asked for; that is approved."
        case Why.NOTHING_PROMISED:
            return "This payer promised nothing for this failure; say why it is asked all the same."
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
    lawful = listed(STEPS[state], "or")
    return f"A claim cannot go from {state} to {one.to}{f', only to {lawful}' if lawful else ': nothing follows'}."


def _reason_for(one: Refusal) -> str:
    if one.to is State.FILED:
        return "what has changed since it was denied" if one.state is State.DENIED else "what the payer corrected"
    return _SAY[one.to or State.WITHDRAWN]


# What is to be done, what was done, what should have been done, what was not; and for those that come before something
# else, before what.
_CLOCKS = {
    ClockKind.FILE: (
        "File the claim",
        "The claim was filed",
        "The claim should have been filed",
        "It was not filed",
        "",
    ),
    ClockKind.PART_BACK: (
        "Have the old part back",
        "The old part went back",
        "The old part should have been back",
        "The old part did not go back",
        "",
    ),
    ClockKind.FORM: (
        "Make out the claim form",
        "The claim form was made out",
        "The claim form should have been made out",
        "No claim form was made out",
        "the new part is taken",
    ),
    ClockKind.APPROVAL: (
        "Get the payer's leave",
        "The payer gave its leave",
        "The payer's leave should have come",
        "The payer gave no leave",
        "the repair",
    ),
}


def clock(one: Clock, *, asked: dt.date) -> str:
    """Write how a clock stands on a day.

    >>> running = Clock(ClockKind.FILE, ClockState.RUNNING, dt.date(2024, 4, 22), None, "failed_on")
    >>> clock(running, asked=dt.date(2024, 4, 19))
    'File the claim by April 22, 2024: 3 days left.'
    """
    do, did, should, not_done, before = _CLOCKS[one.kind]
    match one.state:
        case ClockState.FIRST:
            return f"{do} before {before}."
        case ClockState.WAITING:
            return f"{do}: its last day counts from {_DATES[one.counted_from]}, which is not on file."
        case ClockState.RUNNING:
            left = 0 if one.last is None else (one.last - asked).days
            return f"{do} by{dated(one.last, ' ')}: {'the last day' if left == 0 else f'{days(left)} left'}."
        case ClockState.KEPT:
            return f"{did}{dated(one.done_on)}, {_in_time(one)}."
        case ClockState.MISSED if one.done_on is not None:
            return f"{did}{dated(one.done_on)}, {_gap(one.last, one.done_on)} late."
        case ClockState.MISSED:
            return f"{should} by{dated(one.last, ' ')}, {_gap(one.last, asked)} ago."
        case ClockState.STOPPED:
            return f"{not_done}; the claim is over."
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
    """Write a clock as the headline of a calendar's day.

    >>> clock_line(Clock(ClockKind.PART_BACK, ClockState.RUNNING, dt.date(2024, 4, 22), None, "failed_on"))
    'Have the old part back by April 22, 2024'
    """
    do, _, _, _, before = _CLOCKS[one.kind]
    return f"{do} before {before}" if one.last is None and before else f"{do}{dated(one.last, ' by ')}"


def want(one: Wanted) -> str:
    """Write one thing that a claim needs: whether it is there, and who could supply it.

    >>> from fleet.rules.wants import Who
    >>> want(Wanted("till receipt", False, Who.CUSTOMER, asked_by_payer=True))
    'Missing: till receipt; ask the customer.'
    """
    return f"There: {one.text}." if one.there else f"Missing: {one.text}; ask the {one.who}."
