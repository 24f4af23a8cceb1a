"""What day it is for the company, and what moment: the only module that asks."""

import datetime as dt

from django.utils import timezone


def today() -> dt.date:
    """Today's day in the company's own time zone, whatever zone a request has switched to."""
    return timezone.localdate(timezone=timezone.get_default_timezone())


def now() -> dt.datetime:
    """This moment, for a record of when something was written down; never for a rule."""
    return timezone.now()
