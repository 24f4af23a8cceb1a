"""Places as a spreadsheet writes them: states, ZIP codes, streets, and an address in one cell.

States and their letters: ISO 3166-2 (US and CA), whose second part is the two-letter abbreviation of USPS Publication 28,
Appendix B. Older abbreviations: U.S. Government Publishing Office Style Manual (2016), 9.13. Words of streets: USPS
Publication 28, Appendix C1 and C2 (the usual ones, from memory). States were held against pycountry 26.2.16 (ISO 3166-2), and
those whose ZIP codes all begin with 0 against the package zipcodes 3.0.0, on 2026-11-24. Three of New York's begin with 0.
"""

import re
from dataclasses import dataclass

_US = {
    "AL": "Alabama", "AK": "Alaska", "AZ": "Arizona", "AR": "Arkansas", "CA": "California", "CO": "Colorado",
    "CT": "Connecticut", "DE": "Delaware", "DC": "District of Columbia", "FL": "Florida", "GA": "Georgia", "HI": "Hawaii",
    "ID": "Idaho", "IL": "Illinois", "IN": "Indiana", "IA": "Iowa", "KS": "Kansas", "KY": "Kentucky", "LA": "Louisiana",
    "ME": "Maine", "MD": "Maryland", "MA": "Massachusetts", "MI": "Michigan", "MN": "Minnesota", "MS": "Mississippi",
    "MO": "Missouri", "MT": "Montana", "NE": "Nebraska", "NV": "Nevada", "NH": "New Hampshire", "NJ": "New Jersey",
    "NM": "New Mexico", "NY": "New York", "NC": "North Carolina", "ND": "North Dakota", "OH": "Ohio", "OK": "Oklahoma",
    "OR": "Oregon", "PA": "Pennsylvania", "RI": "Rhode Island", "SC": "South Carolina", "SD": "South Dakota",
    "TN": "Tennessee", "TX": "Texas", "UT": "Utah", "VT": "Vermont", "VA": "Virginia", "WA": "Washington",
    "WV": "West Virginia", "WI": "Wisconsin", "WY": "Wyoming", "AS": "American Samoa", "GU": "Guam",
    "MP": "Northern Mariana Islands", "PR": "Puerto Rico", "VI": "Virgin Islands",
}  # fmt: skip
_CA = {
    "AB": "Alberta", "BC": "British Columbia", "MB": "Manitoba", "NB": "New Brunswick", "NL": "Newfoundland and Labrador",
    "NS": "Nova Scotia", "NT": "Northwest Territories", "NU": "Nunavut", "ON": "Ontario", "PE": "Prince Edward Island",
    "QC": "Quebec", "SK": "Saskatchewan", "YT": "Yukon",
}  # fmt: skip
REGIONS = {f"US-{letters}": name for letters, name in _US.items()} | {
    f"CA-{letters}": name for letters, name in _CA.items()
}
_OLD = {
    "ala": "AL", "alas": "AK", "ariz": "AZ", "ark": "AR", "calif": "CA", "colo": "CO", "conn": "CT", "del": "DE", "fla": "FL",
    "ill": "IL", "ind": "IN", "kans": "KS", "mass": "MA", "mich": "MI", "minn": "MN", "miss": "MS", "mont": "MT",
    "nebr": "NE", "nev": "NV", "nmex": "NM", "ndak": "ND", "okla": "OK", "oreg": "OR", "penn": "PA", "penna": "PA",
    "sdak": "SD", "tenn": "TN", "tex": "TX", "wash": "WA", "wva": "WV", "wis": "WI", "wisc": "WI", "wyo": "WY",
    "washingtondc": "DC", "québec": "QC",
}  # fmt: skip
_LETTERS = re.compile(r"[^\W_]+")


def _letters(text: str) -> str:
    return "".join(_LETTERS.findall(text.casefold()))


_REGION_OF = (
    {_letters(name): code for code, name in REGIONS.items()}
    | {code[-2:].casefold(): code for code in REGIONS}
    | {_letters(code): code for code in REGIONS}
    | {old: next(code for code in REGIONS if code[-2:] == letters) for old, letters in _OLD.items()}
)
# States whose ZIP codes begin with 0, which a spreadsheet drops from a number.
_ZERO_FIRST = frozenset(f"US-{letters}" for letters in ("CT", "MA", "ME", "NH", "NJ", "PR", "RI", "VT", "VI"))


