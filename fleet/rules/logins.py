"""Whether a password may be tried now: wrong ones in a row under one name slow the next down, and then lock the name.

1. Up to FREE wrong passwords in a row cost nothing: people mistype.
2. After each further one the name waits before the next is looked at, twice as long each time.
3. After LOCKS_AT it is locked, until somebody unlocks it or a day has passed.
4. A day without a wrong password forgets them all; the right password does so at once.

5. A clock that was set back by more than a few minutes leaves nobody waiting for it to catch up.

Names are counted, never network addresses: an office shares one, and whoever guesses has many.
"""

import datetime as dt
import math
import unicodedata
from dataclasses import dataclass

FREE = 4
LOCKS_AT = 10
FIRST_WAIT = dt.timedelta(seconds=30)
FORGOTTEN = dt.timedelta(days=1)
# Tries sent at one moment are looked at one after the other, so a later one may be from a little before.
SET_BACK = dt.timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Wait:
    """Until when no password is looked at under a name, and whether that is a lock."""

    until: dt.datetime
    locked: bool

    def words(self, at: dt.datetime) -> str:
        """The time left from a moment on, in words, rounded up.

        >>> noon = dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC)
        >>> [Wait(noon + dt.timedelta(seconds=left), locked=False).words(noon) for left in (1, 30, 61, 3601, 86400)]
        ['1 second', '30 seconds', '2 minutes', '2 hours', '24 hours']
        """
        left = (self.until - at).total_seconds()
        for name, seconds in (("hour", 3600), ("minute", 60)):
            if left > seconds:
                return _counted(math.ceil(left / seconds), name)
        return _counted(math.ceil(left), "second")


def wait(*, wrong: int, last_at: dt.datetime, at: dt.datetime) -> Wait | None:
    """How long a name with so many wrong passwords in a row must wait; None if a password may be tried."""
    if at < last_at - SET_BACK:
        return None
    until = last_at + _after(wrong)
    return Wait(until, locked=wrong >= LOCKS_AT) if at < until else None


def in_a_row(*, wrong: int, last_at: dt.datetime, at: dt.datetime) -> int:
    """The number of wrong passwords that still count."""
    return wrong if at < last_at + FORGOTTEN else 0


def folded(name: str) -> str:
    """A name as it is counted, whichever way it was typed.

    >>> folded(" Office ") == folded("OFFICE") == folded("\N{FULLWIDTH LATIN SMALL LETTER O}ffice") == "office"
    True
    """
    return unicodedata.normalize("NFKC", name).replace("\0", "").strip().casefold()[:150]


def _after(wrong: int) -> dt.timedelta:
    if wrong <= FREE:
        return dt.timedelta(0)
    return FORGOTTEN if wrong >= LOCKS_AT else FIRST_WAIT * 2 ** (wrong - FREE - 1)


def _counted(number: int, name: str) -> str:
    return f"{number} {name}{'' if number == 1 else 's'}"
