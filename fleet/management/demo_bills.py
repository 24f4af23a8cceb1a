"""What the demo company has billed and been paid for its agreements, and what it promised of its own."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from fleet import models
from fleet.business.actions import bills, own_promises
from fleet.care.facts import visits
from fleet.facts import agreements as gathered
from fleet.facts.care import care_sheet
from fleet.rules import billing
from fleet.rules.billing import Account
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, add_months

# So many days after a bill was sent it is paid; these customers have not paid their last one.
PAID_AFTER = 12
UNPAID = ("Murdo Kerrigan",)
# For whom and where, what, on which condition, how many months ago and from then on for how long, and what it could cost.
PROMISED = (
    (
        "Oona Fairweather",
        "If the two heads on the bay side do not hold 70 °F at 0 °F outside, we add a third at our own cost.",
        "Windows and doors closed, filters washed as the wall card says.",
        10,
        36,
        Decimal("3400.00"),
    ),
    (
        "Harbor Street Apartments",
        "If tenants on the second floor hear the outdoor units at night, we move them to the yard side.",
        "",
        20,
        24,
        Decimal("1850.00"),
    ),
)


def bring(*, by: models.User, today: dt.date) -> None:
    """Bill each agreement's running year up to today, have most of it paid, and make the promises."""
    sheet = care_sheet() or CareSheet("", ())
    rows = list(models.Agreement.objects.select_related("site__customer").order_by("pk"))
    sites = {row.site_id for row in rows}
    heads, made = gathered.heads_of(sites), visits.made(sites, since=add_months(today, -24), before=today + DAY)
    for row in rows:
        _bill(row, heads.get(row.site_id, ()), sheet, made.get(row.site_id, ()), by=by, today=today)
    for customer, words, conditions, ago, months, cost in PROMISED:
        site = models.Site.objects.filter(customer__name=customer).order_by("pk").first()
        if site is not None:
            made_on = add_months(today, -ago)
            facts = {
                "system_id": None,
                "words": words,
                "conditions": conditions,
                "made_by": by.get_full_name(),
                "made_on": made_on,
                "until": add_months(made_on, months),
                "cost_at_most": cost,
            }
            own_promises.make(site.pk, facts=facts, by=by, on=today)


def _bill(
    row: models.Agreement,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    made: Sequence[dt.date],
    *,
    by: models.User,
    today: dt.date,
) -> None:
    rules = gathered.agreement_of(row)
    day = today if rules.ended_on is None else max(rules.start_on, min(today, rules.ended_on - DAY))
    span = rules.year_at(day).days
    planned = billing.standing(rules, Account(), heads, sheet, span=span, today=today, visits=made)
    due = [entry for entry in planned if entry.days.first <= today and not entry.renewals]
    for number, entry in enumerate(due, 1):
        first = entry.days.first
        bill = bills.send(
            row.pk,
            kind=entry.kind,
            first=first,
            last=entry.days.last or first,
            amount=entry.amount,
            billed_on=first,
            number=f"{first:%y%m}-{row.pk:03}",
            by=by,
            on=today,
        )
        paid_on = first + PAID_AFTER * DAY
        if paid_on <= today and not (row.site.customer.name in UNPAID and number == len(due)):
            bills.pay(bill.pk, paid_on=paid_on, amount=entry.amount, note="", by=by, on=today)
