"""What a site, a system or a unit is due, as pages and papers show it."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.care.facts.bookings import booked_on
from fleet.care.pages import due as pages
from fleet.elements.named import address, what
from fleet.elements.pieces import counted
from fleet.facts.care import care_sheet, due_of
from fleet.rules import care, windows
from fleet.rules.caresheet import CareSheet, Task, title_of
from fleet.rules.company import Company
from fleet.rules.dates import DAY, add_months, in_words
from fleet.rules.wording import care as wording
from fleet.rules.wording import cautions

FIRST = 6
# A card hangs on the wall for a year.
MONTHS_ON_A_CARD = 12

Named = Mapping[int, models.Unit]
# The day for which each task is booked, by the unit that it stands under and its code.
Booked = Mapping[tuple[int, str], dt.date]


def site(pk: int, *, on: dt.date) -> pages.SiteCare | None:
    """All that a site is due; None if there is no such site."""
    row = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if row is None:
        return None
    sheet = care_sheet()
    named = {unit.pk: unit for unit in models.Unit.objects.in_service().filter(system__site=row)}
    dues, booked = _dues(models.DueRow.objects.filter(site=pk), sheet, on=on)
    missing = _missing(named, dues)
    systems = tuple(
        _system(system, dues, named, missing, booked, on=on)
        for system in row.systems.order_by("name", "pk")
        if _has_units(system, named)
    )
    return pages.SiteCare(
        pk=row.pk,
        name=row.name,
        customer_pk=row.customer_id,
        customer=row.customer.name,
        phone=row.customer.phone,
        address=address(row),
        on=on,
        sentences=sentences([line for system in systems for line in system.lines], on=on),
        systems=systems,
        without_sheet=sheet is None,
    )


def short_of_site(pk: int, sheet: CareSheet | None, *, on: dt.date) -> pages.Short:
    """The sentences about its care on a site's own page, under the care sheet in force."""
    dues, booked = _dues(models.DueRow.objects.filter(site=pk), sheet, on=on)
    lines = [_line(due, {}, booked, on=on) for due in dues]
    return pages.Short(sentences(lines, on=on), (), without_sheet=sheet is None)


def of_unit(pk: int, sheet: CareSheet | None, *, on: dt.date) -> pages.Short:
    """What one unit is due under the care sheet in force: by itself, or as part of a drain line or of its system."""
    if sheet is None:
        return pages.Short((), (), without_sheet=True)
    # Of the system that a unit in service belongs to.
    system = models.Unit.objects.in_service().filter(pk=pk).values("system")
    rows = _in_order(models.DueRow.objects.filter(system__in=system), on=on)
    dues = [due for due in (due_of(row, sheet) for row in rows) if str(pk) in due.units]
    # Most units that have to be named have a due under them; what is for the whole system names none.
    named = {row.unit_id: row.unit for row in rows}
    wanted = {int(key) for due in dues if due.task.per != "system" for key in due.units}
    named |= models.Unit.objects.in_bulk(wanted - named.keys())
    booked = _booked(rows)
    all_lines = (_line(due, named, booked, on=on) for due in dues)
    lines = tuple(sorted(all_lines, key=lambda line: (line.by == "owner", line.due_on)))
    return pages.Short(sentences(lines, on=on), lines)


def job(pk: int, task: str, *, on: dt.date) -> pages.Job | None:
    """One task to be recorded on a unit; None where there is no such unit or task."""
    sheet = care_sheet()
    known = None if sheet is None else sheet.task(task)
    row = models.Unit.objects.select_related("system__site__customer").filter(pk=pk).first()
    if known is None or row is None:
        return None
    place = row.system.site
    return pages.Job(
        unit=row.pk,
        site=place.pk,
        name=_named(row),
        where=f"{place.customer.name}, {place.name}, {row.system.name}",
        task=known.code,
        title=known.title,
        by=known.by,
        grades=row.role == "head",
        cautions=cautions.of_task(known),
    )


