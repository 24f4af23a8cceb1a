"""What a payer said, held against what the terms on file say: the same, or where they differ."""

import datetime as dt
from dataclasses import dataclass

from fleet.rules.dates import in_words
from fleet.rules.findings import Result


@dataclass(frozen=True, slots=True)
class Ours:
    """What the terms on file say of one component and kind of cost: today's result, and the days of the certain term."""

    result: Result
    first: dt.date | None = None
    last: dt.date | None = None
    lifetime: bool = False

    def covered_on(self, day: dt.date) -> bool:
        """Whether the certain term has that day; what was said before a term ended is held against the day it was said."""
        if self.first is None or day < self.first:
            return False
        return self.lifetime or (self.last is not None and day <= self.last)

    @property
    def open(self) -> bool:
        """Whether something that nobody recorded decides it."""
        return self.result in (Result.COVERED_IF, Result.CANNOT_SAY)


@dataclass(frozen=True, slots=True)
class Word:
    """What a payer said: on which day, covered or not, to which last day (None: none was told)."""

    said_on: dt.date
    covered: bool
    last_on: dt.date | None = None


def differs(word: Word, ours: Ours | None) -> bool:
    """Whether a payer said another result or last day than the terms on file; None: no terms speak of it.

    Where our answer hangs on something open, whatever the payer says is news, unless it says of the day what the certain
    term says.
    """
    if ours is None:
        return word.covered
    ours_then = ours.covered_on(word.said_on)
    if word.covered != ours_then:
        return word.covered or ours_then or ours.open
    if not word.covered:
        return ours.open
    return word.last_on is not None and (ours.lifetime or word.last_on != ours.last)


def ours_in_words(ours: Ours | None) -> str:
    """What the terms on file say, in words.

    >>> ours_in_words(Ours(Result.COVERED, dt.date(2021, 4, 14), dt.date(2031, 4, 14)))
    'covered until April 14, 2031'
    """
    if ours is None:
        return "no terms on file cover it"
    if ours.lifetime:
        return "covered for the life of the unit"
    match ours.result:
        case Result.COVERED:
            return "covered" if ours.last is None else f"covered until {in_words(ours.last)}"
        case Result.COVERED_IF:
            return "may be covered; something is still missing"
        case Result.CANNOT_SAY:
            return "not clear: the start is not known"
        case _:
            return "not covered" if ours.last is None else f"covered until {in_words(ours.last)}, over by today"


def word_in_words(word: Word) -> str:
    """What the payer said, in words.

    >>> word_in_words(Word(dt.date(2026, 3, 2), True, dt.date(2031, 4, 14)))
    'covered until April 14, 2031'
    """
    if not word.covered:
        return "not covered"
    return "covered" if word.last_on is None else f"covered until {in_words(word.last_on)}"
