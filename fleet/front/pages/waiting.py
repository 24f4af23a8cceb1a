"""What waits on the office: its first page."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.cells import Table


@dataclass(frozen=True, slots=True)
class WaitingPage:
    """What closes soonest, and what waits for a date, each as the first rows of its list and how many there are."""

    on: dt.date
    sentences: tuple[str, ...]
    to_do: Table
    for_a_date: Table