def region(cell: str) -> str | None:
    """A state or province by its name, its letters or its code, as its ISO 3166-2 code; nothing for anything else.

    >>> region("Maine"), region("me."), region("N.H."), region("US-ME"), region("Mane")
    ('US-ME', 'US-ME', 'US-NH', 'US-ME', None)
    """
    text = re.sub(r"^\s*state of\s+", "", cell, flags=re.IGNORECASE)
    if both := re.fullmatch(r"(.+?)\s*\(([A-Za-z]{2})\)\s*", text):
        first, second = region(both[1]), region(both[2])
        return first if first == second else None
    return _REGION_OF.get(_letters(text)) if len(text) <= 40 and not re.search(r"[0-9,;/?]", text) else None


def region_name(code: str) -> str:
    """The name of a state or province by its ISO 3166-2 code; another country's code as it is.

    >>> region_name("US-ME"), region_name("GB-ENG"), region_name("")
    ('Maine', 'GB-ENG', '')
    """
    return REGIONS.get(code, code)


def postcode(cell: str, region: str = "") -> str | None:
    """A ZIP code, with the zero in front that a spreadsheet drops where the state's ZIP codes have one; or a Canadian one.

    >>> postcode("04101"), postcode("4101", "US-ME"), postcode("41011234", "US-ME"), postcode("4101"), postcode("4101", "US-OH")
    ('04101', '04101', '04101-1234', None, None)
    """
    text = re.sub(r"\s+", "", cell).removesuffix(".0").upper()
    text = re.sub(r"[\-\u2010-\u2015]$", "", text)
    if match := re.fullmatch(r"([0-9]{5})(?:[\-\u2010-\u2015]?([0-9]{4}))?", text):
        return "-".join(filter(None, match.groups()))
    if match := re.fullmatch(r"([ABCEGHJ-NPRSTVXY][0-9][A-Z])-?([0-9][A-Z][0-9])", text):
        return f"{match[1]} {match[2]}"
    if region in _ZERO_FIRST and (
        match := re.fullmatch(r"([0-9]{3,4})(?:[\-\u2010-\u2015]([0-9]{4}))?|([0-9]{4})([0-9]{4})", text)
    ):
        first, plus = (match[1], match[2]) if match[1] else (match[3], match[4])
        return "-".join(filter(None, (first.zfill(5), plus)))
    return None


def proposed_postcode(cell: str) -> str:
    """The ZIP code that a number of four digits would be with its zero, for a person to say yes to; blank for anything else.

    >>> proposed_postcode("4101"), proposed_postcode("41")
    ('04101', '')
    """
    return postcode(cell, "US-ME") or ""


_STREET_WORDS = {
    "alley": "aly", "avenue": "ave", "av": "ave", "boulevard": "blvd", "circle": "cir", "court": "ct", "cove": "cv",
    "crescent": "cres", "crossing": "xing", "drive": "dr", "driv": "dr", "estates": "ests", "extension": "ext",
    "heights": "hts", "highway": "hwy", "hill": "hl", "landing": "lndg", "lane": "ln", "loop": "loop", "parkway": "pkwy",
    "path": "path", "place": "pl", "plaza": "plz", "point": "pt", "ridge": "rdg", "road": "rd", "route": "rte", "row": "row",
    "square": "sq", "street": "st", "str": "st", "terrace": "ter", "terr": "ter", "trail": "trl", "turnpike": "tpke",
    "walk": "walk", "way": "way",
}  # fmt: skip
_DIRECTIONS = {"north": "n", "south": "s", "east": "e", "west": "w", "northeast": "ne", "northwest": "nw", "southeast": "se",
               "southwest": "sw"}  # fmt: skip
_UNITS = {"apartment": "apt", "suite": "ste", "unit": "unit", "floor": "fl", "building": "bldg", "lot": "lot", "room": "rm",
          "trailer": "trlr", "#": "unit", "apt": "apt", "ste": "ste", "bldg": "bldg"}  # fmt: skip
_SUFFIXES = frozenset((*_STREET_WORDS, *_STREET_WORDS.values()))
_ROUTE_WORDS = frozenset(("route", "rte", "rt", "highway", "hwy", "road", "us"))
_SHORT = {**_STREET_WORDS, **_DIRECTIONS, **_UNITS, "mt": "mount", "ft": "fort", "rt": "rte"}


def same_street(street: str) -> str:
    """What streets have in common that are one, however their words are shortened.

    >>> same_street("12 North Elm Street, Apt. 2") == same_street("12 N. Elm St #2 ".replace("#", "apt "))
    True
    """
    words = re.findall(r"#|[^\W_]+", street.casefold())
    return " ".join(_SHORT.get(word, word) for word in words)


