"""How a text is folded so that the look-up finds it however it is written or read off a worn plate."""

import unicodedata

from fleet.rules import words

# Letters that no decomposition takes the stroke or the ligature from.
_PLAIN = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ħ": "h", "ŧ": "t", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th", "ð": "d"}
)


def folded(text: str) -> str:
    """Fold case, accents, look-alike characters and all that is neither letter nor digit.

    >>> folded("Renée O'Brien") == folded("renee 0br1en")
    True
    >>> folded("Łukaszewska") == folded("lukaszewska")
    True
    """
    if not text.isascii():
        apart = unicodedata.normalize("NFKD", text.casefold())
        text = "".join(sign for sign in apart if not unicodedata.combining(sign)).translate(_PLAIN)
    return words.alike(text)
