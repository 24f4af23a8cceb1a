"""Labels as papers and screens have them."""

import re
from dataclasses import dataclass

_RANGE = re.compile(r"([0-9]{1,18})(?:-([0-9]{1,18}))?")


@dataclass(frozen=True, slots=True)
class Sticker:
    """One label as it is printed: the address that its code says, the code for people, the unit's room and serial, and who we are.

    A blank label has no words of a unit: a line is left to write on.
    """

    address: str
    code: str
    words: tuple[str, ...] = ()
    ours: tuple[str, ...] = ()


def in_ranges(keys: tuple[int, ...]) -> str:
    """Keys as an address has them, those that follow each other by the first and the last.

    >>> in_ranges((4, 5, 6, 9)), in_ranges(())
    ('4-6,9', '')
    """
    parts: list[list[int]] = []
    for key in keys:
        if parts and parts[-1][-1] == key - 1:
            parts[-1] = [parts[-1][0], key]
        else:
            parts.append([key])
    return ",".join("-".join(map(str, part)) for part in parts)


def from_ranges(text: str, *, most: int) -> tuple[int, ...]:
    """The keys of an address, at most so many; nothing where it is none.

    >>> from_ranges("4-6,9", most=100), from_ranges("6-4", most=100), from_ranges("1-9", most=3), from_ranges("x", most=3)
    ((4, 5, 6, 9), (), (1, 2, 3), ())
    """
    keys: list[int] = []
    for part in text.split(","):
        match = _RANGE.fullmatch(part)
        if match is None:
            return ()
        first, last = int(match[1]), int(match[2] or match[1])
        keys += range(first, min(last + 1, first + most))
    return tuple(keys[:most])
