"""What payers said: on the page of a unit, and in short where they differ from the terms on file."""

import datetime as dt
from dataclasses import dataclass


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
class ShortDifferences:
    """How many differences stand, the longest standing first."""

    count: int
    lines: tuple[tuple[int, str, str], ...]
