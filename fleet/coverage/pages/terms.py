"""Terms on file: the list, one paper, and the units that hold it."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.lists import Column, Listing

COLUMNS = (
    Column("title", "Terms", sorts=True),
    Column("code", "Code", shown=False),
    Column("payer", "Payer", "payer", sorts=True),
    Column("maker", "Maker", sorts=True),
    Column("from", "Starts from", "day", sorts=True),
    Column("to", "Starts to", "day", sorts=True),
    Column("checked_on", "Last checked", "day", sorts=True),
    Column("standing", "Standing", sorts=True),
)
STANDINGS = ("held by units", "held by no unit", "withdrawn")

UNIT_COLUMNS = (
    Column("serial", "Unit", "serial", sorts=True),
    Column("maker", "Maker", shown=False),
    Column("model", "Model", shown=False),
    Column("customer", "Customer", sorts=True),
    Column("site", "Site", sorts=True),
    Column("starts", "Starts", "day", sorts=True),
    Column("registration", "Registration", sorts=True),
    Column("deadline", "Limit", "day", sorts=True),
    Column("how", "Held"),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list of terms is asked for; blank: any."""

    payer: str = ""
    maker: str = ""
    standing: str = ""
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything narrows the list."""
        return self != Asked()


@dataclass(frozen=True, slots=True)
class TermsListPage:
    """The terms on file that were asked for, and the one that nobody has checked for longest."""

    asked: Asked
    listing: Listing
    on_file: int
    oldest: "Named | None"
    oldest_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Named:
    """Terms by name, and the key of their page."""

    pk: int
    code: str
    title: str


@dataclass(frozen=True, slots=True)
class Check:
    """That somebody held the terms against the payer's paper; `undo` is its key while it may be taken back."""

    day: dt.date
    by: str
    note: str
    undo: int | None = None


@dataclass(frozen=True, slots=True)
class TermsPage:
    """What one paper says, in words, where it stands, and who checked it when."""

    terms: Named
    payer: str
    maker: str
    says: tuple[str, ...]
    source_title: str
    source_page: str
    checks: tuple[Check, ...]
    checked_on: dt.date
    replaces: Named | None
    replaced_by: tuple[Named, ...]
    held_by: int


@dataclass(frozen=True, slots=True)
class UnitsAsked:
    """What the list of units that hold some terms is asked for; blank: any."""

    registration: str = ""
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything narrows the list."""
        return self != UnitsAsked()


@dataclass(frozen=True, slots=True)
class UnitsPage:
    """The units that hold some terms."""

    terms: Named
    asked: UnitsAsked
    listing: Listing
