"""Serials of one spreadsheet that are the same, or that differ by characters read alike on a worn plate.

They may be one unit that stands in two rows, one serial that was written down wrongly, or two units: only a person can say.
"""

from enum import StrEnum

from fleet.rules import words


class Likeness(StrEnum):
    """How two serials are alike."""

    SAME = "same"
    LOOK_ALIKE = "look-alike"


def likeness(first: str, second: str) -> Likeness | None:
    """How two serials are alike: the same but for case, spaces and hyphens, or read alike; nothing where neither.

    >>> likeness("SO-12 Z8", "so12z8"), likeness("SO12Z8", "5012ZB"), likeness("SO12Z8", "SO12Z9")
    (<Likeness.SAME: 'same'>, <Likeness.LOOK_ALIKE: 'look-alike'>, None)
    """
    if not words.alike(first) or words.alike(first) != words.alike(second):
        return None
    return Likeness.SAME if words.key(first) == words.key(second) else Likeness.LOOK_ALIKE


def differing(first: str, second: str) -> tuple[int, ...]:
    """The places of the first serial at which the second has another character, for showing where to look on the plate.

    >>> differing("SO-12Z8", "5012ZB")
    (0, 1, 6)
    """
    places = [place for place, sign in enumerate(first) if sign.isalnum()]
    others = [sign for sign in second if sign.isalnum()]
    return tuple(
        place for place, other in zip(places, others, strict=False) if first[place].casefold() != other.casefold()
    )
