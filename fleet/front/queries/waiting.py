"""What waits on the office."""

import datetime as dt

from fleet.coverage.queries.registration_lead import sentences
from fleet.coverage.queries.registration_queue import QUEUE
from fleet.front.pages.waiting import WaitingPage

FIRST = 10
FIRST_FOR_A_DATE = 5


def page(*, on: dt.date) -> WaitingPage:
    """The first of everything that waits, in a fixed number of queries."""
    for_a_date = QUEUE.first(FIRST_FOR_A_DATE, on=on, state="waiting for a date")
    return WaitingPage(
        on=on,
        sentences=sentences(on=on),
        to_do=QUEUE.first(FIRST, on=on),
        # Where no limit counts yet, no row has a day.
        for_a_date=for_a_date.without("deadline", "days_left"),
    )
