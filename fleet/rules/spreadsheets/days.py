"""Days as people write them in a spreadsheet.

A cell that can be only one day is read, whatever its style. One that could be two days, such as 3/8/2024, needs a person to
say which part comes first, once for its column. A year of two digits is of 1950 to 2049, which is the turn of century that
RFC 5280 (4.1.2.5.1) sets for dates written with two digits.
"""

import datetime as dt
import re
from collections.abc import Iterator
from enum import StrEnum
from functools import lru_cache

from fleet.rules.dates import MONTHS

CENTURY_TURN = 50
FIRST_YEAR = 1900

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


class Order(StrEnum):
    """Which part of a day written in numbers comes first."""

    MONTH_FIRST = "month first"
    DAY_FIRST = "day first"
    YEAR_FIRST = "year first"


_MONTH_NUMBERS = {name.casefold(): number for number, name in enumerate(MONTHS, 1)}
_MONTH_NUMBERS |= {name[:3]: number for name, number in _MONTH_NUMBERS.items()} | {"sept": 9}

_SIGN = r"\s*([-/.])\s*"
_ORDINAL = r"([0-9]{1,2})(?:st|nd|rd|th)?"
_YEAR = r"'?([0-9]{4}|[0-9]{2})"
_BETWEEN = r"[\s\-/.,]+"
_YEAR_FIRST = re.compile(rf"([0-9]{{4}}){_SIGN}([0-9]{{1,2}})\s*\2\s*([0-9]{{1,2}})")
_IN_NUMBERS = re.compile(rf"([0-9]{{1,2}}){_SIGN}([0-9]{{1,2}})\s*\2\s*{_YEAR}")
_DAY_THEN_MONTH = re.compile(rf"{_ORDINAL}(?:\s+of)?{_BETWEEN}([a-z]+){_BETWEEN}{_YEAR}")
_MONTH_THEN_DAY = re.compile(rf"([a-z]+){_BETWEEN}{_ORDINAL}{_BETWEEN}{_YEAR}")
_YEAR_THEN_MONTH = re.compile(rf"([0-9]{{4}}){_BETWEEN}([a-z]+){_BETWEEN}{_ORDINAL}")
_WEEKDAY = re.compile(rf"(mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun|{'|'.join(_WEEKDAYS)})\.?,?\s+(.+)")
# A program that keeps a moment writes a time of day behind the day. In another time zone it could be the day before.
_TIME = re.compile(
    r"(.+?)(?:t|,?\s+)(?:[01]?[0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9](?:\.[0-9]+)?)?(?:\s*([ap]m?))?(z|\+00:?00)?"
)
_MIDNIGHT_THERE = re.compile(r".*[t\s]00:00(:00(\.0+)?)?(z|\+00:?00)")


@lru_cache(maxsize=1 << 14)
def readings(cell: str) -> dict[Order, dt.date]:
    """The day that a cell is by each order of its parts; the same one by every order where it can be read only one way.

    >>> sorted(map(str, set(readings("3/19/24").values()))), sorted(map(str, set(readings("3/8/24").values())))
    (['2024-03-19'], ['2024-03-08', '2024-08-03'])
    >>> one_day("3-Mar-19"), one_day("3/8/24"), one_day("March 2019")
    (datetime.date(2019, 3, 3), None, None)
    """
    text, weekday = _bare(cell)
    by_order = dict(_orders(text))
    if weekday is not None:
        by_order = {order: day for order, day in by_order.items() if day.weekday() == weekday}
    days = set(by_order.values())
    return dict.fromkeys(Order, days.pop()) if len(days) == 1 else by_order


def one_day(cell: str) -> dt.date | None:
    """The day that a cell is, if it can be only one."""
    days = set(readings(cell).values())
    return days.pop() if len(days) == 1 else None


def in_order(cell: str, order: Order | None) -> dt.date | None:
    """The day that a cell of a column is: the only one it can be, or the one by the order that a person chose for the column."""
    return one_day(cell) if order is None else readings(cell).get(order)


def is_ambiguous(cell: str) -> bool:
    """Whether a cell could be more than one day."""
    return len(set(readings(cell).values())) > 1


def tells_order(cell: str) -> Order | None:
    """The order that a cell is certainly in: written in numbers, and a day by that order alone."""
    orders = dict(_orders(_bare(cell)[0]))
    return next(iter(orders)) if len(orders) == 1 and _IN_NUMBERS.fullmatch(_bare(cell)[0]) else None


def is_month(cell: str) -> bool:
    """Whether a cell is a month or a year without a day, which is no day.

    >>> is_month("March 2019"), is_month("3/2019"), is_month("2019"), is_month("3/8/2019")
    (True, True, True, False)
    """
    text = " ".join(cell.casefold().split())
    named = re.fullmatch(rf"([a-z]+)[\s\-/.,']+{_YEAR}", text)
    if named:
        return named[1] in _MONTH_NUMBERS
    return bool(
        re.fullmatch(
            r"(?:(?:0?[1-9]|1[0-2])\s*[-/.]\s*)?(?:19|20)[0-9]{2}|(?:19|20)[0-9]{2}\s*[-/.]\s*(?:0?[1-9]|1[0-2])", text
        )
    )


