"""What waits on the office."""

import datetime as dt
from itertools import compress

from fleet.coverage.pages.registrations import COLUMNS
from fleet.coverage.queries import registration_queue
from fleet.coverage.queries.registration_lead import sentences
from fleet.elements.lists import Listing, Sort
from fleet.front.pages.waiting import WaitingPage
from fleet.rules.registration import State

FIRST = 10
FIRST_FOR_A_DATE = 5
# Where no limit counts yet, no row has a day.
_WITHOUT_DAYS = tuple(column for column in COLUMNS if column.name not in ("deadline", "days_left"))


def page(*, on: dt.date) -> WaitingPage:
    """Show the first of everything that waits, in a fixed number of queries."""
    return WaitingPage(
        on=on,
        sentences=sentences(on=on),
        to_do=_first(State.TO_DO, FIRST, on=on),
        for_a_date=_first(State.WAITING, FIRST_FOR_A_DATE, on=on),
    )


def _first(state: State, number: int, *, on: dt.date) -> Listing:
    more, rows = registration_queue.nearest(state, number, on=on)
    # How many there are in all is said in the sentences; a list of ten only says whether it goes on.
    count = len(rows) + more
    if state is not State.WAITING:
        return Listing(COLUMNS, rows, count, Sort("deadline"))
    kept = [column in _WITHOUT_DAYS for column in COLUMNS]
    return Listing(_WITHOUT_DAYS, tuple(tuple(compress(row, kept)) for row in rows), count, Sort("deadline"))
