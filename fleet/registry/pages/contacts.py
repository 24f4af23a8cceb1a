"""People to reach about a site, the sale of a house, and builders' houses that were not closed yet, as values."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.lists import Column, Listing


@dataclass(frozen=True, slots=True)
class Contact:
    """Somebody to reach about a site."""

    pk: int
    name: str
    role: str
    phone: str
    email: str
    reach: str


@dataclass(frozen=True, slots=True)
class ContactsPage:
    """Whom to reach about a site, and how to get in."""

    pk: int
    site: str
    customer: str
    gate_code: str
    contacts: tuple[Contact, ...]


@dataclass(frozen=True, slots=True)
class ToTell:
    """A payer that wants to be told of the sale: by when, of how many units; done says on which day it was."""

    terms: int
    title: str
    payer: str
    until: dt.date | None
    units: int
    state: str
    told_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class SoldPage:
    """The last sale of a house and whom it must be told to."""

    pk: int
    site: str
    customer: str
    sold_on: dt.date | None
    seller: str
    buyer: str
    payers: tuple[ToTell, ...]


UNSOLD_COLUMNS = (
    Column("customer", "Customer", sorts=True),
    Column("site", "Site", sorts=True),
    Column("address", "Address"),
    Column("units", "Units", "number", sorts=True),
    Column("installed_on", "First installed", "day", sorts=True),
)


@dataclass(frozen=True, slots=True)
class UnsoldAsked:
    """What the list is narrowed to; blank for any."""

    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether the list is narrowed."""
        return bool(self.text)


@dataclass(frozen=True, slots=True)
class House:
    """A new house of which no closing day is on file."""

    pk: int
    site: str
    customer: str


@dataclass(frozen=True, slots=True)
class UnsoldPage:
    """New houses without a closing day."""

    asked: UnsoldAsked
    listing: Listing
    houses: tuple[House, ...]
