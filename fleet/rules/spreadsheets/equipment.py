"""Equipment as a spreadsheet names it: what one word says of a unit's role and style, of its house and of its plate.

The words are common practice of the trade; no list of them was published.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

_ROLES = {
    "outdoor": ("outdoor", "outside", "odu", "od", "condenser", "condensing", "cond"),
    "head": ("head", "heads"),
    "branch box": ("branchbox", "branch", "bb", "selector", "distribution", "manifold"),
    "air handler": ("airhandler", "ahu", "ah", "fancoil", "fcu", "handler"),
    "furnace": ("furnace", "furn"),
    "dehumidifier": ("dehumidifier", "dehumidifer", "dehum", "dehu"),
    "pump": ("pump", "pumps"),
}
_STYLES = {
    "wall": ("wall", "highwall", "hiwall"),
    "floor": ("floor", "console", "lowwall"),
    "cassette": ("cassette", "cass", "ceiling"),
    "ducted": ("ducted", "duct", "slimduct", "concealed"),
}
# What may be that, or something else: proposed, never taken.
_PERHAPS = {
    "head": ("indoor", "indoors", "inside", "idu", "id", "evaporator", "evap", "minisplit", "split", "ductless"),
    "outdoor": ("heatpump", "hp", "compressor", "ac", "aircon"),
    "other": ("thermostat", "tstat", "erv", "hrv", "ventilator", "waterheater", "boiler", "humidifier", "airhandling"),
}
# What says nothing of either.
_NOISE = frozenset(
    (
        "unit", "units", "type", "mount", "mounted", "mtd", "mt", "mini", "multi", "single", "dual", "tri", "quad", "zone", "way",
        "slim", "box", "condensate", "drain", "gas", "whole", "house", "high", "hi", "the", "a", "btu", "btuh", "ton", "tons",
        "inverter", "of", "on", "and", "in", "style", "recessed", "coil",
    )
)  # fmt: skip
_PHRASES = {
    "air handler": "airhandler", "a/h": "airhandler", "fan coil": "fancoil", "branch box": "branchbox", "bs box": "branchbox",
    "port box": "branchbox", "high wall": "highwall", "hi wall": "hiwall", "low wall": "lowwall", "slim duct": "slimduct",
    "heat pump": "heatpump", "mini split": "minisplit", "water heater": "waterheater", "w/h": "waterheater", "a/c": "ac",
    "o.d.": "od", "i.d.": "id",
}  # fmt: skip
_WORDS = re.compile(r"[a-z]+")
_ROLE_OF = {word: role for role, words in _ROLES.items() for word in words}
_STYLE_OF = {word: style for style, words in _STYLES.items() for word in words}
_PERHAPS_ROLE_OF = {word: role for role, words in _PERHAPS.items() for word in words}


@dataclass(frozen=True, slots=True)
class Kind:
    """What a word says of a unit: its role, a head's style (blank: it says none), and whether it can mean nothing else."""

    role: str
    style: str
    is_sure: bool


def kind(cell: str) -> Kind | None:
    """The role and the style that a cell names; nothing where it names none, or several.

    >>> kind("Wall head"), kind("ODU #2")
    (Kind(role='head', style='wall', is_sure=True), Kind(role='outdoor', style='', is_sure=True))
    >>> kind("Indoor"), kind("fridge")
    (Kind(role='head', style='', is_sure=False), None)
    """
    words = _words(cell)
    roles = _named(words, _ROLE_OF)
    styles = _named(words, _STYLE_OF)
    perhaps = _named(words, _PERHAPS_ROLE_OF)
    unknown = [w for w in words if w not in _NOISE | _ROLE_OF.keys() | _STYLE_OF.keys() | _PERHAPS_ROLE_OF.keys()]
    if len(roles) > 1 or len(styles) > 1:
        return None
    # "Indoor wall head" says twice what it is; "condenser, indoor" says two things.
    is_sure = not unknown and set(perhaps) <= {roles[0] if roles else "head" if styles else ""}
    if roles:
        role = roles[0]
        return Kind(role, styles[0] if styles and role == "head" else "", is_sure and (role == "head" or not styles))
    if styles:
        return Kind("head", styles[0], is_sure)
    return Kind(perhaps[0], "", is_sure=False) if len(perhaps) == 1 else None


