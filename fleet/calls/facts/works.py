"""Our works near a call: what was done, repaired or put in, on its unit's system, or on its whole site."""

import datetime as dt
from collections.abc import Iterable

from fleet import models
from fleet.facts import companies
from fleet.facts.care import care_sheet
from fleet.rules import calls as rules
from fleet.rules.calls import Work
from fleet.rules.dates import DAY


def works_near(call: models.Call, *, days: int) -> list[Work]:
    """What we did 1 to `days` days before a call came, on the units of its system, or of its site where no unit is known."""
    if call.site_id is None:
        return []
    first, last = call.came_on - days * DAY, call.came_on - DAY
    if call.unit_id is not None:
        here = models.Place.objects.filter(system__places__unit=call.unit_id, system__site=call.site_id)
    else:
        here = models.Place.objects.filter(system__site=call.site_id)
    return list(works(set(here.values_list("unit_id", flat=True)), first=first, last=last))


def works(units: Iterable[int] | None, *, first: dt.date, last: dt.date) -> Iterable[Work]:
    """Our works in a period on some units, or on all (None): tasks done by us, repairs, installs; none of another company's."""
    sheet = care_sheet()
    titles = {task.code: task.title for task in sheet.tasks} if sheet else {}
    ours = {task.code for task in sheet.tasks if task.by == "technician"} if sheet else set()
    records = models.MaintenanceRecord.objects.filter(skipped=False, done_on__range=(first, last)).exclude(task="")
    failures = models.Failure.objects.filter(repaired_on__range=(first, last), voided_on=None)
    installs = models.Unit.objects.filter(installed_on__range=(first, last), installed_by__in=("", "us"))
    if units is not None:
        keys = list(units)
        records, failures = records.filter(unit__in=keys), failures.filter(unit__in=keys)
        installs = installs.filter(pk__in=keys)
    found: list[Work] = []
    for pk, task, on, technician in records.values_list("pk", "task", "done_on", "technician"):
        if task in ours or technician:
            found.append(Work(on, titles.get(task, task), technician, f"record {pk}"))
    found += [
        Work(failure.repaired_on, "Repair", failure.technician, f"failure {failure.pk}")
        for failure in failures.only("repaired_on", "technician")
        if failure.repaired_on is not None
    ]
    found += [
        Work(unit.installed_on, "Install", "", f"unit {unit.pk}")
        for unit in installs.only("installed_on")
        if unit.installed_on is not None
    ]
    return rules.ours(found, companies.others({work.technician for work in found} - {""}))
