"""Texts that stand for nothing, or for what stands above them, and marks of a cell that holds no value.

They are never taken for a value, and never for nothing in silence either: what they mean is proposed, and a person says yes.
"""

import re

# What a spreadsheet shows where a formula failed (ECMA-376 part 1, 18.17.3).
ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA")
NO_STORED_VALUE = "(formula without a stored value)"

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
    if text.strip().upper() in ERRORS or text == NO_STORED_VALUE:
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
