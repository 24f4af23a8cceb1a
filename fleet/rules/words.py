"""The closed lists of words that files, rows, rules and screens share."""

import re

from fleet.rules import payers

PAYERS = tuple(payers.BY_CODE)
KINDS = ("parts", "labor", "refrigerant", "freight")
ROLES = ("outdoor", "head", "branch box", "air handler", "furnace", "dehumidifier", "pump", "other")
STYLES = ("wall", "floor", "cassette", "ducted")
USES = ("owner home", "rental", "business")
SURROUNDINGS = ("pets", "grease", "smoke", "dust", "coast", "all year")
ACCESS = ("normal", "high", "roof", "crawlspace")
COMPONENTS = (
    "compressor", "outdoor coil", "indoor coil", "heat exchanger", "outdoor fan motor", "indoor fan motor", "blower wheel",
    "control board", "capacitor", "contactor", "igniter", "gas valve", "sensor", "expansion valve", "reversing valve",
    "branch box", "drain pump", "drain pan", "drain line", "louver", "remote control", "wired controller", "panel", "filter",
    "line set", "flare joint", "wiring", "refrigerant", "dehumidifier sealed system", "humidistat", "other",
)  # fmt: skip
CAUSES = (
    "manufacturing defect", "installation ours", "installation others", "maintenance", "environment", "power", "misuse",
    "wear", "shipping", "no fault found", "not known",
)  # fmt: skip
CONDITIONS = (
    "registered", "recognized installer", "matched system", "owner home", "rental", "business", "first owner",
    "yearly maintenance", "original site", "licensed installer", "away from coast",
)  # fmt: skip
# The dates that a term, a limit or a due may be counted from; `attached_on` is the day a holding was bought or promised.
START_DATES = ("started_on", "installed_on", "purchased_on", "closed_on", "manufactured_on", "attached_on")
ANCHOR_DATES = ("installed_on", "started_on", "purchased_on", "closed_on", "attached_on")

# Of a system whose outdoor unit was exchanged while its indoor units stayed.
STILL_MATCHED = ("yes", "no", "not known")

_IGNORED = re.compile(r"[\s\-\u2010-\u2015]+")
_ALIKE = str.maketrans({"o": "0", "q": "0", "i": "1", "l": "1", "s": "5", "z": "2", "b": "8"})
_NOT_ALPHANUMERIC = re.compile(r"[\W_]+")


def key(text: str) -> str:
    """Fold a maker, model or serial to what identifies it: case, spaces and hyphens do not count.

    >>> key("HW 36-a")
    'hw36a'
    """
    return _IGNORED.sub("", text).casefold()


def alike(text: str) -> str:
    """Fold a text so that look-alike characters (O/0, I/1/l, S/5, Z/2, B/8) find each other; nothing but letters and digits stays.

    >>> alike("SO-12 Zb") == alike("50l2z8")
    True
    """
    return _NOT_ALPHANUMERIC.sub("", text.casefold()).translate(_ALIKE)
