"""Promises that are our own, made to one customer beside all terms: where each stands, and what the standing ones could cost."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

STANDING, CALLED, LAPSED, RELEASED = STATES = ("standing", "called on", "lapsed", "released")
_NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class OwnPromise:
    """A promise with its last day and what it could cost at most (None: nobody said)."""

    until: dt.date
    cost_at_most: Decimal | None = None
    called_on: dt.date | None = None
    released_on: dt.date | None = None

    def state(self, day: dt.date) -> str:
        """Where it stands on a day: it holds through its last day, unless it was called on or released before."""
        if self.called_on is not None and self.called_on <= day:
            return CALLED
        if self.released_on is not None and self.released_on <= day:
            return RELEASED
        return STANDING if day <= self.until else LAPSED


@dataclass(frozen=True, slots=True)
class Exposure:
    """What promises that lapse in a month could cost at most, and how many of them have no amount; `month` is its first day."""

    month: dt.date
    promises: int
    cost: Decimal
    without_cost: int


def exposure(promises: Iterable[OwnPromise], *, on: dt.date) -> tuple[Exposure, ...]:
    """What the promises that stand on a day could cost at most, by the month in which they lapse."""
    by_month: dict[dt.date, list[OwnPromise]] = defaultdict(list)
    for one in promises:
        if one.state(on) == STANDING:
            by_month[one.until.replace(day=1)].append(one)
    return tuple(
        Exposure(
            month,
            len(some),
            sum((one.cost_at_most for one in some if one.cost_at_most is not None), _NOTHING),
            sum(one.cost_at_most is None for one in some),
        )
        for month, some in sorted(by_month.items())
    )
