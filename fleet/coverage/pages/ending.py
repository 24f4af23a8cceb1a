"""The list of coverage that ends soon."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.lists import Column, Listing

# How far ahead the list looks, in days; the first where nobody chose.
DAYS = (30, 90, 180, 365)

COLUMNS = (
    Column("serial", "Unit", "serial", sorts=True),
    Column("maker", "Maker", sorts=True, shown=False),
    Column("model", "Model", sorts=True, shown=False),
    Column("room", "Room", shown=False),
    Column("customer", "Customer", sorts=True),
    Column("site", "Site", sorts=True),
    Column("phone", "Phone", shown=False),
    Column("pays_for", "Pays for", sorts=True),
    Column("components", "Components"),
    Column("payer", "Payer", "payer", sorts=True),
    Column("terms", "Terms", shown=False),
    Column("last_day", "Last day", "day", sorts=True),
    Column("days_left", "Days left", "number"),
    Column("possible_last_day", "Perhaps until", "day", shown=False),
    Column("hangs_on", "More is possible"),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is asked for: how many days ahead, and blank for any."""

    days: int = DAYS[0]
    payer: str = ""
    kind: str = ""
    maker: str = ""
    text: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything but the days narrows the list."""
        return bool(self.payer or self.kind or self.maker or self.text)


@dataclass(frozen=True, slots=True)
class EndingPage:
    """What ends, how much, and the first day on which something does."""

    asked: Asked
    on: dt.date
    until: dt.date
    listing: Listing
    first_on: dt.date | None
    nothing_on_file: bool = False
