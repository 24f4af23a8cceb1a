"""The year ahead as outside programs read it."""

import datetime as dt
from decimal import Decimal
from typing import Any

from fleet.business.facts import outlook, outlook_totals
from fleet.facts import house

HOUR = Decimal(60)


def months_ahead(*, first: dt.date, months: int, today: dt.date) -> dict[str, Any]:
    """The months from a day on in three bands, with hours due and on hand, endings, claims and registrations."""
    look = outlook.look(first=first, months=months, today=today)
    assert look.span.last is not None
    on_hand = house.hours_on_hand(look.span.first, look.span.last)
    return {
        "months": [
            {
                "month": f"{month.first:%Y-%m}",
                "contracted": f"{month.money.contracted:.2f}",
                "renewals": f"{month.money.renewals:.2f}",
                "on_offer": f"{month.money.on_offer:.2f}",
                "hours_due": hours(month.minutes_due),
                "hours_on_hand": None if month.first not in on_hand else float(on_hand[month.first]),
            }
            for month in look.months
        ],
        "ending": list(outlook_totals.ending(look.span)),
        "claims": outlook_totals.claims(on=today),
        "registration": outlook_totals.registration(),
    }


def hours(minutes: int) -> float:
    """Minutes as hours, to the hundredth.

    >>> hours(100)
    1.67
    """
    return float(round(minutes / HOUR, 2))
