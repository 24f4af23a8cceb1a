"""Which way of writing days fits a whole column, so that no cell of it has to be guessed.

A cell such as 3/8/2024 is a day in March or in August; only the others of its column can tell. Where they cannot, somebody
who knows the file is asked. A year of two digits could be of any century and is never read.
"""

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache


class Style(StrEnum):
    """One way of writing days; a column is in one of them throughout."""

    ISO = "2024-03-08"
    YEAR_SLASH = "2024/03/08"
    MONTH_SLASH = "month/day/year"
    DAY_SLASH = "day/month/year"
    MONTH_DASH = "month-day-year"
    DAY_DASH = "day-month-year"
    MONTH_DOT = "month.day.year"
    DAY_DOT = "day.month.year"
    NAMED = "month by name"


_BY_SIGN = {
    "/": (Style.MONTH_SLASH, Style.DAY_SLASH),
    "-": (Style.MONTH_DASH, Style.DAY_DASH),
    ".": (Style.MONTH_DOT, Style.DAY_DOT),
}
_MONTH_FIRST = frozenset({Style.MONTH_SLASH, Style.MONTH_DASH, Style.MONTH_DOT})

# A day that no two styles read alike.
EXAMPLE = dt.date(2024, 3, 14)

_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_NUMBER_OF = {name: number for number, month in enumerate(_MONTHS, 1) for name in (month, month[:3])} | {"sept": 9}

# A program that keeps a moment where a day is meant writes midnight after it.
_MIDNIGHT = re.compile(r"(?:[ T](?:0?0:00(?::00(?:\.0+)?)?Z?|12:00(?::00)? ?AM))$", re.IGNORECASE)
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/])([0-9]{1,2})\2([0-9]{1,2})")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4})")
_DAY_THEN_NAME = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ \-./]+([a-z]+)\.?,?[ \-./]+([0-9]{4})", re.IGNORECASE)
_NAME_THEN_DAY = re.compile(r"([a-z]+)\.?[ \-./]+([0-9]{1,2})(?:st|nd|rd|th)?,?[ \-./]+([0-9]{4})", re.IGNORECASE)
_SHORT_YEAR = re.compile(r"(?:[0-9]{1,2}|[a-z]{3,9})[-/. ]+(?:[0-9]{1,2}|[a-z]{3,9}),?[-/. ]+'?[0-9]{2}", re.IGNORECASE)


@lru_cache(maxsize=1 << 14)
def readings(cell: str) -> dict[Style, dt.date]:
    """The day that a cell means, in each style that it can be read in.

    >>> [(style.value, str(day)) for style, day in readings("3/14/2024").items()]
    [('month/day/year', '2024-03-14')]
    >>> len(readings("3/8/2024")), len(readings("3/8/24"))
    (2, 0)
    """
    text = _MIDNIGHT.sub("", cell.strip())
    if found := _YEAR_FIRST.fullmatch(text):
        year, sign, month, day = found.groups()
        return _known({(Style.ISO if sign == "-" else Style.YEAR_SLASH): (year, month, day)})
    if found := _YEAR_LAST.fullmatch(text):
        first, sign, second, year = found.groups()
        month_first, day_first = _BY_SIGN[sign]
        return _known({month_first: (year, first, second), day_first: (year, second, first)})
    if found := _DAY_THEN_NAME.fullmatch(text):
        day, name, year = found.groups()
    elif found := _NAME_THEN_DAY.fullmatch(text):
        name, day, year = found.groups()
    else:
        return {}
    return _known({Style.NAMED: (year, str(_NUMBER_OF.get(name.casefold(), 0)), day)})


def _known(told: dict[Style, tuple[str, str, str]]) -> dict[Style, dt.date]:
    """Keep what is a day of the calendar."""
    days = {}
    for style, (year, month, day) in told.items():
        try:
            days[style] = dt.date(int(year), int(month), int(day))
        except ValueError:
            continue
    return days


def has_short_year(cell: str) -> bool:
    """Whether a cell is a day but for its year of two digits."""
    return bool(_SHORT_YEAR.fullmatch(_MIDNIGHT.sub("", cell.strip())))


@dataclass(slots=True)
class Column:
    """What the cells of one column, seen one after the other, say of the style that it is in."""

    fits: frozenset[Style] = frozenset(Style)
    days: int = 0
    # The first cell that is in none of the styles which all the cells before it are in.
    odd_row: int = 0
    odd_cell: str = ""
    before_row: int = 0
    before_cell: str = ""
    unread: int = 0

    def see(self, row: int, cell: str) -> None:
        """Take one more cell into account; a blank says nothing, nor does what is no day in any style."""
        if not cell or self.odd_row:
            return
        found = readings(cell)
        if not found:
            self.unread += 1
            return
        self.days += 1
        still = self.fits & found.keys()
        if not still:
            self.odd_row, self.odd_cell = row, cell
            return
        if still != self.fits:
            # What narrowed the choice last is what the odd one is held against.
            self.before_row, self.before_cell = row, cell
        self.fits = frozenset(still)

    @property
    def is_mixed(self) -> bool:
        """Whether no one style fits all of its days."""
        return bool(self.odd_row)

    @property
    def styles(self) -> tuple[Style, ...]:
        """The styles that fit every day of it, in a fixed order: none where it has no days or mixes styles."""
        return tuple(style for style in Style if style in self.fits) if self.days and not self.is_mixed else ()

    @property
    def is_ambiguous(self) -> bool:
        """Whether its days and months cannot be told apart."""
        return len(self.styles) > 1


def of_column(cells: Iterable[tuple[int, str]]) -> Column:
    """Look through a column: numbers of rows and their cells."""
    column = Column()
    for row, cell in cells:
        column.see(row, cell)
    return column


def read(cell: str, style: Style) -> dt.date | None:
    """Read a cell of a column in a style; nothing where it is not in it."""
    return readings(cell).get(style)


def written(day: dt.date, style: Style) -> str:
    """Write a day in a style, as an example.

    >>> written(dt.date(2024, 3, 8), Style.MONTH_SLASH), written(dt.date(2024, 3, 8), Style.NAMED)
    ('3/8/2024', '8 March 2024')
    """
    match style:
        case Style.ISO:
            return day.isoformat()
        case Style.YEAR_SLASH:
            return day.isoformat().replace("-", "/")
        case Style.NAMED:
            return f"{day.day} {_MONTHS[day.month - 1].capitalize()} {day.year}"
    sign = next(sign for sign, styles in _BY_SIGN.items() if style in styles)
    parts = (day.month, day.day) if style in _MONTH_FIRST else (day.day, day.month)
    return sign.join(map(str, (*parts, day.year)))
