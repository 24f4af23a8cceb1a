"""What a code on a nameplate may say: a serial bare, or marked as one.

Two open standards mark it: GS1 by the application identifier 21 (GS1 General Specifications), and ANSI MH10.8.2 by the data
identifier S before it. Both are from memory; a person compares what is shown with the plate.
"""

import re

_GS1 = re.compile(r"\((\d{2,4})\)([^(]+)")
_SERIAL = "21"


def candidates(text: str) -> tuple[str, ...]:
    """The serials that a code's text may mean, the likeliest first.

    >>> candidates("SB-1002"), candidates("(01)09501101530003(21)K77-12"), candidates("SK77-12")
    (('SB-1002', 'B-1002'), ('K77-12',), ('SK77-12', 'K77-12'))
    """
    text = " ".join(text.split())
    if text.startswith("("):
        marked = dict(_GS1.findall(text))
        return (marked[_SERIAL],) if _SERIAL in marked else (text,)
    rest = text[1:] if text[:1] == "S" and len(text) > 4 else ""
    return (text, rest) if rest else (text,)
