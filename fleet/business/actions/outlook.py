"""Keeping the year ahead: worked out each day, and again once something changed.

Planning the visits of a large company takes seconds, so the page never waits for it: a small one's outlook is worked out on
the spot, a large one's by a job, and meanwhile the page shows the former one with its day.
"""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import Max

from fleet import models
from fleet.business.facts import outlook, outlook_totals
from fleet.later import later
from fleet.rules.dates import DAY, Span, add_months

# As far as anybody looks ahead on the page, after the running month.
MONTHS = 36
# Which shape the content has: an outlook of another one is stale.
_SHAPE = "2"
# So many sites are planned in about a third of a second.
FEW_SITES = 300
YEAR = 12


def is_stale(*, on: dt.date) -> bool:
    """Whether anything changed since the year ahead was worked out, or the day did."""
    return models.Outlook.objects.filter(mark=mark(on=on)).first() is None


def mark(*, on: dt.date) -> str:
    """A mark of the record's state: the day, and the last key of each table that the year ahead hangs on."""
    tables = (models.DueRow, models.Change, models.Load, models.BookedTask, models.WriteUp)
    last = [table.objects.aggregate(last=Max("pk"))["last"] or 0 for table in tables]
    return ":".join(map(str, (_SHAPE, on.isoformat(), *last)))


def freshen(*, on: dt.date, at: dt.datetime) -> bool:
    """See that the year ahead is worked out again where it is stale; return whether somebody must wait for that."""
    if not is_stale(on=on):
        return False
    if models.Site.objects.count() <= FEW_SITES:
        keep(work_out(on=on), at=at)
        return False
    if not models.Job.objects.filter(name="look_ahead", state__in=("waiting", "running")).exists():
        later("look_ahead", key=f"look_ahead {mark(on=on)}")
    return True


def work_out(*, on: dt.date) -> tuple[models.Outlook, tuple[outlook.Offered, ...]]:
    """Work the months ahead out; nothing is written."""
    # First, so that whatever is written meanwhile makes it stale.
    seen = mark(on=on)
    look = outlook.look(first=on, months=1 + MONTHS, today=on)
    return models.Outlook(pk=1, on=on, mark=seen, content=_content(look, on)), look.offers


def keep(worked_out: tuple[models.Outlook, tuple[outlook.Offered, ...]], *, at: dt.datetime) -> None:
    """Keep what was worked out instead of what was kept before."""
    row, offers = worked_out
    row.at = at
    with transaction.atomic():
        models.Outlook.objects.filter(pk=1).delete()
        row.save(force_insert=True)
        models.Offer.objects.all().delete()
        models.Offer.objects.bulk_create(
            (
                models.Offer(
                    site_id=one.site,
                    heads=one.heads,
                    tasks=one.tasks,
                    visits=one.visits,
                    late=one.late,
                    first_on=one.first_on,
                    minutes=one.minutes,
                    price=one.price,
                )
                for one in offers
            ),
            batch_size=1_000,
        )


def _content(look: outlook.Look, on: dt.date) -> dict[str, Any]:
    return {
        "months": [
            {
                "month": month.first.isoformat(),
                "money": {
                    "contracted": str(month.money.contracted),
                    "renewals": str(month.money.renewals),
                    "on offer": str(month.money.on_offer),
                },
                "minutes_due": month.minutes_due,
                "minutes_late": month.minutes_late,
                "minutes": {band.value: str(minutes) for band, minutes in month.minutes.items()},
                "beyond": _visits(month.beyond),
                "booked": _visits(month.booked),
            }
            for month in look.months
        ],
        "rate": {"rate": str(look.rate.rate), "measured": look.rate.measured},
        "sites_sold": look.sites_sold,
        "heads": {"sold": look.heads_sold, "offered": look.heads_offered},
        "ending": list(outlook_totals.ending(Span(on, add_months(on, YEAR) - DAY))),
        "claims": outlook_totals.claims(on=on),
        "registration": outlook_totals.registration(),
    }


def _visits(visits: outlook.Visits) -> dict[str, Any]:
    return {"visits": visits.count, "price": str(visits.price)}
