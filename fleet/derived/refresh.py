"""Rewriting what is kept of coverage and dues, for units whose facts changed and for rows whose day has come."""

import datetime as dt
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import islice
from typing import Any

from django.db import connection, transaction
from django.db.models import Q

from fleet import models
from fleet.derived import refresh_claims
from fleet.derived import rows as kept
from fleet.derived.claim_rows import ClockValues
from fleet.derived.failure_money import MoneyValues, PartValues
from fleet.facts import TermsBook, Told, care, fleet_facts, terms_on_file
from fleet.rules.caresheet import CareSheet

CHUNK = 500

# Rows that are worked out from facts: written anew, never told, moved or missed by anybody.
WORKED_OUT = (
    models.HoldingRow, models.CoverageRow, models.FactRow, models.DueRow, models.ClockRow, models.MoneyRow,
    models.MoneyPart,
    models.Offer,
)  # fmt: skip
# Those that passing time alone may change, with the next day on which it does.
_WITH_A_DAY = (models.HoldingRow, models.ClockRow, models.MoneyRow, models.Claim)


def refresh(unit_ids: Iterable[int], *, on: dt.date) -> None:
    """Work the kept rows of units out again, of every unit that took over from one of them, and of their systems.

    What is done on one unit of a system may count for the others, so a system is worked out as a whole: each once.
    """
    models.KeptDay.objects.filter(on__lt=on, ahead_to=None).update(on=on)
    ids = iter(unit_ids)
    done: set[int] = set()
    book, sheet = None, None
    while chunk := list(islice(ids, CHUNK)):
        book, sheet = (terms_on_file(), care.care_sheet()) if book is None else (book, sheet)
        with transaction.atomic():
            units = _with_heirs(chunk)
            stays = models.Place.objects.filter(unit__in=units).values_list("unit_id", "system_id")
            placed, systems = {unit for unit, _ in stays}, {system for _, system in stays} - done
            done |= systems
            _rewrite(systems, set(units) - placed, book, sheet, on=on)


def refresh_all(*, on: dt.date) -> None:
    """Work every kept row out again, as when new terms came in."""
    models.KeptDay.objects.get_or_create(pk=1, defaults={"on": on})
    refresh(models.Unit.objects.order_by("pk").values_list("pk", flat=True).iterator(chunk_size=CHUNK), on=on)


def catch_up(*, on: dt.date) -> int:
    """Work out again the rows whose day has come; return the number of units rewritten.

    Where a clock was ahead once, all of them: rows of days to come say nothing of today, and facts of days to come are no
    facts yet, so each day until then may change what no row has a day for.
    """
    kept_day = models.KeptDay.objects.filter(Q(on__gt=on) | Q(on__lt=on, ahead_to__isnull=False)).first()
    if kept_day is not None:
        ahead_to = max(kept_day.on, kept_day.ahead_to or kept_day.on)
        with transaction.atomic():
            refresh_all(on=on)
            models.KeptDay.objects.update(on=on, ahead_to=ahead_to if ahead_to > on else None)
        return models.Unit.objects.count()
    due = models.HoldingRow.objects.filter(next_on__lte=on).values_list("unit_id", flat=True)
    ids = sorted(set(due) | refresh_claims.due(on=on))
    refresh(ids, on=on)
    return len(ids)


def is_due(*, on: dt.date) -> bool:
    """Whether the day of some kept row has come, or another day than the last: one question, each part of which its index answers."""
    due = [table.objects.filter(next_on__lte=on).order_by().values("next_on") for table in _WITH_A_DAY]
    another_day = models.KeptDay.objects.exclude(on=on).order_by().values("on")
    return due[0].union(*due[1:], another_day, all=True).exists()


def refresh_claimed(*, on: dt.date, supplier: models.Supplier | None = None) -> None:
    """Work out again what hangs on a supplier's own rules or, where none is named, on our own rate."""
    refresh(refresh_claims.hanging_on(supplier), on=on)


def refresh_failed(unit: int, *, on: dt.date) -> Told:
    """Work out again what is kept of one unit whose failures changed; its facts, for whoever answers from them.

    What is due, its neighbors and its heir know nothing of failures.
    """
    book, sheet = terms_on_file(), care.care_sheet()
    with transaction.atomic():
        stood_in = models.Place.objects.filter(unit=unit).values_list("system_id", flat=True)
        return _rewrite_units([unit], kept.cared(set(stood_in), sheet, on=on), book, sheet, on=on)[unit]


