"""The list of facts that nobody can know any more."""

from dataclasses import dataclass

from fleet.coverage.pages.wanted import Asked
from fleet.elements.lists import Column, Listing

COLUMNS = (
    Column("fact", "Fact", sorts=True),
    Column("fact_of", "Of", "serial"),
    Column("customer", "Customer", sorts=True),
    Column("site", "Site", shown=False),
    Column("set_aside_on", "Set aside", "day", sorts=True),
    Column("by", "By"),
    Column("note", "Why"),
)


@dataclass(frozen=True, slots=True)
class SetAside:
    """One fact that was set aside, to be brought back."""

    pk: int
    title: str
    whose: str


@dataclass(frozen=True, slots=True)
class SetAsidePage:
    """What was set aside, each row with the key that brings it back."""

    asked: Asked
    listing: Listing
    asides: tuple[SetAside, ...]
