"""The queue of registrations, one system's registrations, and the letter to an owner who alone may register."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.lists import Column, Listing
from fleet.elements.pieces import UnitLink
from fleet.registry.pages.documents import Proof

STATES = ("to do", "waiting for a date", "sent", "missed", "confirmed", "not required")

COLUMNS = (
    Column("system", "System", sorts=True),
    Column("customer", "Customer", sorts=True),
    Column("payer", "With whom", sorts=True),
    Column("units", "Units", "number", sorts=True),
    Column("deadline", "Last day", "day", sorts=True),
    Column("days_left", "Days left", "number"),
    Column("standing", "Where it stands"),
)
# A file has a row per unit: what a maker's own form asks for.
FILE_COLUMNS = (
    Column("customer", "Customer"),
    Column("phone", "Phone"),
    Column("email", "E-mail"),
    Column("site", "Site"),
    Column("address", "Address"),
    Column("system", "System"),
    Column("room", "Room"),
    Column("maker", "Maker"),
    Column("model", "Model"),
    Column("serial", "Serial"),
    Column("installed_on", "Installed on", "day"),
    Column("started_on", "Started on", "day"),
    Column("payer", "With whom"),
    Column("terms", "Terms"),
    Column("state", "State"),
    Column("deadline", "Last day", "day"),
    Column("days_left", "Days left", "number"),
    Column("lost", "What was lost"),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the queue is asked for: a state, and blank for any."""

    state: str = STATES[0]
    payer: str = ""
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything but the state narrows the list."""
        return bool(self.payer or self.text)


@dataclass(frozen=True, slots=True)
class RegistrationsPage:
    """One page of the queue, with how many units it is about, or that they are `more_units` than were counted."""

    asked: Asked
    on: dt.date
    listing: Listing
    units: int
    sentences: tuple[str, ...]
    more_units: bool = False
    nothing_on_file: bool = False


@dataclass(frozen=True, slots=True)
class UnitLine:
    """One unit under some terms; `value` names the two in a form."""

    value: str
    pk: int
    what: str
    room: str
    model: str
    serial: str
    title: str
    state: str
    words: str
    lost: tuple[str, ...] = ()

    @property
    def open(self) -> bool:
        """Whether a confirmation is still wanted of it."""
        return self.state in ("to do", "waiting for a date", "sent")


@dataclass(frozen=True, slots=True)
class Wanted:
    """A date that a limit counts from and that nobody recorded, and the units that wait for it."""

    date: str
    words: str
    units: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Recorded:
    """One thing recorded of registering, for how many units; `keys` where it can be taken back here."""

    words: str
    units: int
    keys: tuple[int, ...]
    all_keys: tuple[int, ...] = ()
    proofs: tuple[Proof, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnersTurn:
    """Terms under which only the owner may register: the letter to them, and when they were asked."""

    terms_pk: int
    title: str
    reminders: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PayerPart:
    """What one payer is to be told about one system."""

    number: int
    payer: str
    sentences: tuple[str, ...]
    lines: tuple[UnitLine, ...]
    asks: str
    wanted: tuple[Wanted, ...]
    recorded: tuple[Recorded, ...]
    owners: tuple[OwnersTurn, ...]
    sent_on: dt.date | None

    @property
    def open(self) -> tuple[UnitLine, ...]:
        """The lines that a confirmation closes."""
        return tuple(line for line in self.lines if line.open)

    @property
    def has_several_terms(self) -> bool:
        """Whether a unit may stand here once for each of several terms."""
        return len({line.title for line in self.lines}) > 1

    @property
    def missed(self) -> tuple[UnitLine, ...]:
        """The lines that came too late."""
        return tuple(line for line in self.lines if line.state == "missed")


@dataclass(frozen=True, slots=True)
class SystemPage:
    """The registrations of one system, payer by payer."""

    pk: int
    system: str
    site_pk: int
    site: str
    customer_pk: int
    customer: str
    units: tuple[UnitLink, ...]
    parts: tuple[PayerPart, ...]


@dataclass(frozen=True, slots=True)
class OwnerLetter:
    """A letter that asks an owner to register what only they may register."""

    written_on: str
    sender: str
    owner: str
    address: tuple[str, ...]
    payer: str
    title: str
    last_day: str
    installed: str
    units: tuple[tuple[str, str, str], ...]
    filename: str