@dataclass(frozen=True, slots=True)
class Address:
    """An address taken apart; `is_sure` unless its street and its city had to be told apart by their words."""

    street: str
    city: str
    region: str
    postcode: str
    is_sure: bool = True


_COUNTRY = re.compile(r"[,\s]+(?:usa|u\.s\.a\.?|united states(?: of america)?)$", re.IGNORECASE)
_CODE_LAST = re.compile(
    r"^(.*?)[,\s]+([0-9]{5}(?:-[0-9]{4})?|[0-9]{4}|[A-Z][0-9][A-Z] ?[0-9][A-Z][0-9])$", re.IGNORECASE
)


def take_apart(cell: str) -> Address:
    """An address of one cell as street, city, state and ZIP code; what is not in it stays blank.

    >>> take_apart("12 Elm St, Apt 2, Quill Harbor, Maine 4791")
    Address(street='12 Elm St, Apt 2', city='Quill Harbor', region='US-ME', postcode='04791', is_sure=True)
    >>> take_apart("12 Elm St Quill Harbor ME")
    Address(street='12 Elm St', city='Quill Harbor', region='US-ME', postcode='', is_sure=False)
    """
    text = _COUNTRY.sub(
        "", re.sub(r"[ \t]+", " ", re.sub(r"\s*[\r\n;]+\s*|,(?:\s*,)+", ", ", cell)).strip(" ,.")
    ).strip(" ,.")
    rest, code = (match[1], match[2]) if (match := _CODE_LAST.match(text)) else (text, "")
    before, state = _state_last(rest)
    zip_code = (postcode(code, state) or "") if code else ""
    if code and not zip_code:  # four digits of a state whose ZIP codes have five
        before, state = _state_last(text)
    street, city, is_sure = _street_and_city(before.strip(" ,"), has_end=bool(state or zip_code))
    return Address(street, city, state, zip_code, is_sure)


def _state_last(text: str) -> tuple[str, str]:
    """Part a text from the state at its end, of up to three words; where there is none, the whole of it."""
    words = text.replace(",", " , ").split()
    for count in (4, 3, 2, 1):
        last = words[-count:]
        if len(words) > count - 1 and "," not in last and (code := region(" ".join(last))):
            before = " ".join(words[:-count]).replace(" ,", ",")
            # Letters alone may be the end of a street: "12 Avenue ME" has a city before its state.
            if before or count == len(words):
                return before, code
    return text, ""


def _street_and_city(text: str, *, has_end: bool) -> tuple[str, str, bool]:
    parts = [part.strip() for part in text.split(",") if part.strip(" .")]
    if not parts:
        return "", "", True
    if len(parts) > 1 and not _is_unit(parts[-1]):
        return ", ".join(parts[:-1]), parts[-1].strip(" ."), _has_number(parts[0])
    if len(parts) == 1 and not re.search(r"[0-9]", parts[0]) and not _ends_as_street(parts[0]):
        return "", parts[0], has_end
    if len(parts) > 1:  # a street and its apartment, no city
        return ", ".join(parts), "", not has_end
    return _cut(parts[0], has_end=has_end)


def _cut(text: str, *, has_end: bool) -> tuple[str, str, bool]:
    """Cut a text without commas behind the first word that ends a street, and what belongs to it."""
    words = text.split()
    folded = [word.casefold().strip(".") for word in words]
    ends = [place for place, word in enumerate(folded) if place > 1 and word in _SUFFIXES]
    if (
        folded[:2] in (["po", "box"], ["p.o", "box"])
        or len(words) > 2
        and folded[1] in _ROUTE_WORDS
        and folded[2].isdigit()
    ):
        ends = [2]
    if not ends:
        return text, "", not has_end
    end = ends[0] + 1
    if end < len(words) and (folded[end] in _DIRECTIONS.values() and len(words) > end + 1):
        end += 1
    if end < len(words) and (folded[end] in _UNITS or folded[end].startswith("#")):
        end += 1 if re.search(r"[0-9]", folded[end]) else 2
    city = " ".join(words[end:])
    return " ".join(words[:end]), city, not city and not has_end


def _is_unit(part: str) -> bool:
    words = part.casefold().split()
    return bool(words) and (words[0].strip(".") in _UNITS or words[0].startswith("#"))


def _ends_as_street(text: str) -> bool:
    words = text.casefold().split()
    return len(words) > 1 and words[-1].strip(".") in _SUFFIXES


def _has_number(text: str) -> bool:
    return bool(re.search(r"[0-9]", text)) or _ends_as_street(text)
