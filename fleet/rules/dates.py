"""Day arithmetic: when a term ends, when a limit passes.

Days are calendar days of the company's own time zone; there are no times of day here.
"""

import datetime as dt
import re
from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache

from dateutil.relativedelta import relativedelta

DAY = dt.timedelta(days=1)
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip
# How many answers are kept at hand: units worked out together share their days. To keep those of a whole fleet saves no
# time, and going over it would take more memory the larger it is.
AT_HAND = 1 << 13
_ISO = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)


@lru_cache(maxsize=AT_HAND)
def add_months(day: dt.date, months: int) -> dt.date:
    """The same-numbered day `months` on, or that month's last day if it has none.

    Count from the original day, always: January 31 stepped month by month drifts to the 28th and stays there.

    >>> add_months(dt.date(2024, 2, 29), 12)
    datetime.date(2025, 2, 28)
    """
    return day + relativedelta(months=months)


@dataclass(frozen=True, slots=True)
class Length:
    """How long a promise runs: months, or days, or for the life of the unit (neither given)."""

    months: int | None = None
    days: int | None = None

    @property
    def lifetime(self) -> bool:
        """Whether the promise has no last day."""
        return self.months is None and self.days is None

    def __str__(self) -> str:
        if self.months is not None:
            return f"{self.months} months"
        return "lifetime" if self.days is None else f"{self.days} days"


LIFETIME = Length()


@lru_cache(maxsize=AT_HAND)
def last_day(start: dt.date, length: Length, *, counts_first_day: bool) -> dt.date | None:
    """The last covered day of a term, or None for a lifetime one.

    Leaving the first day out, a term of months ends on the same-numbered day (Reg. 1182/71 Art. 3; Dodds v Walker).
    Counting it, the term ends the day before, and where the last month lacks that number, on that month's last day
    (German Civil Code s. 188(2)-(3), Japanese Civil Code Art. 143(2)). Clamping first and then taking a day off is wrong.
    """
    if length.days is not None:
        return start + dt.timedelta(days=length.days - (1 if counts_first_day else 0))
    if length.months is None:
        return None
    end = add_months(start, length.months)
    if counts_first_day and end.day == start.day:
        return end - DAY
    return end


def limit(anchor: dt.date, days: int) -> dt.date:
    """The last day of a limit: the anchor is day 0, so a 60-day limit still holds on day 60."""
    return anchor + dt.timedelta(days=days)


@dataclass(frozen=True, slots=True)
class Span:
    """A first and a last day, both inside; None as the last day means it never ends.

    >>> dt.date(2024, 1, 1) in Span(dt.date(2024, 1, 1), dt.date(2024, 1, 1))
    True
    """

    first: dt.date
    last: dt.date | None

    def __contains__(self, day: dt.date) -> bool:
        return self.first <= day and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True)
class WorkingDays:
    """The days on which anybody works: these weekdays (0 is Monday), but for the days that are closed.

    >>> dt.date(2026, 11, 28) in WorkingDays()
    False
    """

    weekdays: frozenset[int] = frozenset(range(5))
    closed: frozenset[dt.date] = frozenset()

    def __post_init__(self) -> None:
        if not self.weekdays & set(range(7)):
            raise ValueError("At least one weekday must be worked.")

    def __contains__(self, day: dt.date) -> bool:
        return day.weekday() in self.weekdays and day not in self.closed

    def first_from(self, day: dt.date, *, not_months: Collection[int] = ()) -> dt.date:
        """The first working day from a day on, outside these months.

        >>> WorkingDays().first_from(dt.date(2026, 11, 28), not_months=(11, 12))
        datetime.date(2027, 1, 1)
        """
        while day not in self or day.month in not_months:
            day += DAY
        return day


MONDAY_TO_FRIDAY = WorkingDays()


def written(text: str) -> dt.date | None:
    """The day that a form, an address or the log writes as 2024-03-08; None where that is no day (ISO 8601, its one form that people see).

    >>> written("2024-03-08"), written("2024-02-30"), written("20240308"), written("")
    (datetime.date(2024, 3, 8), None, None, None)
    """
    try:
        return dt.date.fromisoformat(text) if _ISO.fullmatch(text) else None
    except ValueError:
        return None


@lru_cache(maxsize=AT_HAND)
def in_words(day: dt.date) -> str:
    """A day as a sentence has it, its month in words so that nobody can misread it.

    >>> in_words(dt.date(2024, 3, 8))
    'March 8, 2024'
    """
    return f"{day:%B} {day.day}, {day.year}"


@lru_cache(maxsize=AT_HAND)
def in_table(day: dt.date) -> str:
    """A day as a table has it: short, its month still in words.

    >>> in_table(dt.date(2024, 3, 8)), in_table(dt.date(2024, 5, 31))
    ('Mar 8, 2024', 'May 31, 2024')
    """
    return f"{day:%b} {day.day}, {day.year}"
