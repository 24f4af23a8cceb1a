"""What goes out with a claim: the paper for the payer, and the tag on the old part."""

from dataclasses import dataclass

from fleet.rules.company import Company


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the paper: facts by name, a table under its columns, and lines of text, of which each may be missing.

    The last column of a table with `sums` holds amounts, and its last row what they make.
    """

    heading: str
    facts: tuple[tuple[str, str], ...] = ()
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    lines: tuple[str, ...] = ()
    sums: bool = False


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as it is kept (written anew as JPEG when it came), and what it shows."""

    caption: str
    content: bytes


@dataclass(frozen=True, slots=True)
class ClaimPaper:
    """A claim as its payer reads it, with our account number there. No day of printing: the same claim gives the same paper."""

    sender: Company
    payer: str
    title: str
    number: str
    reference: str
    about: str
    sections: tuple[Section, ...]
    photos: tuple[Photo, ...]
    filename: str
    account: str = ""


@dataclass(frozen=True, slots=True)
class ReturnTag:
    """The tag on an old part that goes back: which claim, which part of which unit, where to, by when.

    `address` opens the claim in a browser; its code is drawn large enough for a phone.
    """

    sender: Company
    to: str
    number: str
    reference: str
    part: str
    facts: tuple[tuple[str, str], ...]
    address: str
    filename: str
    account: str = ""
