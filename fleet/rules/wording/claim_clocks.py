"""Clocks of many claims in plain English: what was missed, what closes soon."""

import datetime as dt
from typing import NamedTuple

from fleet.rules.clocks import Clock, ClockState
from fleet.rules.dates import in_words
from fleet.rules.wording.claims import clock_line
from fleet.rules.wording.counted import Counted
from fleet.rules.wording.names import upper

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def to_do(one: Clock, *, asked: dt.date) -> str:
    """Name a clock in a list that has its day in a column of its own.

    >>> from fleet.rules.clocks import ClockKind
    >>> to_do(Clock(ClockKind.FILE, ClockState.MISSED, dt.date(2024, 4, 22), None, "failed_on"), asked=dt.date(2024, 5, 2))
    'Missed: file the claim'
    """
    line = clock_line(one).split(" by ")[0]
    return f"Missed: {line[:1].lower()}{line[1:]}" if one.state is ClockState.MISSED else line


class Together(NamedTuple):
    """How many clocks, the earliest of their last days, and whether there are more than were counted."""

    number: int = 0
    earliest: dt.date = dt.date.max
    more: bool = False

    @property
    def counted(self) -> Counted:
        """How many, without their days."""
        return Counted(self.number, self.more)


def clocks_in_words(*, missed: Together, closing: Together, first: Together, asked: dt.date) -> tuple[str, ...]:
    """Say how many clocks were missed, how many close within the week, and how many have no day but come first.

    >>> two = Together(2, dt.date(2024, 4, 25))
    >>> clocks_in_words(missed=Together(), closing=two, first=Together(), asked=dt.date(2024, 4, 22))
    ('2 clocks of claims run out within a week, the first on Thursday, 25 April 2024.',)
    """
    found = []
    if missed.number:
        one = missed.counted.is_one
        since = f", {'on' if one else 'the longest ago on'} {in_words(missed.earliest)}"
        clocks = "1 clock of a claim was" if one else f"{missed.counted} clocks of claims were"
        found.append(f"{clocks} missed{since}: {'it stands' if one else 'they stand'} here until done.")
    if closing.number:
        left = (closing.earliest - asked).days
        near = "today" if left == 0 else f"on {_WEEKDAYS[closing.earliest.weekday()]}, {in_words(closing.earliest)}"
        one = closing.counted.is_one
        found.append(
            f"{'1 clock of a claim runs' if one else f'{closing.counted} clocks of claims run'} out within a week"
            f", {'' if one else 'the first '}{near}."
        )
    if first.number:
        things = f"{first.counted} thing{'' if first.counted.is_one else 's'}"
        found.append(f"{things} must be done before the repair or before the new part is taken.")
    return tuple(map(upper, found))
