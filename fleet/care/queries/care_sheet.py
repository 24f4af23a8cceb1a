"""The care sheet in force, the one that is being written, and what that would change: for which things, and at a site."""

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from typing import Any

from django.db.models import Q

from fleet import models
from fleet.care.pages import care_sheet as pages
from fleet.elements.named import local_moment
from fleet.facts import agreements, house
from fleet.facts import care as gathered
from fleet.facts.terms import from_document
from fleet.rules import care, caresheet, planner, visits
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import add_months
from fleet.rules.dues import work_out
from fleet.rules.tables import BadTable
from fleet.rules.wording import caresheet as wording
from fleet.sheets import toml

# So many systems are worked out under both sheets while somebody waits; of a larger fleet it is said that they are the first.
MOST_SYSTEMS = 1_000
MOST_SITES = 20
MOST_FORMER = 5
_MONTHS = 12
_GENERAL = ("code", "setup_minutes", "upkeep_on_file_from", "access_minutes", "style_factor")
_TASK = (
    "code", "title", "by", "per", "styles", "every_months", "early_days", "late_days", "minutes", "style_minutes", "price",
    "further_price", "counts_from", "months", "not_months", "floor_days", "dirt", "shorten", "cautions", "source",
    "checked_on",
)  # fmt: skip
_PLACE = re.compile(r"task\[(\d+)\]\.?(.*)")


def in_force() -> pages.InForce:
    """The sheet in force, and what else is on file."""
    rows = list(models.CareSheet.objects.select_related("load__by").order_by("code"))
    row = next((one for one in rows if one.in_force), None)
    former = sorted((one for one in rows if not one.in_force), key=lambda one: one.pk, reverse=True)
    sheet = gathered.care_sheet()
    draft = models.CareDraft.objects.select_related("by").filter(pk=1).first()
    load = row.load if row else None
    return pages.InForce(
        pk=row.pk if row else None,
        sheet=read_back(sheet) if sheet else None,
        since=local_moment(load.at) if load else "",
        by=str(load.by) if load and load.by else "",
        former=tuple(pages.Former(one.pk, one.code) for one in former[:MOST_FORMER]),
        writing=(str(draft.by) if draft.by else "Somebody") if draft else "",
    )


def file_in_force() -> tuple[str, str] | None:
    """The sheet in force as a file: its code, and its text; None while there is none."""
    row = models.CareSheet.objects.filter(in_force=True).first()
    return None if row is None else (row.code, as_file(from_document(row.document)))


def as_file(table: Mapping[str, Any]) -> str:
    """A sheet's table as the text of its file, its keys in the order of the trade and not of the alphabet."""
    tasks = [_in_order(task, _TASK) for task in table.get("task", [])]
    return toml.write(_in_order(table, _GENERAL) | {"task": tasks}, apart=("task",))


def _in_order(table: Mapping[str, Any], order: Sequence[str]) -> dict[str, Any]:
    return {key: table[key] for key in order if key in table}


def read_back(sheet: CareSheet) -> pages.SheetRead:
    """A sheet in sentences."""
    return pages.SheetRead(sheet.code, wording.general(sheet), tuple(tasks_of(sheet)))


def tasks_of(sheet: CareSheet) -> Iterator[pages.TaskRead]:
    """The tasks of a sheet in sentences, each by its place."""
    for number, task in enumerate(sheet.tasks):
        yield pages.TaskRead(
            number, task.code, task.title, task.by == "technician", wording.task(task), tuple(task.cautions)
        )


# ------------------------------------------------------------------------------------------------- before it takes hold


def look_over(
    table: Mapping[str, Any], draft: models.CareDraft, *, find: str, site: int | None, on: dt.date
) -> pages.LookOver:
    """What the sheet that is being written says and changes; or what keeps it from taking hold."""
    now = models.CareSheet.objects.filter(in_force=True).values_list("digest", flat=True).first() or ""
    try:
        sheet = caresheet.read(table)
    except BadTable as refused:
        faults = tuple(_fault(fault.where, fault.wanted, table) for fault in refused.faults)
        return pages.LookOver(draft.version, now, faults, None, None, now != draft.begun_from, (), None)
    faults = tuple(_later(sheet, on))
    old = gathered.care_sheet()
    new = _as_in_force(sheet, old)
    return pages.LookOver(
        version=draft.version,
        seen=now,
        faults=faults,
        sheet=read_back(new),
        comparison=compare(new, old, on=on),
        was_changed=now != draft.begun_from,
        sites=tuple(_sites(find)) if find else (),
        tried=_tried(site, new, old, on=on) if site else None,
    )


def _as_in_force(sheet: CareSheet, old: CareSheet | None) -> CareSheet:
    """The sheet as it would be once in force: with the day from which maintenance is on file, and our working days."""
    begins = sheet.upkeep_on_file_from or (old.upkeep_on_file_from if old else None)
    sheet = replace(sheet, upkeep_on_file_from=begins)
    return replace(sheet, working=house.working_days()) if sheet.has_seasons else sheet


