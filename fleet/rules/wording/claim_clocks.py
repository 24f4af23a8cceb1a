"""Clocks of many claims in plain English: what was missed, what closes soon."""

import datetime as dt
from typing import NamedTuple

from fleet.rules.clocks import Clock, ClockState
from fleet.rules.dates import in_words
from fleet.rules.wording.claims import clock_line
from fleet.rules.wording.names import upper

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def to_do(one: Clock, *, asked: dt.date) -> str:
    """A clock's words in a list that has its day in a column of its own.

    >>> from fleet.rules.clocks import ClockKind
    >>> to_do(Clock(ClockKind.FILE, ClockState.MISSED, dt.date(2024, 4, 22), None, "failed_on"), asked=dt.date(2024, 5, 2))
    'Missed: file the claim'
    """
    line = clock_line(one).split(" by ")[0]
    return f"Missed: {line[:1].lower()}{line[1:]}" if one.state is ClockState.MISSED else line


class Together(NamedTuple):
    """How many clocks, and the earliest of their last days."""

    number: int = 0
    earliest: dt.date = dt.date.max


def clocks_in_words(*, missed: Together, closing: Together, first: int, asked: dt.date) -> tuple[str, ...]:
    """How many clocks were missed, how many close within the week, and how many must come first, in sentences.

    >>> two = Together(2, dt.date(2024, 4, 25))
    >>> clocks_in_words(missed=Together(), closing=two, first=0, asked=dt.date(2024, 4, 22))
    ('2 clocks of claims run out within a week, the first on Thursday, April 25, 2024.',)
    """
    found = []
    if missed.number:
        one = missed.number == 1
        since = f", {'on' if one else 'the longest ago on'} {in_words(missed.earliest)}"
        clocks = "1 clock of a claim was" if one else f"{missed.number:,} clocks of claims were"
        found.append(f"{clocks} missed{since}: {'it stands' if one else 'they stand'} here until done.")
    if closing.number:
        left = (closing.earliest - asked).days
        near = "today" if left == 0 else f"on {_WEEKDAYS[closing.earliest.weekday()]}, {in_words(closing.earliest)}"
        one = closing.number == 1
        found.append(
            f"{'1 clock of a claim runs' if one else f'{closing.number:,} clocks of claims run'} out within a week"
            f", {'' if one else 'the first '}{near}."
        )
    if first:
        things = f"{first:,} thing{'' if first == 1 else 's'}"
        found.append(f"{things} must be done before the repair or before the new part is taken.")
    return tuple(map(upper, found))
