"""What payers said: on the page of a unit, and the list of where they differ from the terms on file."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.lists import Column, Listing

COLUMNS = (
    Column("serial", "Unit", "serial", sorts=True),
    Column("customer", "Customer", sorts=True),
    Column("payer", "Payer", "payer", sorts=True),
    Column("said_on", "Said on", "day", sorts=True),
    Column("who", "Who said it"),
    Column("about", "About"),
    Column("they_say", "They say"),
    Column("we_read", "The terms on file say"),
    Column("note", "Note", shown=False),
)


@dataclass(frozen=True, slots=True)
class Said:
    """One thing a payer said of a unit, beside what the terms on file say."""

    pk: int
    said_on: dt.date
    who: str
    payer: str
    terms: str
    about: str
    they_say: str
    we_read: str
    note: str
    differs: bool
    settled_on: dt.date | None
    settled_how: str
    mine: bool


@dataclass(frozen=True, slots=True)
class UnitWords:
    """What payers said of one unit, and about which terms something can be recorded (key and title)."""

    unit: int
    title: str
    said: tuple[Said, ...]
    terms: tuple[tuple[int, str], ...]

    @property
    def differences(self) -> int:
        """How many stand unsettled."""
        return sum(one.differs for one in self.said)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is asked for; blank for any."""

    payer: str = ""
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything narrows the list."""
        return bool(self.payer or self.text)


@dataclass(frozen=True, slots=True)
class DifferencesPage:
    """Where payers and the terms on file differ, until somebody settles it."""

    asked: Asked
    listing: Listing


@dataclass(frozen=True, slots=True)
class ShortDifferences:
    """How many differences stand, the longest standing first."""

    count: int
    lines: tuple[tuple[int, str, str], ...]
