"""A write-up as it can be read afterward: what was done on each unit, what was found, and what that moved."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from fleet.elements.pieces import UnitLink


@dataclass(frozen=True, slots=True)
class Next:
    """A task that was done, and when it is due next, in words; blank where nobody knows."""

    title: str
    following: str


@dataclass(frozen=True, slots=True)
class OfUnit:
    """What was written of one unit."""

    unit: UnitLink
    name: str
    done: tuple[Next, ...]
    skipped: tuple[str, ...]
    dirt: tuple[str, ...]
    readings: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Failed:
    """A failure that was found."""

    pk: int
    words: str
    repaired: bool
    voided: bool


@dataclass(frozen=True, slots=True)
class Check:
    """Something that was not recorded as written: what had changed, what was written, and how it was settled."""

    pk: int
    why: str
    said: str
    settled_on: dt.date | None
    settled_how: str
    settled_by: str


@dataclass(frozen=True, slots=True)
class TakenBack:
    """When a write-up was taken back, by whom and why, what it had put on file, in words; and the one written anew (key, day)."""

    on: dt.date
    by: str
    why: str
    said: tuple[str, ...]
    anew: tuple[int, dt.date] | None


@dataclass(frozen=True, slots=True)
class Anew:
    """What is needed to write up anew what was taken back: the key, what was sent, and its visit where that is booked again.

    `written` is the key of the page where somebody did so already.
    """

    key: UUID
    written: int | None
    content: Mapping[str, Any]
    booking: int | None
    on: dt.date
    why: str


@dataclass(frozen=True, slots=True)
class OfSite:
    """What a site's page says of visits: those booked (key, day, who goes), the last write-ups, and those taken back (key, words)."""

    booked: tuple[tuple[int, dt.date, str], ...]
    written: tuple[tuple[int, str], ...]
    taken_back: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Signed:
    """Who signed, or why nobody did, in words; and each stroke as the points of a line, in a box of `rules.signatures.BOX`."""

    words: str
    name: str
    strokes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WriteUpPage:
    """One write-up; `photos` is how many the phone said it would send."""

    pk: int
    site: int
    name: str
    customer: str
    on: dt.date
    technician: str
    by: str
    sent_by: int | None
    minutes: int | None
    notes: str
    booked: bool
    units: tuple[OfUnit, ...]
    failures: tuple[Failed, ...]
    refrigerant: tuple[str, ...]
    taken_back: TakenBack | None = None
    checks: tuple[Check, ...] = ()
    photos: int = 0
    photos_arrived: int = 0
    captured_at: str = ""
    clock_ahead: str = ""
    signed: Signed | None = None

    @property
    def sentence(self) -> str:
        """What came of the visit, in one line."""
        done = sum(len(unit.done) for unit in self.units)
        skipped = sum(len(unit.skipped) for unit in self.units)
        said = [f"{done} {'task' if done == 1 else 'tasks'} done" if done else "No task done"]
        if skipped:
            said.append(f"{skipped} skipped")
        if self.failures:
            said.append(f"{len(self.failures)} {'failure' if len(self.failures) == 1 else 'failures'} found")
        return f"{', '.join(said)}."