def refresh_claims_of(unit: int, *, on: dt.date, facts: tuple[Told, TermsBook] | None = None) -> None:
    """Work out again what is kept of a unit's failures and the claims on them, of which coverage and dues know nothing.

    `facts` are the unit's with the terms on file, where they were gathered already.
    """
    if facts is None:
        book = terms_on_file()
        told = fleet_facts(models.Unit.objects.filter(pk=unit), book)
    else:
        told, book = {unit: facts[0]}, facts[1]
    _rewrite_claims(told, book, on=on)


def _rewrite_claims(told: Mapping[int, Told], book: TermsBook, *, on: dt.date) -> None:
    rewritten = refresh_claims.rewrite(told, book, on=on)
    _insert(models.ClockRow, rewritten.clocks)
    _insert(models.MoneyRow, rewritten.money)
    _insert(models.MoneyPart, rewritten.parts)


def _with_heirs(ids: list[int]) -> list[int]:
    found = list(dict.fromkeys(ids))
    heirs = found
    while heirs:
        heirs = list(models.Unit.objects.filter(took_over_from__in=heirs).values_list("pk", flat=True))
        found.extend(heirs)
    return found


def _rewrite(systems: set[int], placeless: set[int], book: TermsBook, sheet: CareSheet | None, *, on: dt.date) -> None:
    """Rewrite all units that ever stood in the systems and those that took over, with every system where one of them stood;
    and units that stand nowhere. What is missing of a unit that moved on is said by the system where it stands now.
    """
    there = models.Place.objects.filter(system__in=systems).order_by("unit_id").values_list("unit_id", flat=True)
    ids = _with_heirs([*there, *placeless])
    stood_in = set(models.Place.objects.filter(unit__in=ids).values_list("system_id", flat=True))
    cared = kept.cared(stood_in, sheet, on=on)
    _rewrite_units(ids, cared, book, sheet, on=on)
    # A unit whose move was undone leaves nothing due where it had been moved to.
    models.DueRow.objects.filter(Q(system__in=stood_in) | Q(unit__in=ids)).delete()
    _insert(models.DueRow, cared.dues)


def _rewrite_units(
    ids: Collection[int], cared: kept.Cared, book: TermsBook, sheet: CareSheet | None, *, on: dt.date
) -> Mapping[int, Told]:
    told = fleet_facts(models.Unit.objects.filter(pk__in=ids), book, cared.systems, sheet)
    aside = kept.set_aside(told.values())
    rows = [
        row
        for unit in told.values()
        for row in kept.rows(unit, book, on=on, without_start=cared.without_start, aside=aside)
    ]
    models.HoldingRow.objects.filter(unit__in=ids).delete()
    models.CoverageRow.objects.filter(unit__in=ids).delete()
    models.FactRow.objects.filter(unit__in=ids).delete()
    _insert(models.HoldingRow, [row for row in rows if isinstance(row, kept.HoldingValues)])
    _insert(models.CoverageRow, [row for row in rows if isinstance(row, kept.CoverageValues)])
    _insert(models.FactRow, [row for row in rows if isinstance(row, kept.FactValues)])
    _rewrite_claims(told, book, on=on)
    return told


def _insert(
    model: type[
        models.HoldingRow
        | models.CoverageRow
        | models.FactRow
        | models.DueRow
        | models.ClockRow
        | models.MoneyRow
        | models.MoneyPart
    ],
    rows: Sequence[kept.KeptValues | ClockValues | MoneyValues | PartValues],
) -> None:
    """Write rows straight through the driver: these are worked out, not told, and a fleet has a million of them.

    Building a model object for each and checking it column by column would cost more than the rules do.
    """
    if not rows:
        return
    names = rows[0]._fields
    quote = connection.ops.quote_name
    columns = ", ".join(quote(name) for name in names)
    marks = ", ".join(["%s"] * len(names))
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({marks})",
            [tuple(_plain(value) for value in row) for row in rows],
        )


def _plain(value: Any) -> Any:
    if isinstance(value, dt.date):
        return value.isoformat()
    return json.dumps(value) if isinstance(value, list) else value
