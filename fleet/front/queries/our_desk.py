"""What is on our desk."""

import datetime as dt

from fleet.coverage.queries.registered_otherwise import REGISTERED_OTHERWISE
from fleet.coverage.queries.registration_queue import QUEUE
from fleet.front.pages.our_desk import DeskPage
from fleet.front.queries import deadlines

FIRST_OF_A_LIST = 5


def page(*, on: dt.date) -> DeskPage:
    """The first of everything that is on our desk, in a fixed number of queries."""
    nearest = deadlines.DEADLINES.first(deadlines.FIRST, on=on)
    for_a_date = QUEUE.first(FIRST_OF_A_LIST, on=on, state="waiting for a date")
    return DeskPage(
        on=on,
        sentences=deadlines.sentences(nearest),
        deadlines=nearest,
        # Where no limit counts yet, no row has a day.
        for_a_date=for_a_date.without("deadline", "days_left"),
        registered_otherwise=REGISTERED_OTHERWISE.first(FIRST_OF_A_LIST, on=on),
    )
