"""What day it is for the company, and what moment: the only module that asks.

The time zone is the company's own, which whoever begins something (a request, a job, a command) makes the current one:
`web/zone.py`, `tasks.py`, `management/here.py`.
"""

import datetime as dt

from django.utils import timezone


def today() -> dt.date:
    """Today's day in the company's own time zone."""
    return timezone.localdate()


def time_of_day() -> dt.time:
    """The hour and minute by the company's clock, for people to read; never for a rule."""
    return timezone.localtime().time().replace(second=0, microsecond=0)


def now() -> dt.datetime:
    """This moment, for a record of when something was written down; never for a rule."""
    return timezone.now()
