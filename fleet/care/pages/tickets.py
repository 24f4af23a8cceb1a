"""The ticket of a visit, for the customer: what was done on each unit, what was found, who signed."""

import datetime as dt
from dataclasses import dataclass

from fleet.care.pages.write_ups import Signed


@dataclass(frozen=True, slots=True)
class OfUnit:
    """One unit: its name, what it is, and facts beside their names."""

    name: str
    what: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Ticket:
    """A whole ticket; `signed_at` is when it was written up, `cautions` what the customer is to beware of, task by task."""

    pk: int
    customer: str
    site: str
    address: str
    on: dt.date
    technician: str
    units: tuple[OfUnit, ...]
    failures: tuple[str, ...]
    refrigerant: tuple[str, ...]
    signed: Signed | None
    signed_at: str
    cautions: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def filename(self) -> str:
        """What the file is called."""
        return f"ticket-{self.on.isoformat()}-{self.pk}.pdf"
