"""Texts written so that a spreadsheet takes them for texts: what somebody typed must never run as a formula."""

import re

from openpyxl.cell import Cell, WriteOnlyCell

# What a spreadsheet takes for a formula; a name or note that somebody typed must stay a text.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}",
           "\N{FULLWIDTH HYPHEN-MINUS}", "\N{FULLWIDTH COMMERCIAL AT}")  # fmt: skip
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_LONGEST_CELL = 32_767


def guarded(text: str) -> str:
    """A text as a CSV file may have it.

    >>> guarded("=1+1"), guarded("Hall")
    ("'=1+1", 'Hall')
    """
    return f"'{text}" if text.startswith(FORMULA) else text


def unguarded(text: str) -> str:
    """The text that `guarded` wrote.

    >>> unguarded(guarded("+1 555 0100")), unguarded("'tis")
    ('+1 555 0100', "'tis")
    """
    return text[1:] if text.startswith("'") and text[1:].startswith(FORMULA) else text


def cell(sheet: object, text: str) -> Cell:
    """Make the cell of a workbook that holds a text and nothing else."""
    made = WriteOnlyCell(sheet, value=_UNPRINTABLE.sub("", text)[:_LONGEST_CELL])  # type: ignore[arg-type]
    made.data_type = "s"  # a text that begins with = would be taken for a formula
    return made
