"""A system's refrigerant: its start-up, its ledger, and how fast it leaks."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.pieces import Fact

LABELS = {
    "on": "Day",
    "move": "What was done",
    "ounces": "Weight, in ounces",
    "refrigerant": "Refrigerant",
    "cylinder": "Cylinder",
    "who": "Who handled it",
    "certificate": "Their EPA certificate",
    "note": "Note",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the ledger; `failure` is the key of the failure that it belongs to, if it does."""

    pk: int
    day: dt.date
    move: str
    weight: str
    refrigerant: str
    cylinder: str
    who: str
    certificate: str
    note: str
    failure: int | None


@dataclass(frozen=True, slots=True)
class Started:
    """One fact of the start-up, and what it warns of."""

    fact: Fact
    warned: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RefrigerantPage:
    """Everything on the page of a system's refrigerant."""

    pk: int
    name: str
    site_pk: int
    site: str
    customer: str
    unit_pk: int | None
    refrigerant: str
    sentences: tuple[str, ...]
    started_on: dt.date | None
    started: tuple[Started, ...]
    entries: tuple[Entry, ...]
    rates: tuple[str, ...]
    federal: tuple[str, ...]
    recovery: str
    at_start: tuple[tuple[str, str], ...]

    def was(self, name: str) -> str:
        """What the start-up's form shows of a fact; blank where nothing is on file."""
        return dict(self.at_start).get(name, "")
