"""The plan of visits as the outside world is told of it: by day, customer and site."""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from fleet.care.facts import visits
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules import planner


def report(
    *,
    first: dt.date,
    until: dt.date,
    today: dt.date,
    customer: str = "",
    site: str = "",
    hours_a_day: Decimal | None = None,
) -> Iterator[dict[str, Any]]:
    """The visits planned from one day until another; a customer or a site narrows only what is listed, not the plan.

    All sites share the hours on hand, so all are planned at once; of each visit only what is told of it stays in memory.
    """
    sheet = care_sheet()
    if sheet is None:
        return
    works = visits.works(sheet, on=first, today=today)
    working = house.working(hours_a_day=hours_a_day)
    listed = []
    for visit in planner.planned(works, sheet, working, first=first, until=until):
        if (not customer or visit.customer == customer) and (not site or visit.site == site):
            tasks = tuple((due.serial, due.task.code) for due in visit.dues)
            facts = (visit.minutes, tasks, visit.price, visit.agreement)
            listed.append((visit.on, visit.customer, visit.site, facts))
    listed.sort(key=lambda visit: visit[:3])
    for on, customer_name, site_name, (minutes, tasks, price, agreement) in listed:
        yield {
            "customer": customer_name,
            "site": site_name,
            "on": on.isoformat(),
            "minutes": minutes,
            "tasks": [{"serial": serial, "task": task} for serial, task in tasks],
            "price": f"{price:.2f}",
            "agreement": agreement,
        }
