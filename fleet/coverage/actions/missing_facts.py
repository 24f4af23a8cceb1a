"""A missing fact filled in: it is recorded, coverage is worked out again, and what changed is returned; and undoing that."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction

from fleet import models
from fleet.coverage.actions import set_aside
from fleet.derived import refresh
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct
from fleet.rules import missing_facts, words
from fleet.rules.dates import in_words
from fleet.sheets import columns
from fleet.sheets.columns import ParseError

# What may be undone: the table and the field of the change that a filling-in makes.
_TABLES = ("unit", "site", "attachment", "maintenancerecord")


@dataclass(frozen=True, slots=True)
class Filled:
    """What filling in did, and the change by which it can be undone (None: it was on file already)."""

    opened: missing_facts.Opened
    change: int | None


def fill(
    *, fact: str, unit: int, site: int | None, text: str, who: str = "", by: models.User | None, on: dt.date
) -> Filled:
    """Record a fact of a unit, or of a site for every unit that it is missing for."""
    if fact not in missing_facts.FACTS or (fact in missing_facts.SITE_FACTS) != (site is not None):
        raise KeyError(f"not a fact that can be filled in: {fact}")
    if not text.strip():
        raise Refused({fact: "Enter a value."})
    with transaction.atomic():
        rows = models.FactRow.objects.filter(fact=fact)
        rows = rows.filter(unit=unit) if site is None else rows.filter(site=site)
        units = [unit, *rows.values_list("unit_id", flat=True)]
        last = models.Change.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        before = kept_rows(units)
        _record(fact, unit, site, text.strip(), who.strip(), by=by, on=on)
        made = models.Change.objects.filter(pk__gt=last, by=by, table__in=_TABLES, before="").order_by("pk")
        change = made.values_list("pk", flat=True).first()
        return Filled(missing_facts.opened(before, kept_rows(units), on=on), change)


def undo(*, change: int, by: models.User, on: dt.date) -> None:
    """Leave blank again what this person filled in."""
    with transaction.atomic():
        filled = models.Change.objects.filter(before="", table__in=_TABLES).exclude(field=set_aside.FIELD)
        row_change = filled.select_for_update(of=("self",)).get(pk=change)
        if row_change.by_id != by.pk:
            raise Refused({row_change.field: "Only the person who filled it in can undo it here."})
        edits = {row_change.field: Edit(row_change.after, "")}
        if row_change.field == "matched_after":
            unit = models.Unit.objects.select_for_update().get(pk=row_change.object_id)
            correct.still_matched(unit, Edit(row_change.after, ""), by=by, why="undone")
            refresh.refresh([unit.pk], on=on)
        elif row_change.table == "site":
            correct.site(row_change.object_id, edits, by=by, on=on, why="undone")
        elif row_change.table == "unit":
            correct.unit(row_change.object_id, edits, by=by, on=on, why="undone")
        elif row_change.table == "attachment":
            row = models.Attachment.objects.get(pk=row_change.object_id)
            _set_attached(row, None, by=by, on=on, why="undone")
        else:
            _drop_record(row_change, by=by, on=on)


def kept_rows(units: Iterable[int]) -> dict[tuple[int, int, str, str], missing_facts.Said]:
    """What is kept of the coverage of units, to be held against what is kept after a change."""
    rows = models.CoverageRow.objects.filter(unit__in=set(units)).values_list(
        "unit_id", "terms_id", "kind", "components", "result", "last_on", "lifetime"
    )
    return {
        (unit, terms, kind, components): (result == "covered", last, lifetime)
        for unit, terms, kind, components, result, last, lifetime in rows
    }


def _record(
    fact: str, unit: int, site: int | None, text: str, who: str, *, by: models.User | None, on: dt.date
) -> None:
    if site is not None:
        correct.site(site, {fact: Edit("", text)}, by=by, on=on)
    elif fact == "maintenance":
        _maintained(unit, text, who, by=by, on=on)
    elif fact == "attached_on":
        _attached(unit, text, by=by, on=on)
    elif fact == "serial" and not words.key(text):
        raise Refused({fact: "Enter a serial, with letters or digits in it."})
    else:
        correct.unit(unit, {fact: Edit("", text)}, by=by, on=on)


def _maintained(unit: int, text: str, who: str, *, by: models.User | None, on: dt.date) -> None:
    """Record maintenance that was done and is proven; what counts is a technician's record in the year that lacks one."""
    day = _day(text, "maintenance", on=on)
    if not who or len(who) > 120:
        raise Refused({"who": "Enter who maintained it, in at most 120 characters."})
    row = models.FactRow.objects.filter(unit=unit, fact="maintenance").first()
    if row is None or row.first_on is None or row.last_on is None:
        raise Refused({"maintenance": "Proof of maintenance is no longer missing here."})
    if not row.first_on <= day <= row.last_on:
        period = f"from {in_words(row.first_on)} to {in_words(row.last_on)}"
        raise Refused({"maintenance": f"Enter a day {period}."})
    record = models.MaintenanceRecord(unit_id=unit, done_on=day, technician=who, task="maintenance")
    record.full_clean(exclude=["load", "write_up", "dirt_wheel", "dirt_coil", "not_before", "labor_minutes"])
    record.save()
    log = Log(by=by)
    log.note(None, record, "done_on", None, day, why="proof found")
    log.write()
    refresh.refresh([unit], on=on)


def _drop_record(change: models.Change, *, by: models.User, on: dt.date) -> None:
    record = models.MaintenanceRecord.objects.filter(pk=change.object_id, done_on=change.after).first()
    if record is None:
        raise Conflict("Somebody changed this meanwhile.", "maintenance")
    log = Log(by=by)
    log.note(None, record, "done_on", record.done_on, None, why="undone")
    log.write()
    unit = record.unit_id
    record.delete()
    refresh.refresh([unit], on=on)


def _attached(unit: int, text: str, *, by: models.User | None, on: dt.date) -> None:
    """Write the day on the one promise of the unit, or of those it took over from, that lacks it."""
    day = _day(text, "attached_on", on=on)
    line: list[int] = []
    at: int | None = unit
    while at is not None:
        line.append(at)
        at = models.Unit.objects.values_list("took_over_from_id", flat=True).get(pk=at)
    rows = list(models.Attachment.objects.select_for_update().filter(unit__in=line, attached_on=None))
    if len(rows) != 1:
        raise Refused(
            {
                "attached_on": "Several warranties bought for this unit lack their day. Correct each on the unit's page."
                if rows
                else "Somebody filled this in meanwhile."
            }
        )
    _set_attached(rows[0], day, by=by, on=on)


def _set_attached(
    row: models.Attachment, day: dt.date | None, *, by: models.User | None, on: dt.date, why: str = ""
) -> None:
    log = Log(by=by)
    log.set(row, {"attached_on": day}, why=why)
    log.write()
    row.save()
    refresh.refresh([row.unit_id], on=on)


def _day(text: str, fact: str, *, on: dt.date) -> dt.date:
    try:
        return dt.date.fromisoformat(columns.day(last=on).plain(text))
    except ParseError as wrong:
        raise Refused({fact: f"wanted: {wrong}"}) from wrong
