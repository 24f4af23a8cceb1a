"""What is on our desk: the office's first page."""

import datetime as dt
from dataclasses import dataclass

from fleet.elements.cells import Table


@dataclass(frozen=True, slots=True)
class DeskPage:
    """Every deadline in one order, and what waits for a date, each as the first rows of its list and how many there are."""

    on: dt.date
    sentences: tuple[str, ...]
    deadlines: Table
    for_a_date: Table
