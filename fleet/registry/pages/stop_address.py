"""The address of a write-up that somebody left to scan a unit, so that they can be led back to it and nowhere else."""

import re

_STOP = re.compile(r"/sites/([0-9]{1,18})/write-up(?:\?booking=[0-9]{1,18})?")


def read(text: str | None) -> str:
    """The address, if it is that of a write-up; blank for anything else.

    >>> read("/sites/7/write-up?booking=9"), read("https://elsewhere.example/sites/7/write-up"), read(None)
    ('/sites/7/write-up?booking=9', '', '')
    """
    return text if text and _STOP.fullmatch(text) else ""


def site(stop: str) -> int | None:
    """The site that is written up there; None for a blank.

    >>> site("/sites/7/write-up?booking=9"), site("")
    (7, None)
    """
    found = _STOP.fullmatch(stop)
    return int(found[1]) if found else None
