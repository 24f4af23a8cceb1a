"""What is due on a day, as the outside world is told of it: one due after the other, in order of days and names."""

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import groupby, islice
from typing import Any, NamedTuple

from fleet import models
from fleet.facts import care as gather_care
from fleet.rules import care
from fleet.rules.caresheet import CareSheet, Task
from fleet.rules.dues import work_out
from fleet.rules.windows import Window

CHUNK = 500


class _Row(NamedTuple):
    """One due with the names it is told under."""

    due_on: dt.date
    customer: str
    site: str
    serial: str
    task: str
    unit: int
    system: str
    maker: str
    model: str
    last_done: dt.date | None
    opens_on: dt.date
    late_after: dt.date
    not_before: dt.date | None
    price: Any
    minutes: int


_FIELDS = (
    "due_on", "site__customer__name", "site__name", "unit__serial", "task", "unit_id", "system__name", "unit__maker",
    "unit__model", "last_done", "opens_on", "late_after", "not_before", "price",
    "minutes",
)  # fmt: skip


def report(*, on: dt.date, today: dt.date, customer: str = "", site: str = "") -> Iterator[dict[str, Any]]:
    """What is due on a day, by due day, customer, site, serial and task, for one customer's or site's name or all.

    From today on that is what is kept, read day by day; for a day gone by, only records of that time count, so it is
    worked out.
    """
    sheet = gather_care.care_sheet()
    if sheet is None:
        return
    rows = _stored(customer, site) if on >= today else iter(sorted(_worked_out(sheet, customer, site, on=on)))
    for _, day in groupby(rows, key=lambda row: row.due_on):
        # A database sorts names by its own alphabet; the order promised is by plain character codes.
        for row in sorted(day):
            task = sheet.task(row.task)
            if task is not None:
                yield _as_json(row, task, on=on)


def knows(*, customer: str, site: str) -> bool:
    """Whether any site of that customer's and site's name is on file."""
    return _sites(customer, site).exists()


def _sites(customer: str, site: str) -> Any:
    sites = models.Site.objects.all()
    if customer:
        sites = sites.filter(customer__name=customer)
    return sites.filter(name=site) if site else sites


def _stored(customer: str, site: str) -> Iterator[_Row]:
    stored = models.DueRow.objects.all()
    if customer or site:
        stored = stored.filter(site__in=_sites(customer, site).values("pk"))
    rows = stored.order_by("due_on").values_list(*_FIELDS).iterator(chunk_size=CHUNK)
    return (_Row(*row) for row in rows)


def _worked_out(sheet: CareSheet, customer: str, site: str, *, on: dt.date) -> Iterator[_Row]:
    systems = models.System.objects.filter(site__in=_sites(customer, site).values("pk")).order_by("pk")
    named = systems.values_list("pk", "name", "site__name", "site__customer__name").iterator(chunk_size=CHUNK)
    while chunk := list(islice(named, CHUNK)):
        names = {str(pk): rest for pk, *rest in chunk}
        gathered = gather_care.systems((pk for pk, *_ in chunk), on=on)
        dues = [due for system in gathered for due in work_out(system, sheet, on=on).dues]
        units = models.Unit.objects.in_bulk({int(due.unit) for due in dues})
        yield from (_of(due, names[due.system], units[int(due.unit)]) for due in dues)


def _of(due: care.Due, names: Iterable[str], unit: models.Unit) -> _Row:
    system, site, customer = names
    return _Row(
        due.due_on,
        customer,
        site,
        due.serial,
        due.task.code,
        unit.pk,
        system,
        unit.maker,
        unit.model,
        due.last_done,
        due.opens_on,
        due.late_after,
        due.not_before,
        due.price,
        due.minutes,
    )


def _as_json(row: _Row, task: Task, *, on: dt.date) -> dict[str, Any]:
    window = Window(row.due_on, row.opens_on, row.late_after)
    return {
        "customer": row.customer,
        "site": row.site,
        "system": row.system,
        "maker": row.maker,
        "model": row.model,
        "serial": row.serial,
        "task": task.code,
        "by": task.by,
        "last_done": row.last_done and row.last_done.isoformat(),
        "due_on": row.due_on.isoformat(),
        "opens_on": row.opens_on.isoformat(),
        "late_after": row.late_after.isoformat(),
        "state": str(care.state_of(task, window, row.last_done, row.not_before, on=on)),
        "not_before": row.not_before and row.not_before.isoformat(),
        "minutes": row.minutes,
        "price": f"{row.price:.2f}",
    }
