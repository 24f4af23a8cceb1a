"""Which kept clocks somebody should know of."""

import datetime as dt

from django.db.models import Q, QuerySet

from fleet import models
from fleet.rules.dates import DAY

# What nobody claimed for so long after its last day is no deadline any more, only something that was lost.
_LONG_AGO = 60 * DAY


def counting(*, on: dt.date) -> QuerySet[models.ClockRow]:
    """Find the clocks that somebody should know of: those of claims, and those of failures that may still be claimed."""
    return models.ClockRow.objects.filter(Q(lapses_on=None) | Q(lapses_on__gte=on - _LONG_AGO))