def is_all_known(cell: str) -> bool:
    """Whether every word of a cell is one that names a kind of unit, or says nothing of it.

    >>> is_all_known("Indoor unit 12k"), is_all_known("Wall head (replaced)")
    (True, False)
    """
    return all(
        word in _NOISE or any(word in known for known in (_ROLE_OF, _STYLE_OF, _PERHAPS_ROLE_OF))
        for word in _words(cell)
    )


def _words(cell: str) -> list[str]:
    text = " ".join(re.sub(r"[-_–]", " ", cell.casefold()).split())
    for phrase, word in _PHRASES.items():
        text = re.sub(rf"(?<![a-z]){re.escape(phrase)}(?![a-z])", word, text)
    # Sizes and numbers ("12k", "9000 BTU", "#2") say nothing of the kind.
    return [word for word in _WORDS.findall(re.sub(r"[0-9][0-9.,]*[a-z]?(?![a-z])", " ", text)) if len(word) > 1]


def _named(words: Iterable[str], known: dict[str, str]) -> list[str]:
    return list(dict.fromkeys(known[word] for word in words if word in known))


_USES = {
    "owner home": ("ownerhome", "owneroccupied", "owneroccupiedhome", "primary", "primaryresidence", "primaryhome"),
    "rental": ("rental", "rented", "tenant", "tenants", "landlord", "rentalproperty"),
    "business": (
        "business",
        "commercial",
        "office",
        "church",
        "store",
        "shop",
        "restaurant",
        "nonresidential",
        "comm",
        "venue",
    ),
}
_PERHAPS_USES = {
    "owner home": ("residential", "residence", "res", "resi", "home", "house", "owner", "singlefamily", "sfh"),
    "rental": ("apartment", "apt", "multifamily", "duplex", "condo"),
}
_ACCESS = {
    "normal": ("normal", "easy", "ok", "standard", "regular"),
    "high": ("high", "ladder", "highwall", "tall", "tallladder"),
    "roof": ("roof", "rooftop", "onroof"),
    "crawlspace": ("crawlspace", "crawl", "crawlspaceunderhouse"),
}
_SURROUNDINGS = {
    "pets": ("pets", "pet", "dog", "dogs", "cat", "cats"),
    "grease": ("grease", "kitchen", "cooking", "greasy"),
    "smoke": ("smoke", "smoker", "smokers", "smoking"),
    "dust": ("dust", "dusty", "sawdust", "construction"),
    "coast": ("coast", "coastal", "ocean", "salt", "saltair", "oceanfront", "seaside"),
    "all year": ("allyear", "yearround"),
}
_YES = frozenset(("yes", "y", "true", "yep", "yeah", "✓", "✔"))
_NO = frozenset(("no", "n", "false", "nope"))
_PERHAPS_YES = frozenset(("x", "1", "done", "ok", "sent", "registered"))


def _bare(text: str) -> str:
    return "".join(re.findall(r"[^\W_]+", text.casefold()))


def _choice(cell: str, known: dict[str, tuple[str, ...]]) -> str | None:
    word = _bare(cell)
    return next((name for name, words in known.items() if word == _bare(name) or word in words), None)


def use(cell: str) -> str | None:
    """What a site is used for.

    >>> use("Owner-occupied"), use("Commercial"), use("Residential")
    ('owner home', 'business', None)
    """
    return _choice(cell, _USES)


def proposed_use(cell: str) -> str:
    """What a site is most likely used for, for a person to say yes to."""
    return use(cell) or _choice(cell, _PERHAPS_USES) or ""


def access(cell: str) -> str | None:
    """How a unit is reached."""
    return _choice(cell, _ACCESS)


