"""The codes of our labels: random, of letters and digits that nobody takes for another, and how one is found in what was read."""

import re

# Without I, L, O, U, 0 and 1, which are misread on paper; all of them stand in a QR code's alphanumeric mode.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
# 30 signs, ten times: one in 590,000,000,000,000, and whoever tries has to be logged in.
LENGTH = 10
_GROUP = 5

_OURS = rf"[{ALPHABET}]{{{LENGTH}}}"
_ADDRESS = re.compile(rf"https?://[^/\s]+/L/({_OURS})/?", re.IGNORECASE)
_TYPED = re.compile(_OURS)


def grouped(code: str) -> str:
    """A code as it is printed, in two halves.

    >>> grouped("K7QM3RTX9W")
    'K7QM3-RTX9W'
    """
    return "-".join(code[start : start + _GROUP] for start in range(0, len(code), _GROUP))


def address(host: str, code: str) -> str:
    """What a label's code says: an address in capitals, which makes the code a size smaller.

    >>> address("https://service.example.com", "K7QM3RTX9W")
    'HTTPS://SERVICE.EXAMPLE.COM/L/K7QM3RTX9W'
    """
    return f"{host.rstrip('/')}/L/{code}".upper()


def read(text: str) -> str:
    """The code in what was scanned (the address of any server of ours, old or new) or typed; blank where there is none.

    >>> read("https://old.example.com/l/k7qm3rtx9w"), read("k7qm3 rtx9w"), read("K7QM3-RTX9W"), read("SB-1002-0001")
    ('K7QM3RTX9W', 'K7QM3RTX9W', 'K7QM3RTX9W', '')
    """
    text = text.strip()
    if found := _ADDRESS.fullmatch(text):
        return found[1].upper()
    bare = re.sub(r"[\s-]", "", text).upper()
    return bare if _TYPED.fullmatch(bare) else ""
