"""The days on which the demo company is closed: the holidays that most American offices keep."""

import datetime as dt
from collections.abc import Mapping

from fleet import models
from fleet.business.actions import house
from fleet.rules.dates import DAY

MONDAY, THURSDAY, SATURDAY, SUNDAY = 0, 3, 5, 6


def holidays(year: int) -> Mapping[dt.date, str]:
    """The holidays of a year on the days they are kept, each with its name.

    Seven of the eleven of 5 USC 6103(a), from memory; one on a Saturday is kept on the Friday before, one on a Sunday on the
    Monday after (6103(b) and Executive Order 11582, from memory). The day after Thanksgiving: common practice, no source.
    """
    thanksgiving = _nth(year, 11, THURSDAY, 4)
    days = {
        _observed(dt.date(year, 1, 1)): "New Year's Day",
        _last(year, 5, MONDAY): "Memorial Day",
        _observed(dt.date(year, 6, 19)): "Juneteenth",
        _observed(dt.date(year, 7, 4)): "Independence Day",
        _nth(year, 9, MONDAY, 1): "Labor Day",
        thanksgiving: "Thanksgiving",
        thanksgiving + DAY: "Day after Thanksgiving",
        _observed(dt.date(year, 12, 25)): "Christmas",
    }
    return dict(sorted(days.items()))


def bring(*, by: models.User, today: dt.date) -> None:
    """Close the holidays of this year and of the two after it, as far as the year ahead can look."""
    days: dict[dt.date, str] = {}
    for year in range(today.year, today.year + 3):
        days |= holidays(year)
    house.close(days=days, by=by, on=today)


def _observed(day: dt.date) -> dt.date:
    return day + {SATURDAY: -DAY, SUNDAY: DAY}.get(day.weekday(), 0 * DAY)


def _nth(year: int, month: int, weekday: int, number: int) -> dt.date:
    first = dt.date(year, month, 1)
    return first + ((weekday - first.weekday()) % 7 + 7 * (number - 1)) * DAY


def _last(year: int, month: int, weekday: int) -> dt.date:
    last = dt.date(year, month + 1, 1) - DAY
    return last - ((last.weekday() - weekday) % 7) * DAY
