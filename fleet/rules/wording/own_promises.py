"""Promises of our own in plain English."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from fleet.rules.dates import in_words
from fleet.rules.own_promises import Exposure
from fleet.rules.wording.money import dollars


def stands(state: str, until: dt.date, called_on: dt.date | None, released_on: dt.date | None) -> str:
    """Write where a promise stands.

    >>> until = dt.date(2028, 5, 1)
    >>> stands("standing", until, None, None), stands("lapsed", until, None, None)
    ('good through May 1, 2028', 'lapsed on May 1, 2028')
    >>> stands("called on", until, dt.date(2027, 1, 2), None), stands("released", until, None, dt.date(2027, 1, 2))
    ('called on January 2, 2027', 'released on January 2, 2027')
    """
    match state:
        case "called on" if called_on is not None:
            return f"called on {in_words(called_on)}"
        case "released" if released_on is not None:
            return f"released on {in_words(released_on)}"
        case "lapsed":
            return f"lapsed on {in_words(until)}"
        case _:
            return f"good through {in_words(until)}"


def in_all(standing: int) -> str:
    """Write how many promises stand.

    >>> in_all(0), in_all(1), in_all(12)
    ('None of our own promises is in force.', '1 of our own promises is in force.', '12 of our own promises are in force.')
    """
    if not standing:
        return "None of our own promises is in force."
    return f"{standing:,} of our own promises {'is' if standing == 1 else 'are'} in force."


def against_reserve(ahead: Sequence[Exposure], reserve: Decimal) -> str:
    """Write what the standing promises could cost at most, against the reserve; blank where none stands.

    >>> may = Exposure(dt.date(2028, 5, 1), 2, Decimal("4200.00"), 1)
    >>> against_reserve([may], Decimal("2500.00"))
    '2 of our own promises are in force. They could cost $4,200.00 at most, $1,700.00 more than the reserve of $2,500.00; 1 has no amount.'
    >>> against_reserve([Exposure(dt.date(2028, 5, 1), 1, Decimal("900.00"), 0)], Decimal("2500.00"))
    '1 of our own promises is in force. It could cost $900.00 at most, within the reserve of $2,500.00.'
    >>> against_reserve([Exposure(dt.date(2028, 5, 1), 1, Decimal("900.00"), 0)], Decimal(0))
    '1 of our own promises is in force. It could cost $900.00 at most; no reserve is set.'
    >>> against_reserve([], Decimal(0))
    ''
    """
    count = sum(one.promises for one in ahead)
    if not count:
        return ""
    cost = sum((one.cost for one in ahead), Decimal(0))
    without = sum(one.without_cost for one in ahead)
    if not reserve:
        beside = "; no reserve is set"
    elif cost > reserve:
        beside = f", {dollars(cost - reserve)} more than the reserve of {dollars(reserve)}"
    else:
        beside = f", within the reserve of {dollars(reserve)}"
    left = "" if not without else f"; {without:,} {'has' if without == 1 else 'have'} no amount"
    return f"{in_all(count)} {'It' if count == 1 else 'They'} could cost {dollars(cost)} at most{beside}{left}."


FIELDS = {
    "words": "the promise", "conditions": "conditions", "made_by": "who made it", "made_on": "day it was made",
    "until": "last day", "cost_at_most": "most it could cost", "called_on": "day it was called on",
    "called_what": "what was done", "called_cost": "what that cost", "released_on": "day it was released",
    "released_why": "why it was released", "system_id": "system",
}  # fmt: skip
