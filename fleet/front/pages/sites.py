"""The site page and the customer page as values."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from fleet.elements.pieces import Fact
from fleet.registry.pages.contacts import Contact


@dataclass(frozen=True, slots=True)
class Registered:
    """Where a unit's registration stands with one payer, in a few words; `state` as the rules name it."""

    state: str
    words: str


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One unit in a site's table: until when it is paid for, what is open, where its registration stands."""

    pk: int
    what: str
    room: str
    maker: str
    model: str
    serial: str
    started: dt.date | None
    parts: tuple[str, ...]
    labor: tuple[str, ...]
    open: tuple[str, ...]
    registration: tuple[Registered, ...]
    gone: str


@dataclass(frozen=True, slots=True)
class SystemPart:
    """One system with its units; those that are gone stand last."""

    pk: int
    name: str
    units: tuple[UnitRow, ...]

    @property
    def registers(self) -> bool:
        """Whether some payer wants a unit of it registered."""
        return any(unit.registration for unit in self.units)


@dataclass(frozen=True, slots=True)
class Told:
    """That a payer was told of a sale, on a day, for some units."""

    day: dt.date
    whose: str
    units: int


@dataclass(frozen=True, slots=True)
class Sold:
    """A day on which the house was sold, and who was told of it since."""

    day: dt.date
    told: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class SitePage:
    """Everything on the page of a site."""

    pk: int
    name: str
    customer_pk: int
    customer: str
    phone: str
    email: str
    address: str
    contacts: tuple[Contact, ...]
    facts: tuple[Fact, ...]
    sentences: tuple[str, ...]
    systems: tuple[SystemPart, ...]
    sales: tuple[Sold, ...]
    deadlines: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class SiteRow:
    """One site of a customer: where it is and how much equipment is there."""

    pk: int
    name: str
    address: str
    use: str
    systems: int
    units: int


@dataclass(frozen=True, slots=True)
class CustomerPage:
    """A customer with their sites."""

    pk: int
    name: str
    phone: str
    email: str
    sentence: str
    sites: tuple[SiteRow, ...]
