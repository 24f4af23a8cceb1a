"""What is on our desk: the office's first page."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.cells import Table


@dataclass(frozen=True, slots=True)
class DeskPage:
    """Every deadline in one order, what waits for a date, and what payers have otherwise: the first rows of each list, and how many."""

    on: dt.date
    sentences: tuple[str, ...]
    deadlines: Table
    for_a_date: Table
    registered_otherwise: Table