def recorded(pk: int, *, by: models.User) -> pages.Recorded | None:
    """A record that this person made, so that it can be taken back; None if it is not theirs or gone."""
    row = models.MaintenanceRecord.objects.select_related("unit").filter(pk=pk, write_up=None).first()
    changes = models.Change.objects.filter(table="maintenancerecord", object_id=pk, field="done_on", before="", by=by)
    if row is None or not changes.exists():
        return None
    sheet = care_sheet()
    title = title_of(row.task, sheet)
    return pages.Recorded(
        pk, f"{title}, {_named(row.unit)}, {'skipped' if row.skipped else 'done'} {in_words(row.done_on)}"
    )


def next_due(unit: int, task: str) -> dt.date | None:
    """The day on which a task is due next for a unit, by itself or as part of something."""
    system = models.Unit.objects.values_list("system_id", flat=True).get(pk=unit)
    rows = list(
        models.DueRow.objects.filter(system=system, task=task).order_by("due_on").values_list("due_on", "units")
    )
    own = [day for day, units in rows if unit in units]
    return min(own or [day for day, _ in rows], default=None)


def sentences(lines: Sequence[pages.Line], *, on: dt.date) -> tuple[str, ...]:
    """How much is late, what may be done now, and what comes next, in sentences."""
    ours = [line for line in lines if line.by == "technician"]
    late = [line for line in ours if line.state == "late"]
    now = [line for line in ours if line.state == "due"]
    ahead = [line for line in ours if line.state == "ahead"]
    said = []
    if late:
        said.append(f"{counted(len(late), 'maintenance task')} {'is' if len(late) == 1 else 'are'} overdue.")
    if now:
        said.append(f"{counted(len(now), 'more task' if late else 'maintenance task')} can be done now.")
    booked = [line for line in ours if line.state == "booked"]
    if booked:
        said.append(f"{counted(len(booked), 'task')} {'is' if len(booked) == 1 else 'are'} booked.")
    if ahead and not late and not now and not booked:
        first = min(ahead, key=lambda line: line.opens_on)
        said.append(f"Next: {_lower(first.title)}, from {in_words(first.opens_on)}.")
    unknown = [line for line in lines if line.state == "no record"]
    if unknown:
        said.append(f"There is no record of {counted(len(unknown), 'task')} that the customer does.")
    return tuple(said)


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]


# ------------------------------------------------------------------------------------------------- rows as lines


def _dues(dues: QuerySet[models.DueRow], sheet: CareSheet | None, *, on: dt.date) -> tuple[list[care.Due], Booked]:
    """The dues that are kept, the first day first, and the days for which some are booked; none without a care sheet."""
    if sheet is None:
        return [], {}
    rows = _in_order(dues, on=on)
    return [due_of(row, sheet) for row in rows], _booked(rows)


def _in_order(dues: QuerySet[models.DueRow], *, on: dt.date) -> list[Any]:
    return list(dues.select_related("unit").annotate(booked_on=booked_on(on=on)).order_by("due_on", "pk"))


def _booked(rows: Iterable[Any]) -> Booked:
    return {(row.unit_id, row.task): row.booked_on for row in rows if row.booked_on}


def _has_units(system: models.System, named: Named) -> bool:
    return any(unit.system_id == system.pk for unit in named.values())


def _missing(named: Named, dues: Iterable[care.Due]) -> frozenset[int]:
    """Find the units some of whose dues nobody can know: a start or a style is not on file."""
    known = {int(key) for due in dues for key in due.units}
    facts = models.FactRow.objects.filter(unit__in=named, fact__in=("style", "started_on", "installed_on"))
    pairs = facts.values_list("unit_id", "fact")
    return frozenset(unit for unit, fact in pairs if fact == "style" or unit not in known)