# A spreadsheet keeps a day as a number, which shows where a column lost its format: days since 1899-12-30, from March 1900 on
# (ECMA-376 part 1, 18.17.4.1, the 1900 date system). Of units that anybody still looks after, it has five digits.
_ZERO_DAY = dt.date(1899, 12, 30)
_FIRST_SERIAL, _LAST_SERIAL = 29_221, 73_050  # 1980 to 2099


def serial_day(cell: str) -> dt.date | None:
    """The day that a number of five digits most likely is, for a person to say yes to.

    >>> serial_day("43532"), serial_day("43532.0"), serial_day("4353"), serial_day("99999")
    (datetime.date(2019, 3, 8), datetime.date(2019, 3, 8), None, None)
    """
    number = cell.strip().removesuffix(".0")
    if not re.fullmatch("[0-9]{5}", number) or not _FIRST_SERIAL <= int(number) <= _LAST_SERIAL:
        return None
    return _ZERO_DAY + dt.timedelta(days=int(number))


_SOME_DAY = re.compile(
    r"(?<![\w/])(?:[0-9]{1,4}[-/.][0-9]{1,2}[-/.][0-9]{2,4}|[A-Za-z]{3,9}\.?\s+[0-9]{1,2}(?:st|nd|rd|th)?,?\s+'?[0-9]{2,4}"
    r"|[0-9]{1,2}[\s-][A-Za-z]{3,9}\.?[\s-]'?[0-9]{2,4})(?![\w/])"
)


def only_day_in(cell: str) -> dt.date | None:
    """The one day that stands among other words, where it can be read one way; nothing where there are several.

    >>> only_day_in("about 3/19/24"), only_day_in("see invoice"), only_day_in("3/19/24 or 3/20/24"), only_day_in("about 3/8/24")
    (datetime.date(2024, 3, 19), None, None, None)
    """
    texts = _SOME_DAY.findall(cell)
    return one_day(texts[0]) if len(texts) == 1 and not is_month(cell) else None


def has_short_year(cell: str) -> bool:
    """Whether a cell is a day whose year has two digits, so that its century is not written.

    >>> has_short_year("3/19/24"), has_short_year("3/19/2024"), has_short_year("n/a")
    (True, False, False)
    """
    return bool(readings(cell)) and not re.search(r"[0-9]{4}", cell)


def full_year(year: str) -> int:
    """A year as it is meant.

    >>> full_year("49"), full_year("50"), full_year("2019")
    (2049, 1950, 2019)
    """
    number = int(year)
    return number if len(year) == 4 else number + (2000 if number < CENTURY_TURN else 1900)


def _bare(cell: str) -> tuple[str, int | None]:
    """The day in a cell without its time of day, and the weekday that it says."""
    text = " ".join(cell.casefold().split())
    if (timed := _TIME.fullmatch(text)) and (not timed[3] or _MIDNIGHT_THERE.fullmatch(text)):
        text = timed[1]
    if said := _WEEKDAY.fullmatch(text):
        return said[2], next(number for number, name in enumerate(_WEEKDAYS) if name.startswith(said[1][:3]))
    return text, None


def _orders(text: str) -> Iterator[tuple[Order, dt.date]]:
    parts: list[tuple[Order, str, int, str]] = []
    if match := _YEAR_FIRST.fullmatch(text):
        parts = [(Order.YEAR_FIRST, match[1], int(match[3]), match[4])]
    elif match := _IN_NUMBERS.fullmatch(text):
        first, sign, second, year = match.groups()
        parts = [(Order.MONTH_FIRST, year, int(first), second), (Order.DAY_FIRST, year, int(second), first)]
        # Nobody writes a short year first with slashes, or without its zeros.
        if sign != "/" and "'" not in text and all(len(part) == 2 for part in (first, second, year)):
            parts.append((Order.YEAR_FIRST, first, int(second), year))
    elif match := _DAY_THEN_MONTH.fullmatch(text):
        parts = [(Order.DAY_FIRST, match[3], _MONTH_NUMBERS.get(match[2], 0), match[1])]
    elif match := _MONTH_THEN_DAY.fullmatch(text):
        parts = [(Order.MONTH_FIRST, match[3], _MONTH_NUMBERS.get(match[1], 0), match[2])]
    elif match := _YEAR_THEN_MONTH.fullmatch(text):
        parts = [(Order.YEAR_FIRST, match[1], _MONTH_NUMBERS.get(match[2], 0), match[3])]
    for order, year, month, day in parts:
        try:
            on = dt.date(full_year(year), month, int(day))
        except ValueError:
            continue
        if on.year >= FIRST_YEAR:
            yield order, on
