"""What is on our desk: the office's first page."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.cells import Table


@dataclass(frozen=True, slots=True)
class DeskPage:
    """Every deadline in one order, what waits for a date, what payers have otherwise, and failures of which nobody knows yet what failed: the first rows of each list, and how many."""

    on: dt.date
    sentences: tuple[str, ...]
    deadlines: Table
    for_a_date: Table
    registered_otherwise: Table
    component_not_known: Table