def surroundings(cell: str) -> str | None:
    """What a unit stands in, each of several, in our words with ; between.

    >>> surroundings("Dogs & salt air"), surroundings("pets, llamas")
    ('pets;coast', None)
    """
    parts = [part for part in re.split(r"[,;/&+]|\band\b", cell.casefold()) if part.strip()]
    names = [_choice(part, _SURROUNDINGS) for part in parts]
    if not names or None in names:
        return None
    return ";".join(name for name in _SURROUNDINGS if name in names)


def yes_no(cell: str) -> str | None:
    """Yes or no.

    >>> yes_no("Y"), yes_no("No."), yes_no("x"), yes_no("yes - see file")
    ('yes', 'no', None, None)
    """
    word = cell.strip().strip(".!").casefold()
    return "yes" if word in _YES else "no" if word in _NO else None


def proposed_yes(cell: str) -> str:
    """Yes where a mark most likely means it, for a person to say so."""
    return "yes" if cell.strip().casefold() in _PERHAPS_YES or cell.casefold().startswith("yes") else ""


def refrigerant(cell: str) -> str:
    """A refrigerant by its number as ASHRAE 34 writes it; anything else stays as it is.

    >>> refrigerant("r410a"), refrigerant("R 454 B"), refrigerant("410A"), refrigerant("Puron")
    ('R-410A', 'R-454B', 'R-410A', 'Puron')
    """
    match = re.fullmatch(r"(?:r\s*-?\s*)?([0-9]{2,4})\s*-?\s*([a-z]{0,2})", cell.strip().casefold())
    return f"R-{match[1]}{match[2].upper()}" if match else cell


_OUNCES = 16
_WEIGHT = re.compile(
    r"(?:([0-9]+(?:\.[0-9]+)?)\s*(?:lbs?|pounds?|#)\.?)?[\s,]*(?:([0-9]+(?:\.[0-9]+)?)\s*(?:oz|ounces?)\.?)?",
    re.IGNORECASE,
)


def ounces(cell: str) -> str | None:
    """A weight in ounces; a number without a unit of weight is in ounces, as the column's name says.

    >>> ounces("5 lb 12 oz"), ounces("5.75 lbs"), ounces("92"), ounces("92 oz."), ounces("2.6 kg")
    ('92', '92', '92', '92', None)
    """
    text = cell.strip()
    if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", text):
        return text
    match = _WEIGHT.fullmatch(text)
    if not match or not any(match.groups()):
        return None
    weight = Decimal(match[1] or 0) * _OUNCES + Decimal(match[2] or 0)
    return format(weight.normalize(), "f")


def number(cell: str, unit: str = "") -> str | None:
    """A number without its thousands' commas, its dollar sign or the unit behind it.

    >>> number("$1,234.50"), number("19.8 A", "a|amps?"), number("12,5"), number("about 12")
    ('1234.50', '19.8', None, None)
    """
    text = re.sub(rf"\s*(?:{unit})\.?$", "", cell.strip(), flags=re.IGNORECASE) if unit else cell.strip()
    text = text.removeprefix("$").strip()
    return text.replace(",", "") if re.fullmatch(r"(?:[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+)(?:\.[0-9]+)?", text) else None


def minutes(cell: str) -> str | None:
    """A time in minutes; a number without a unit of time is in minutes, as the column's name says.

    >>> minutes("1.5 h"), minutes("1 h 30 min"), minutes("45"), minutes("1:30"), minutes("soon")
    ('90', '90', '45', '90', None)
    """
    text = cell.strip().casefold()
    if re.fullmatch(r"[0-9]+(?:\.0+)?", text):
        return text.partition(".")[0]
    if clock := re.fullmatch(r"([0-9]{1,2}):([0-5][0-9])", text):
        return str(60 * int(clock[1]) + int(clock[2]))
    hours = r"(?:([0-9]+(?:\.[0-9]+)?)\s*(?:h|hrs?|hours?)\.?)?"
    match = re.fullmatch(rf"{hours}[\s,]*(?:([0-9]+)\s*(?:m|mins?|minutes?)\.?)?", text)
    if not match or not any(match.groups()):
        return None
    total = Decimal(match[1] or 0) * 60 + int(match[2] or 0)
    return str(int(total)) if total == int(total) else None
