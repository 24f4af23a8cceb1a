"""What was said of a unit on site, as values: the unit that was found there, or the one that was not."""

import datetime as dt
from dataclasses import dataclass

# What stands on file for a manufacturer or model that nobody could read: no model on file begins so, and terms that name models
# name none like it.
NOT_READ = "(not read)"
# By which the log of changes tells a serial that was put right on site.
SERIAL_WHY = "read on site"
WORDS = {"found": "Found on site, not on file before", "not there": "Not there"}


@dataclass(frozen=True, slots=True)
class SystemChoice:
    """A system that a unit found on site may belong to, with what stands in it."""

    pk: int
    words: str


@dataclass(frozen=True, slots=True)
class SiteHere:
    """A site on which a unit is put on file: whose it is, and its systems."""

    pk: int
    name: str
    customer_pk: int
    customer: str
    address: str
    systems: tuple[SystemChoice, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """One report: of which unit, what was said by whom, and how it was settled; `by_pk` is whoever may take it back."""

    pk: int
    kind: str
    unit: int
    named: str
    room: str
    site_pk: int
    site: str
    customer: str
    said: str
    on: dt.date
    by: str
    by_pk: int
    settled_on: dt.date | None
    settled_how: str
    settled_by: str

    @property
    def words(self) -> str:
        """What kind of report it is, in words."""
        return WORDS[self.kind]


def not_known(cells: dict[str, str], *, system: int | None) -> str:
    """What nobody knew on site, as one sentence; blank where all of it is known.

    >>> not_known({"serial": "A1", "room": "Den", "maker": "Halvik", "model": "", "installed_by": ""}, system=4)
    'Not known: the model, who installed it.'
    """
    blank = {
        "serial": "the serial",
        "room": "the room",
        "maker": "the manufacturer",
        "model": "the model",
        "installed_by": "who installed it",
    }
    missing = [words for name, words in blank.items() if not cells.get(name)]
    missing += ["its system"] if system is None else []
    return f"Not known: {', '.join(missing)}." if missing else ""
