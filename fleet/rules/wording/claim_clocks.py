"""Clocks of many claims in plain English: what was missed, what closes soon."""

import datetime as dt
from collections.abc import Sequence

from fleet.rules.clocks import Clock, ClockState
from fleet.rules.dates import in_words
from fleet.rules.wording.claims import clock_line

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def to_do(one: Clock, *, asked: dt.date) -> str:
    """Name a clock in a list that has its day in a column of its own.

    >>> from fleet.rules.clocks import ClockKind
    >>> to_do(Clock(ClockKind.FILE, ClockState.MISSED, dt.date(2024, 4, 22), None, "failed_on"), asked=dt.date(2024, 5, 2))
    'Missed: file the claim'
    """
    line = clock_line(one).split(" by ")[0]
    return f"Missed: {line[:1].lower()}{line[1:]}" if one.state is ClockState.MISSED else line


def clocks_in_words(
    *, missed: Sequence[dt.date], closing: Sequence[dt.date], first: int, asked: dt.date
) -> tuple[str, ...]:
    """Say how many clocks were missed, how many close within the week, and how many have no day but come first.

    >>> day = dt.date
    >>> clocks_in_words(missed=[], closing=[day(2024, 4, 25), day(2024, 4, 27)], first=0, asked=day(2024, 4, 22))
    ('2 clocks of claims run out within a week, the first on Thursday, 25 April 2024.',)
    """
    found = []
    if missed:
        since = f", {'on' if len(missed) == 1 else 'the longest ago on'} {in_words(min(missed))}"
        found.append(
            f"{_clocks(len(missed))} missed{since}: {'it stands' if len(missed) == 1 else 'they stand'} here until done."
        )
    if closing:
        nearest = min(closing)
        left = (nearest - asked).days
        near = "today" if left == 0 else f"on {_WEEKDAYS[nearest.weekday()]}, {in_words(nearest)}"
        one = len(closing) == 1
        found.append(
            f"{'1 clock of a claim runs' if one else f'{len(closing):,} clocks of claims run'} out within a week"
            f", {'' if one else 'the first '}{near}."
        )
    if first:
        one = first == 1
        found.append(
            f"{first:,} thing{'' if one else 's'} must be done before the repair or before the new part is taken."
        )
    return tuple(found)


def _clocks(number: int) -> str:
    return "1 clock of a claim was" if number == 1 else f"{number:,} clocks of claims were"
