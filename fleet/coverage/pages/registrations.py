"""One system's registrations, and the letter to an owner who alone may register."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.pieces import UnitLink
from fleet.registry.pages.documents import Proof
from fleet.rules.company import Company


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
        """Whether its confirmation is still missing."""
        return self.state in ("to do", "waiting for a date", "sent")


@dataclass(frozen=True, slots=True)
class MissingDate:
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
    missing_dates: tuple[MissingDate, ...]
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
class Differing:
    """Registrations that a payer has otherwise than we do: `what` of them (name or serial), and which, by their keys."""

    what: str
    words: str
    keys: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SystemPage:
    """The registrations of one system, payer by payer; `owner` is in whose name a new one is made."""

    pk: int
    system: str
    site_pk: int
    site: str
    customer_pk: int
    customer: str
    units: tuple[UnitLink, ...]
    parts: tuple[PayerPart, ...]
    owner: str = ""
    differing: tuple[Differing, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnerLetter:
    """A letter that asks an owner to register what only they may register."""

    written_on: str
    sender: Company
    owner: str
    address: tuple[str, ...]
    payer: str
    title: str
    last_day: str
    installed: str
    units: tuple[tuple[str, str, str], ...]
    filename: str
