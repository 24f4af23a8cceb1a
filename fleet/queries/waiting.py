"""What waits on the office."""

import datetime as dt

from fleet.pages.lists import Listing, Sort
from fleet.pages.registrations import COLUMNS
from fleet.pages.waiting import WaitingPage
from fleet.queries import registrations
from fleet.rules.registration import State

FIRST = 10
FIRST_FOR_A_DATE = 5


def page(*, on: dt.date) -> WaitingPage:
    """Show the first of everything that waits, in a fixed number of queries."""
    return WaitingPage(
        on=on,
        sentences=registrations.sentences(on=on),
        to_do=_first(State.TO_DO, FIRST, on=on),
        for_a_date=_first(State.WAITING, FIRST_FOR_A_DATE, on=on),
    )


def _first(state: State, number: int, *, on: dt.date) -> Listing:
    count, rows = registrations.nearest(state, number, on=on)
    return Listing(COLUMNS, rows, count, Sort("deadline"))
