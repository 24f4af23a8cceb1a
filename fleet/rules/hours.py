"""Technicians' hours: what a day and a month have, what visits take of them, and what is left of the running month."""

import datetime as dt
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from fleet.rules.dates import DAY, WorkingDays, add_months


@dataclass(frozen=True, slots=True)
class House(WorkingDays):
    """The house's own settings: its working days, minutes on hand a day (0: no limit), and those entered for months, by first day."""

    minutes_a_day: int = 360
    minutes_by_month: tuple[tuple[dt.date, int], ...] = ()


def still_on_hand(entered: Decimal, working: WorkingDays, *, today: dt.date) -> Decimal:
    """The hours of the running month that are still on hand, to a tenth: its share of working days left, today included.

    >>> still_on_hand(Decimal(100), WorkingDays(), today=dt.date(2026, 11, 24))
    Decimal('23.8')
    """
    first = today.replace(day=1)
    days = [first + number * DAY for number in range((add_months(first, 1) - first).days)]
    worked = [day for day in days if day in working]
    left = sum(day >= today for day in worked)
    return (entered * left / max(len(worked), 1)).quantize(Decimal("0.1"), ROUND_HALF_UP)


class Calendar:
    """The working days from the first day on, and how many minutes of each, and of its month, are taken.

    Days are ordinals, and each has a place; it grows as days are asked for.
    """

    _BLOCK = 32
    _GROWS = 32 * 12

    def __init__(self, house: House, first: dt.date) -> None:
        self._house = house
        self._next = first
        self.limit = house.minutes_a_day
        self.days: list[int] = []
        self.taken: list[int] = []
        self._least: list[int] = []
        self._months: list[int] = []
        self._left = {_month(month): minutes for month, minutes in house.minutes_by_month}

    def _grow(self) -> None:
        enough = len(self.days) + self._GROWS
        day = self._next
        while len(self.days) < enough:
            if day in self._house:
                self.days.append(day.toordinal())
                self._months.append(_month(day))
            day += DAY
        self._next = day
        self.taken.extend([0] * self._GROWS)
        self._least.extend([0] * (self._GROWS // self._BLOCK))

    @property
    def limited(self) -> bool:
        """Whether a day or any month has only so many hours."""
        return bool(self.limit or self._left)

    def place(self, day: int) -> int:
        """The place of the first working day from a day on."""
        while not self.days or self.days[-1] < day:
            self._grow()
        return bisect_left(self.days, day)

    def month(self, place: int) -> int:
        """The month, 1 to 12, in which a place lies."""
        return self._months[place] % 12 + 1

    def working(self, day: int) -> bool:
        """Whether a day is worked."""
        return self.days[self.place(day)] == day

    def days_of(self, begin: int, end: int) -> tuple[int, int]:
        """The first and last of a window's days: its working days, or its last day if it has none.

        A window whose begin is past its end has one day, the first working day from its begin.
        """
        first = self.days[self.place(begin)]
        if begin > end:
            return first, first
        if first > end:
            return end, end
        self.place(end)
        return first, self.days[bisect_right(self.days, end) - 1]

    def take(self, day: int, number: int) -> None:
        """Take so many minutes of a day and of its month; on a day that is not worked they are nobody's hours of that day."""
        month = _month(dt.date.fromordinal(day))
        if month in self._left:
            self._left[month] -= number
        place = self.place(day)
        if self.days[place] == day:
            self.taken[place] += number
            block = place // self._BLOCK
            self._least[block] = min(self.taken[block * self._BLOCK : (block + 1) * self._BLOCK])

    def holds(self, place: int, length: int) -> bool:
        """Whether a day and its month still have the minutes for a visit."""
        return (not self.limit or self.taken[place] + length <= self.limit) and self._month_holds(place, length)

    def _month_holds(self, place: int, length: int) -> bool:
        left = self._left.get(self._months[place])
        return left is None or length <= left

    def first_that_holds(self, length: int, begin: int, end: int | None) -> int | None:
        """The first place from one on, and before another, that holds a visit; one longer than a day has an empty day for itself."""
        place = self._first_day(length, begin, end)
        while place is not None and not self._month_holds(place, length):
            month = dt.date.fromordinal(self.days[place]).replace(day=1)
            place = self._first_day(length, self.place(add_months(month, 1).toordinal()), end)
        return place

    def _first_day(self, length: int, place: int, end: int | None) -> int | None:
        most = max(self.limit - length, 0)
        while end is None or place < end:
            while place >= len(self.taken):
                self._grow()
            block = place // self._BLOCK
            if not self.limit or self.taken[place] <= most:
                return place
            place = (block + 1) * self._BLOCK if self._least[block] > most else place + 1
        return None


def _month(day: dt.date) -> int:
    return day.year * 12 + day.month - 1
