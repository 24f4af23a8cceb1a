"""What many pages are made of: a unit as a link, a fact and its value; a moment and a number in words."""

import datetime as dt
from dataclasses import dataclass

from fleet.rules.dates import in_words


@dataclass(frozen=True, slots=True)
class UnitLink:
    """Another unit, as a link: a unit of the same system, or one that it took over from or handed on to."""

    pk: int
    what: str
    room: str
    model: str
    serial: str
    here: bool = False
    gone: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing on file with its name; no value: not recorded."""

    name: str
    value: str


def moment(at: dt.datetime | None) -> str:
    """Write a moment, given in the company's time, so that nobody can misread it.

    >>> moment(dt.datetime(2026, 3, 2, 0, 5)), moment(dt.datetime(2026, 3, 2, 12, 5)), moment(None)
    ('2 March 2026, 12:05 AM', '2 March 2026, 12:05 PM', '')
    """
    if at is None:
        return ""
    return f"{in_words(at.date())}, {at.hour % 12 or 12}:{at.minute:02} {'AM' if at.hour < 12 else 'PM'}"


def counted(number: int, word: str) -> str:
    """Write a number with its word.

    >>> counted(1, "unit"), counted(9, "unit"), counted(0, "system")
    ('1 unit', '9 units', 'no systems')
    """
    return f"1 {word}" if number == 1 else f"{number or 'no'} {word}s"
