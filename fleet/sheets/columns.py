"""What may stand in a column: each kind reads a cell to the one way that such a thing is written, and back to a value."""

import datetime as dt
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

FIRST_DAY = dt.date(1950, 1, 1)
LAST_DAY = dt.date(2199, 12, 31)

_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_WHOLE = re.compile(r"\d{1,9}")
_REGION = re.compile(r"[A-Z]{2}-[A-Z0-9]{1,3}")


class ParseError(ValueError):
    """A cell in which something else is wanted; its text says what."""


@dataclass(frozen=True, slots=True)
class Column:
    """How the cells of a column are read: `plain` gives a cell as it is kept, or raises ParseError; `value` what that stands for."""

    plain: Callable[[str], str]
    value: Callable[[str], Any] = str
    is_day: bool = False
    words: tuple[str, ...] = ()  # of a closed list


def text(most: int, *, lines: bool = False) -> Column:
    """Words of at most so many characters, in one line unless it may have several."""

    def plain(cell: str) -> str:
        if len(cell) > most:
            raise ParseError(f"at most {most} characters")
        if not lines and not cell.isprintable() and len(cell.splitlines()) > 1:
            raise ParseError(f"one line without line breaks, not {_short(cell)}")
        return cell

    return Column(plain)


def choice(words: Iterable[str]) -> Column:
    """One of a closed list of words; capitals do not count."""
    known = tuple(words)

    def plain(cell: str) -> str:
        word = cell if cell in known else " ".join(cell.casefold().split())
        if word not in known:
            raise ParseError(f"one of {', '.join(known)}, not {_short(cell)}")
        return word

    return Column(plain, words=known)


def several(words: Iterable[str]) -> Column:
    """Any of a closed list of words, with ; between; kept in the list's order."""
    known = tuple(words)

    def plain(cell: str) -> str:
        chosen = {" ".join(part.casefold().split()) for part in cell.split(";")} - {""}
        unknown = sorted(chosen - set(known))
        if unknown:
            raise ParseError(f"any of {', '.join(known)}, with ; between, not {_short(unknown[0])}")
        return ";".join(word for word in known if word in chosen)

    return Column(plain)


def codes() -> Column:
    """Codes with ; between, each once."""

    def plain(cell: str) -> str:
        return ";".join(sorted({part.strip() for part in cell.split(";")} - {""}))

    return Column(plain, lambda kept: tuple(kept.split(";")) if kept else ())


def yes_no() -> Column:
    """Yes or no."""
    known = {"yes": "yes", "no": "no", "y": "yes", "n": "no", "true": "yes", "false": "no"}

    def plain(cell: str) -> str:
        word = known.get(cell.casefold())
        if word is None:
            raise ParseError(f"yes, no or nothing, not {_short(cell)}")
        return word

    return Column(plain, lambda kept: kept == "yes", words=("yes", "no"))


_the_day = lru_cache(maxsize=1 << 14)(dt.date.fromisoformat)


def day(*, last: dt.date = LAST_DAY, of: str = "no later than today") -> Column:
    """A calendar day, no later than the last one."""

    def plain(cell: str) -> str:
        try:
            value = _the_day(cell) if _DAY.fullmatch(cell) else None
        except ValueError:
            value = None
        if value is None:
            raise ParseError(f"a day written as 2024-03-08, not {_short(cell)}")
        if value < FIRST_DAY:
            raise ParseError(f"a day no earlier than {FIRST_DAY.isoformat()}, not {cell}")
        if value > last:
            raise ParseError(f"a day {of} ({last.isoformat()}), not {cell}")
        return cell

    return Column(plain, _the_day, is_day=True)


def whole(most: int) -> Column:
    """A whole number from nothing to so many."""

    def plain(cell: str) -> str:
        if not _WHOLE.fullmatch(cell) or not cell.isascii() or int(cell) > most:
            raise ParseError(f"a whole number from 0 to {most:,}, not {_short(cell)}")
        return str(int(cell))

    return Column(plain, int)


def decimal(before: int, places: int) -> Column:
    """A number, not below nothing, with at most so many digits before the point and places after it."""
    pattern = re.compile(rf"([0-9]{{1,{before}}})(?:\.([0-9]{{1,{places}}})0*)?")

    def plain(cell: str) -> str:
        match = pattern.fullmatch(cell)
        if match is None:
            raise ParseError(f"a number such as 12.50, with at most {places} places, not {_short(cell)}")
        return f"{int(match[1])}.{(match[2] or '').ljust(places, '0')}"

    return Column(plain, Decimal)


def region() -> Column:
    """A region by its ISO 3166-2 code."""

    def plain(cell: str) -> str:
        if not _REGION.fullmatch(cell.upper()):
            raise ParseError(f"a region by its ISO 3166-2 code, such as US-KY, not {_short(cell)}")
        return cell.upper()

    return Column(plain)


def in_plain(value: Any) -> str:
    """Write a value as a file would have it, as a form shows it and as the log keeps it: one way, so that they compare."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case dt.date():
            return value.isoformat()
        case list():
            return "; ".join(map(in_plain, value))
        case _:
            return str(value)


def _short(cell: str) -> str:
    return repr(cell if len(cell) <= 60 else cell[:57] + "...")
