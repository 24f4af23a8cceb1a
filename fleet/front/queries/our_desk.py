"""What is on our desk."""

import datetime as dt
from dataclasses import replace
from functools import partial

from fleet.claims.queries.failures_list import COMPONENT_NOT_KNOWN, FAILURES
from fleet.coverage.queries import registration_queue
from fleet.coverage.queries.registered_otherwise import REGISTERED_OTHERWISE
from fleet.coverage.queries.registration_queue import QUEUE
from fleet.facts import terms_on_file
from fleet.front.pages.our_desk import DeskPage
from fleet.front.queries import deadlines

FIRST_OF_A_LIST = 5
# What says nothing of a failure before it is known which component failed.
_LATER = ("component", "repaired_on", "parts_cost", "old_part_at", "claims")


def page(*, on: dt.date) -> DeskPage:
    """The first of everything that is on our desk, in a fixed number of queries."""
    book = terms_on_file()
    with_book = replace(deadlines.DEADLINES, complete=partial(deadlines.complete, book=book))
    nearest = with_book.first(deadlines.FIRST, on=on)
    queue = replace(QUEUE, complete=partial(registration_queue.complete, book=book))
    for_a_date = queue.first(FIRST_OF_A_LIST, on=on, state="waiting for a date")
    return DeskPage(
        on=on,
        sentences=deadlines.sentences(nearest),
        deadlines=nearest,
        # Where no limit counts yet, no row has a day.
        for_a_date=for_a_date.without("deadline", "days_left"),
        registered_otherwise=REGISTERED_OTHERWISE.first(FIRST_OF_A_LIST, on=on),
        component_not_known=FAILURES.first(FIRST_OF_A_LIST, on=on, shown=COMPONENT_NOT_KNOWN).without(*_LATER),
    )
