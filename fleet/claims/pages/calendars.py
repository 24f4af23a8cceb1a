"""The clocks as a calendar that a phone or desk reads, and the links by which it does."""

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Day:
    """One whole day of the calendar: a mark that never changes, what stands in the day, and more about it."""

    mark: str
    on: dt.date
    title: str
    lines: tuple[str, ...]
    address: str


@dataclass(frozen=True, slots=True)
class Calendar:
    """What a calendar holds as of a day."""

    name: str
    as_of: dt.date
    days: tuple[Day, ...]


@dataclass(frozen=True, slots=True)
class CalendarLine:
    """One link: which phone or desk it was made for, when, and when it was last read (blank: never)."""

    pk: int
    name: str
    made: str
    read: str
    revoked: str


@dataclass(frozen=True, slots=True)
class CalendarsPage:
    """One person's links: those that work, and those that were revoked."""

    working: tuple[CalendarLine, ...]
    revoked: tuple[CalendarLine, ...]
    days: int
