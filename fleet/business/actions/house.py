"""What the company settles for itself: its rates and days, the days it is closed, and the hours its technicians have."""

import datetime as dt
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.facts.care import care_sheet
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.registry.actions import correct
from fleet.rules import windows

FIELDS = (
    "hourly_rate", "weekdays", "hours_a_day", "drive_price", "renewal_percent", "record_complete_from", "call_back_days",
    "renewal_notice_days", "promise_reserve",
)  # fmt: skip


def settle(*, was: Mapping[str, Any], facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Settle what changed; what somebody else changed since it was seen (`was`) is said, not lost. False: nothing changed.

    Claims that reckon with our hourly rate are worked out again, and with our weekdays what a season puts off.
    """
    unknown = set(facts) - set(FIELDS)
    if unknown:
        raise KeyError(f"not settings of the house: {sorted(unknown)}")
    with transaction.atomic():
        models.House.objects.get_or_create(pk=1)
        row = models.House.objects.select_for_update().get(pk=1)
        moved = correct.changed(row, was=was, told=facts)
        first = moved.get("record_complete_from")
        if first is not None and first > on:
            raise Refused("Enter a day no later than today.", "record_complete_from")
        if not moved:
            return False
        _set(row, moved, by=by)
        if "hourly_rate" in moved:
            refresh.refresh_claimed(on=on)
        if "weekdays" in moved and (sheet := care_sheet()) is not None and sheet.has_seasons:
            refresh.refresh_all(on=on)
    return True


def _set(row: models.House, moved: Mapping[str, Any], *, by: models.User | None) -> None:
    log = Log(by=by)
    log.set(row, moved)
    check(row)
    row.save(update_fields=list(moved))
    log.write()


def close(*, days: Mapping[dt.date, str], by: models.User | None, on: dt.date) -> int:
    """Close days, each with why (blank: nobody said); return how many were not closed before."""
    with transaction.atomic():
        known = set(models.ClosedDay.objects.filter(on__in=days).values_list("on", flat=True))
        log = Log(by=by)
        for day, why in days.items():
            if day not in known:
                row = models.ClosedDay.objects.create(on=day, why=why.strip())
                log.note(None, row, "on", None, day)
        log.write()
        _refresh_seasons(set(days) - known, on=on)
    return len(days) - len(known)


def reopen(pk: int, *, by: models.User | None, on: dt.date) -> dt.date | None:
    """Work on a closed day after all; return the day, None where somebody did so before."""
    with transaction.atomic():
        row = models.ClosedDay.objects.select_for_update().filter(pk=pk).first()
        if row is None:
            return None
        log = Log(by=by)
        log.note(None, row, "on", row.on, None)
        log.write()
        row.delete()
        _refresh_seasons([row.on], on=on)
    return row.on


def _refresh_seasons(days: Iterable[dt.date], *, on: dt.date) -> None:
    """Work dues out again where one of these days decides when months in which a task is not planned are over."""
    sheet = care_sheet()
    if sheet is not None and any(windows.ends_a_season(sheet.tasks, day, sheet.working) for day in days):
        refresh.refresh_all(on=on)


def month_hours(
    *,
    was: Mapping[dt.date, Decimal | None],
    facts: Mapping[dt.date, Decimal | None],
    by: models.User | None,
    on: dt.date,
) -> int:
    """Enter technician hours on hand for months (by their first day; None: not known); return how many months changed.

    What somebody else entered since it was seen (`was`) is said, not lost.
    """
    del on
    with transaction.atomic():
        rows = {row.month: row for row in models.MonthHours.objects.select_for_update().filter(month__in=facts)}
        now = {month: rows[month].hours if month in rows else None for month in facts}
        moved = correct.changed_entries(was=was, told=facts, now=now, named=lambda month: f"{month:%Y-%m}")
        log = Log(by=by)
        for month, hours in moved.items():
            _enter(month, hours, rows.get(month), log)
        log.write()
    return len(moved)


def _enter(month: dt.date, hours: Decimal | None, row: models.MonthHours | None, log: Log) -> None:
    if hours is None:
        assert row is not None
        log.note(None, row, "hours", row.hours, None)
        row.delete()
        return
    before = None if row is None else row.hours
    if row is None:
        row = models.MonthHours(month=month)
    row.hours = hours
    row.full_clean()
    row.save()
    log.note(None, row, "hours", before, hours)
