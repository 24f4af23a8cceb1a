"""The usual holidays of a country, which a company may close for.

The days are those of the `holidays` package (the public holidays by law, with the weekday on which one is kept that falls on
a weekend). Which of them a small contractor usually closes for is common practice, no source.
"""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import holidays

from fleet.rules.dates import DAY, Span

# Of the public holidays of the United States, those on which most companies of this trade are closed.
_CLOSED_ON = (
    "New Year's Day",
    "Memorial Day",
    "Independence Day",
    "Labor Day",
    "Thanksgiving Day",
    "Christmas Day",
)
_KEPT_LATER = " (observed)"


@dataclass(frozen=True, slots=True, order=True)
class Holiday:
    """One holiday, and whether a company of this trade is usually closed on it."""

    on: dt.date
    name: str
    closes: bool = True


def usual(country: str, span: Span) -> tuple[Holiday, ...]:
    """The holidays of a country (ISO 3166-1, two letters) within a span that has an end, in order.

    >>> days = usual("US", Span(dt.date(2026, 11, 24), dt.date(2026, 12, 31)))
    >>> [f"{day.on:%b %d} {day.name}" for day in days]
    ['Nov 26 Thanksgiving Day', 'Nov 27 Day after Thanksgiving', 'Dec 24 Christmas Eve', 'Dec 25 Christmas Day']
    """
    assert span.last is not None
    years = range(span.first.year, span.last.year + 2)  # New Year's Day may be kept on the last day of the year before
    public = holidays.country_holidays(country, years=years, language="en_US")
    days = {on: Holiday(on, name, _closes(country, name)) for on, name in public.items()}
    for eve in list(_eves(country, days.values())):
        days.setdefault(eve.on, eve)
    return tuple(sorted(day for day in days.values() if day.on in span))


def _closes(country: str, name: str) -> bool:
    """Whether a company of this trade is usually closed; where the practice is not known, on every public holiday."""
    return country != "US" or name.removesuffix(_KEPT_LATER) in _CLOSED_ON


def _eves(country: str, days: Iterable[Holiday]) -> Iterator[Holiday]:
    """The days that no law names and on which most companies are closed all the same."""
    for day in days if country == "US" else ():
        if day.name == "Thanksgiving Day":
            yield Holiday(day.on + DAY, "Day after Thanksgiving")
        if day.name == "Christmas Day":
            yield Holiday(day.on - DAY, "Christmas Eve")
