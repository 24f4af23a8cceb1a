"""What a missed registration lost, in a sentence for each kind of cost."""

from fleet.rules.dates import in_words
from fleet.rules.lost import Lost
from fleet.rules.wording.names import listed, span, upper


def lost(loss: Lost) -> str:
    """What was lost of one kind of cost.

    >>> import datetime as dt
    >>> lost(Lost("parts", ("*",), 1826, dt.date(2031, 4, 14), dt.date(2036, 4, 14)))
    '5 years of parts: until April 14, 2031 instead of April 14, 2036'
    >>> lost(Lost("labor", ("compressor",), None, None, None, perhaps=True))
    'A lifetime of labor for the compressor, possibly: nothing instead of the life of the unit'
    """
    names = "" if loss.components == ("*",) else f" for the {listed(loss.components)}"
    much = "a lifetime" if loss.days is None else span(loss.days)
    has = "nothing" if loss.last is None else f"until {in_words(loss.last)}"
    had = "the life of the unit" if loss.would_reach is None else in_words(loss.would_reach)
    possibly = ", possibly" if loss.perhaps else ""
    return upper(f"{much} of {loss.kind}{names}{possibly}: {has} instead of {had}")
