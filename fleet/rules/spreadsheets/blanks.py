"""Texts that stand for nothing, or for what stands above them, and marks of a cell that holds no value.

They are never taken for a value, and never for nothing in silence either: what they mean is proposed, and a person says yes.
"""

import re

# What a spreadsheet shows where a formula failed (ECMA-376 part 1, 18.17.3).
ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA")
# What a cell of a workbook is read as that has no value, or not all of it.
NO_STORED_VALUE = "(formula without a stored value)"
DIGITS_LOST = "(number too long: a spreadsheet keeps 15 digits)"
TOO_LONG = "(more text than a cell may have)"
MARKS = (NO_STORED_VALUE, DIGITS_LOST, TOO_LONG)

_NOTHING = frozenset(
    (
        "na", "none", "nil", "null", "unknown", "unk", "notknown", "dontknown", "tbd", "tba", "tbc", "missing", "blank",
        "notavailable", "notapplicable", "notlisted", "notgiven", "noinfo", "norecord", "nodata", "illegible", "unreadable",
        "cantread", "cannotread", "notreadable", "faded", "nolabel", "notag", "seefile", "lookup", "needtogetthis",
    )
)  # fmt: skip
_ABOVE = frozenset(("do", "ditto", "same", "sameasabove", "asabove", "above"))
_ABOVE_MARKS = frozenset(('"', "''", '""', "”", "“", "″", "〃", "‟", "''''"))
_NOT_ALPHANUMERIC = re.compile(r"[\W_]+")


def is_nothing(text: str) -> bool:
    """Whether a text most likely stands for nothing.

    >>> [is_nothing(text) for text in ("N/A", "?", "--", "unknown", "#N/A", "0", "Nan", "")]
    [True, True, True, True, True, False, False, False]
    """
    if not text.strip():
        return False
    if text.strip().upper() in ERRORS or text in MARKS or is_mangled(text):
        return True
    letters = _NOT_ALPHANUMERIC.sub("", text.casefold())
    return not is_above(text) and (not letters or letters in _NOTHING or bool(re.fullmatch(r"x{2,}", letters)))


def is_above(text: str) -> bool:
    """Whether a text most likely means what stands in the row above.

    >>> [is_above(text) for text in ('"', "ditto", "Same", "same house", "")]
    [True, True, True, False, False]
    """
    bare = text.strip()
    return bare in _ABOVE_MARKS or _NOT_ALPHANUMERIC.sub("", bare.casefold()) in _ABOVE


def is_mangled(text: str) -> bool:
    """Whether a spreadsheet has put a number in the place of what was typed, and its digits are lost.

    >>> is_mangled("1.23457E+12"), is_mangled("2E5")
    (True, False)
    """
    return bool(re.fullmatch(r"[0-9](?:\.[0-9]+)?[Ee]\+[0-9]{2,3}", text.strip()))
