"""What the company settles for itself, as its page shows it."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fleet.rules.usual_holidays import Holiday


@dataclass(frozen=True, slots=True)
class Closed:
    """A closed day, and why."""

    pk: int
    on: dt.date
    why: str


@dataclass(frozen=True, slots=True)
class HousePage:
    """Settings by name, the closed days to come, and the hours of one year's months."""

    settings: Mapping[str, Any]
    closed: tuple[Closed, ...]
    year: int
    hours: Mapping[dt.date, Decimal | None]
    holidays: tuple[Holiday, ...]
    sentences: tuple[str, ...]

    @property
    def years(self) -> tuple[int, int]:
        """The years before and after."""
        return self.year - 1, self.year + 1
