"""People to reach about a site, and the sale of a house, as values."""

import datetime as dt
from dataclasses import dataclass


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
    customer_pk: int
    sold_on: dt.date | None
    seller: str
    buyer: str
    payers: tuple[ToTell, ...]
