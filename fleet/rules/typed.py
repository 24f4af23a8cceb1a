"""What somebody typed into the look-up: its words as they are compared, and what it looks like."""

import re
from collections.abc import Iterator
from enum import StrEnum

from fleet.rules.lookalike import folded

_APOSTROPHES = re.compile(r"['\u2019`.]")
_BETWEEN = re.compile(r"[\W_]+")
# Said of a person, and on no paper.
_COURTESY = {"mr", "mrs", "ms", "miss", "mister", "and", "the"}
# What an envelope shortens and what people write out; either finds the other. From memory of the postal usage.
_SHORT = {
    "avenue": "ave", "boulevard": "blvd", "circle": "cir", "court": "ct", "crossing": "xing", "drive": "dr", "extension": "ext",
    "fort": "ft", "heights": "hts", "highway": "hwy", "hill": "hl", "junction": "jct", "lane": "ln", "mount": "mt",
    "mountain": "mtn", "parkway": "pkwy", "place": "pl", "plaza": "plz", "point": "pt", "ridge": "rdg", "road": "rd",
    "route": "rte", "saint": "st", "square": "sq", "street": "st", "terrace": "ter", "trail": "trl", "turnpike": "tpke",
    "valley": "vly", "apartment": "apt", "building": "bldg", "suite": "ste", "north": "n", "south": "s", "east": "e", "west": "w",
}  # fmt: skip
_LONG = {
    short: tuple(name for name, brief in _SHORT.items() if brief == short) for short in dict.fromkeys(_SHORT.values())
}
_PHONE = re.compile(r"\+?[\d\s().\-\u2010-\u2015]+")
_STREET = re.compile(r"\d+[A-Za-z]?\s+([NSEWnsew]\.?\s+)?(\d+(st|nd|rd|th)\b|[^\W\d_]{2,}[^\d]*$).*", re.IGNORECASE)


class Kind(StrEnum):
    """What a text looks like."""

    NAME = "name"
    STREET = "street"
    PHONE = "phone"
    ZIP = "ZIP code"
    SERIAL = "serial"
    NUMBER = "number"  # a serial, or the end of a phone


def kind_of(text: str) -> Kind:
    """What a text looks like, so that advice fits it; how it is looked up does not hang on it.

    >>> [str(kind_of(text)) for text in ("mrs petrov", "12 cider ln", "(207) 555-0134", "04240", "S10B-28761", "28761044")]
    ['name', 'street', 'phone', 'ZIP code', 'serial', 'number']
    """
    text = text.strip()
    digits = sum(sign.isdecimal() for sign in text)
    if not digits:
        return Kind.NAME
    if _PHONE.fullmatch(text):
        if re.fullmatch(r"\d{5}(-\d{4})?", text):
            return Kind.ZIP
        grouped = not text.isdecimal()
        return Kind.PHONE if digits in (10, 11) or (grouped and digits >= 7) else Kind.NUMBER
    return Kind.STREET if _STREET.fullmatch(text) else Kind.SERIAL


def words_of(text: str) -> tuple[str, ...]:
    """The words of a text, folded, without what nobody writes on a paper; those words alone are kept where there are no others.

    >>> words_of("Mrs. O'Brien-Hale"), words_of("the"), words_of("12 Cider Ln.")
    (('08r1en', 'ha1e'), ('the',), ('12', 'c1der', '1n'))
    """
    words = _BETWEEN.sub(" ", _APOSTROPHES.sub("", text.casefold())).split()
    told = [word for word in words if word not in _COURTESY] or words
    return tuple(found for word in told if (found := folded(word)))


def phone(text: str) -> str:
    """A phone's digits without the country's 1, however it is written; blank where the text is no phone.

    >>> phone("+1 (207) 555-0134"), phone("207.555.0134"), phone("12 cider ln")
    ('2075550134', '2075550134', '')
    """
    if not _PHONE.fullmatch(text.strip()):
        return ""
    digits = "".join(sign for sign in text if sign.isdecimal())
    return digits[1:] if len(digits) == 11 and digits.startswith("1") else digits


def line_of(*parts: str) -> str:
    """A line of words to look in: each part's own, with every short and long way to write what streets are called.

    Words stand with a space before and between them. A phone is one word.

    >>> line_of("Ann Quist", "12 Cider Lane", "(207) 555-0134")
    ' ann 0u15t 12 c1der 1ane 1n 2075550134'
    """
    return "".join(f" {word}" for part in parts for word in dict.fromkeys(_line_words(part)))


def _line_words(part: str) -> Iterator[str]:
    number = phone(part)
    if len(number) >= 7:
        yield folded(number)
        return
    yield from words_of(part)
    for word in _BETWEEN.sub(" ", part.casefold()).split():
        for other in (_SHORT[word],) if word in _SHORT else _LONG.get(word, ()):
            yield folded(other)
