"""What a missed registration lost, in a sentence for each kind of cost."""

from fleet.rules.dates import in_words
from fleet.rules.lost import Lost
from fleet.rules.wording.names import days, listed


def lost(found: Lost) -> str:
    """Write what was lost of one kind of cost.

    >>> import datetime as dt
    >>> lost(Lost("parts", ("*",), 1826, dt.date(2031, 4, 14), dt.date(2036, 4, 14)))
    '1,826 days of parts: to April 14, 2031 in place of April 14, 2036'
    >>> lost(Lost("labor", ("compressor",), None, None, None, perhaps=True))
    'A lifetime of labor for the compressor, perhaps: nothing in place of the life of the unit'
    """
    names = "" if found.components == ("*",) else f" for the {listed(found.components)}"
    much = "a lifetime" if found.days is None else days(found.days)
    has = "nothing" if found.last is None else f"to {in_words(found.last)}"
    had = "the life of the unit" if found.would_reach is None else in_words(found.would_reach)
    perhaps = ", perhaps" if found.perhaps else ""
    text = f"{much} of {found.kind}{names}{perhaps}: {has} in place of {had}"
    return text[:1].upper() + text[1:]