def _system(
    system: models.System,
    dues: Sequence[care.Due],
    named: Named,
    missing: frozenset[int],
    booked: Booked,
    *,
    on: dt.date,
) -> pages.SystemCare:
    lines = [_line(due, named, booked, on=on) for due in dues if due.system == str(system.pk)]
    return pages.SystemCare(
        pk=system.pk,
        name=system.name,
        ours=tuple(line for line in lines if line.by == "technician"),
        owners=tuple(line for line in lines if line.by == "owner"),
        missing=tuple(_named(named[pk]) for pk in sorted(missing) if named[pk].system_id == system.pk),
    )


def _line(due: care.Due, named: Named, booked: Booked, *, on: dt.date) -> pages.Line:
    task = due.task
    state = due.state(on)
    day = booked.get((int(due.unit), task.code))
    return pages.Line(
        unit=int(due.unit),
        task=task.code,
        title=task.title,
        by=task.by,
        of=_thing(task, due, named),
        serial=due.serial,
        due_on=due.due_on,
        opens_on=due.opens_on,
        last_done=due.last_done,
        state=state.value if day is None else "booked",
        stands=wording.stands(state, due.window, due.not_before) if day is None else wording.booked(day),
        why=wording.why(due),
        minutes=due.minutes,
        cautions=cautions.of_task(task),
    )


def _thing(task: Task, due: care.Due, named: Named) -> str:
    """What a due is for: a room, the rooms on one drain line, or the whole system."""
    if task.per == "system":
        return "the whole system"
    units = [named[int(key)] for key in due.units if int(key) in named]
    rooms = ", ".join(_named(unit) for unit in units)
    return f"line of {rooms}" if task.per == "drain line" and len(units) > 1 else rooms


def _named(unit: models.Unit) -> str:
    return unit.room or f"{what(unit)} {unit.serial}".strip()


# ------------------------------------------------------------------------------------------------- the wall card


def wall_card(pk: int, *, company: Company, on: dt.date) -> pages.WallCard | None:
    """The card that a customer hangs beside a system; None where there is no such system."""
    system = models.System.objects.select_related("site__customer").filter(pk=pk).first()
    if system is None:
        return None
    sheet = care_sheet()
    dues, booked = _dues(models.DueRow.objects.filter(system=system), sheet, on=on)
    named = {unit.pk: unit for unit in system.units.in_service()}
    tasks = () if sheet is None else sheet.tasks
    by_task = {task.code: [due for due in dues if due.task.code == task.code] for task in tasks}
    first = on.replace(day=1)
    return pages.WallCard(
        pk=system.pk,
        title=f"{system.site.name}, {system.name}",
        customer=system.site.customer.name,
        sender=company,
        written_on=in_words(on),
        washes=tuple(
            _wash(task, by_task[task.code], named, on=on) for task in tasks if task.by == "owner" and by_task[task.code]
        ),
        ours=tuple(
            (task.title, _ours(by_task[task.code], booked, on=on))
            for task in tasks
            if task.by == "technician" and by_task[task.code]
        ),
        months=tuple(f"{add_months(first, number):%B %Y}" for number in range(MONTHS_ON_A_CARD)),
    )


def _wash(task: Task, dues: Sequence[care.Due], named: Named, *, on: dt.date) -> pages.Wash:
    whats = tuple((_thing(task, due, named), _how_often(due), in_words(max(due.due_on, on))) for due in dues)
    return pages.Wash(task.title, wording.every(task), whats, task.cautions)


def _how_often(due: care.Due) -> str:
    """How often one thing is washed, in words; counted in days where the surroundings are hard."""
    if due.times is None or due.anchor is None:
        return wording.every(due.task)
    days = (windows.counted(due.task, due.anchor, due.times).due_on - due.anchor) // DAY
    return f"about every {days} days"


def _ours(dues: Sequence[care.Due], booked: Booked, *, on: dt.date) -> str:
    first = min(dues, key=lambda due: due.due_on)
    day = booked.get((int(first.unit), first.task.code))
    when = wording.following(first.due_on, on=on, about=True) if day is None else wording.booked(day)
    return f"{wording.every(first.task)}, {when}"
