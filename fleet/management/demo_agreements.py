"""The demo company's agreements, some renewed and one ended, and the hours its technicians have in the months around today."""

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal

from fleet import models
from fleet.business.actions import agreements, house
from fleet.facts.agreements import agreement_of
from fleet.loading.agreements import load_rows
from fleet.rules.dates import add_months

DRIVE_PRICE, RENEWAL_PERCENT = Decimal("62.00"), Decimal(85)
# What three technicians have beside installs and calls: most in spring and fall, least when somebody is away.
HOURS = {1: 70, 2: 60, 3: 90, 4: 90, 5: 70, 6: 50, 7: 40, 8: 40, 9: 90, 10: 100, 11: 90, 12: 60}
MONTHS = 18
# By whose it was: how many days ago it was ended, and why.
ENDED = {"Ottoline Graves": (34, "Sold the house on Gannet Street; the buyers have a company of their own")}
# Those who did not want to go on when they were asked; one has not answered yet.
DECLINED, SILENT = "Did not want to go on", "Has not answered yet"


def bring(rows: Sequence[Mapping[str, str]], *, by: models.User, today: dt.date) -> None:
    """Load the agreements, take them through what became of them since, and settle the house."""
    load_rows(rows, by=by, on=today)
    for row in models.Agreement.objects.filter(renews="by asking").exclude(notes__in=(DECLINED, SILENT)):
        # Asked each time so far; the one that comes up next is not asked yet.
        while agreement_of(row).renewal_on(today) <= today:
            row = agreements.renew(row.pk, seen=row.terms_agreed, by=by, on=today)
    for row in models.Agreement.objects.filter(notes=DECLINED):
        over_on = agreement_of(row).renewal_on(today)
        agreements.end(row.pk, day=over_on, why="Asked about the next year, and they declined", by=by, on=today)
    for customer, (ago, why) in ENDED.items():
        row = models.Agreement.objects.get(site__customer__name=customer)
        agreements.end(row.pk, day=today - dt.timedelta(days=ago), why=why, by=by, on=today)
    house.settle(
        was={"drive_price": Decimal("0.00"), "renewal_percent": Decimal(80)},
        facts={"drive_price": DRIVE_PRICE, "renewal_percent": RENEWAL_PERCENT},
        by=by,
        on=today,
    )
    first = today.replace(day=1)
    months = [add_months(first, number) for number in range(MONTHS)]
    house.month_hours(was={}, facts={month: Decimal(HOURS[month.month]) for month in months}, by=by, on=today)
