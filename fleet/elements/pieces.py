"""What many pages are made of: a unit as a link, a fact and its value; a moment and a number in words."""

import datetime as dt
from dataclasses import dataclass

from fleet.rules.dates import in_table, in_words


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
    """A moment, given in the company's time, as a sentence has it.

    >>> moment(dt.datetime(2026, 3, 2, 0, 5)), moment(dt.datetime(2026, 3, 2, 12, 5)), moment(None)
    ('March 2, 2026, 12:05 AM', 'March 2, 2026, 12:05 PM', '')
    """
    return "" if at is None else f"{in_words(at.date())}, {_time(at)}"


def moment_in_table(at: dt.datetime) -> str:
    """The same as a table has it.

    >>> moment_in_table(dt.datetime(2026, 3, 2, 13, 5))
    'Mar 2, 2026, 1:05 PM'
    """
    return f"{in_table(at.date())}, {_time(at)}"


def _time(at: dt.datetime) -> str:
    return f"{at.hour % 12 or 12}:{at.minute:02} {'AM' if at.hour < 12 else 'PM'}"


def counted(number: int, word: str) -> str:
    """Write a number with its word.

    >>> counted(1, "unit"), counted(9, "unit"), counted(0, "system")
    ('1 unit', '9 units', 'no systems')
    """
    return f"1 {word}" if number == 1 else f"{number or 'no'} {word}s"