def _fault(where: str, wanted: str, table: Mapping[str, Any]) -> pages.Fault:
    found = _PLACE.fullmatch(where)
    if found is None:
        what = "The sheet has no task yet. Add one." if where == "task" else f"{where}: {wanted}."
        return pages.Fault(what, None)
    number = int(found[1]) - 1
    return pages.Fault(f"{table['task'][number].get('title', 'A task')}: {found[2]} {wanted}.", number)


def _later(sheet: CareSheet, on: dt.date) -> Iterator[pages.Fault]:
    if sheet.upkeep_on_file_from is not None and sheet.upkeep_on_file_from > on:
        yield pages.Fault("The day from which your maintenance is on file must not be later than today.", None)
    for number, task in enumerate(sheet.tasks):
        if task.checked_on > on:
            yield pages.Fault(f"{task.title}: the day on which it was checked must not be later than today.", number)


def compare(new: CareSheet, old: CareSheet | None, *, on: dt.date) -> pages.Comparison:
    """What one sheet changes in another, task by task, and for how many things."""
    total = models.System.objects.count()
    keys = list(models.System.objects.order_by("pk").values_list("pk", flat=True)[:MOST_SYSTEMS])
    before, after = _Counted(old), _Counted(new)
    systems = gathered.systems(keys)
    for system in systems:
        before.add(system, on)
        after.add(system, on)
    was = {task.code: task for task in old.tasks} if old else {}
    told = {task.code for task in new.tasks}
    found = [_difference(task, was.get(task.code), before, after) for task in new.tasks]
    gone = [_gone(task, before) for code, task in was.items() if code not in told]
    changed = [one for one in found if one.kind != "same"]
    general = [line for line in wording.general(new) if old is not None and line not in wording.general(old)]
    return pages.Comparison(tuple(general), (*changed, *gone), len(found) - len(changed), len(systems), total)


class _Counted:
    """The dues that a sheet gives: of each task, the month of each thing."""

    def __init__(self, sheet: CareSheet | None) -> None:
        self._sheet, self.is_none = sheet, sheet is None
        self.months: dict[str, dict[str, tuple[int, int]]] = {}

    def add(self, system: care.System, on: dt.date) -> None:
        """Work out one system."""
        if self._sheet is None:
            return
        for due in work_out(system, self._sheet, on=on).dues:
            self.months.setdefault(due.task.code, {})[due.unit] = (due.window.due_on.year, due.window.due_on.month)


def _difference(
    task: caresheet.Task, was: caresheet.Task | None, before: _Counted, after: _Counted
) -> pages.Difference:
    old, new = before.months.get(task.code, {}), after.months.get(task.code, {})
    moved = sum(old[unit] != month for unit, month in new.items() if unit in old)
    # Of a first sheet everything is new, and stands below in full.
    sentences = () if before.is_none else wording.task(task) if was is None else wording.differences(task, was)
    added, gone = len(new.keys() - old.keys()), len(old.keys() - new.keys())
    is_same = was is not None and not sentences and not (added or gone or moved)
    kind = "new" if was is None else "same" if is_same else "changed"
    return pages.Difference(task.title, kind, sentences, len(old), added, gone, moved)


def _gone(task: caresheet.Task, before: _Counted) -> pages.Difference:
    things = len(before.months.get(task.code, {}))
    return pages.Difference(task.title, "gone", (), things, 0, things, 0)


# ------------------------------------------------------------------------------------------------- tried on a site


def _sites(find: str) -> Iterator[tuple[int, str]]:
    words = find.split()
    rows = models.Site.objects.select_related("customer").order_by("customer__name", "name")
    for word in words[:6]:
        rows = rows.filter(Q(customer__name__icontains=word) | Q(name__icontains=word) | Q(street__icontains=word))
    for row in rows[:MOST_SITES]:
        yield row.pk, f"{row.customer}, {row.name}{f', {row.street}' if row.street else ''}"


def _tried(pk: int, new: CareSheet, old: CareSheet | None, *, on: dt.date) -> pages.Tried | None:
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    keys = models.System.objects.filter(site=site).values_list("pk", flat=True)
    systems = gathered.systems(keys)
    sold = agreements.of_sites([pk]).get(pk, ())
    return pages.Tried(
        pk=pk,
        name=f"{site.customer}, {site.name}",
        new=tuple(_visits(site, systems, new, sold, on=on)),
        old=tuple(_visits(site, systems, old, sold, on=on)) if old else (),
    )


def _visits(
    site: models.Site, systems: Sequence[care.System], sheet: CareSheet, sold: Any, *, on: dt.date
) -> Iterator[pages.NextVisit]:
    dues = [due for system in systems for due in work_out(system, sheet, on=on).dues]
    ours = tuple(due for due in dues if due.task.by == "technician")
    work = visits.SiteWork(site.customer.name, site.name, ours, sold, site.drive_minutes or 0)
    until = add_months(on, _MONTHS)
    for visit in islice(planner.plan([work], sheet, house.working(), first=on, until=until), 24):
        counted = Counter(due.task.title for due in visit.dues)
        words = [title if count == 1 else f"{title} ({count})" for title, count in counted.items()]
        yield pages.NextVisit(visit.on, ", ".join(words) or "what the agreement sold", visit.minutes)
