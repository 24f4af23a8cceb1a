"""Rewriting what is kept of coverage, for units whose facts changed and for rows whose day has come."""

import datetime as dt
import json
from collections.abc import Iterable, Sequence
from itertools import islice
from typing import Any

from django.db import connection, transaction

from fleet import gather, models
from fleet.actions import kept_claims
from fleet.gather import kept
from fleet.gather.claims import ClockValues

CHUNK = 500

# Rows that are worked out from facts: written anew, never told, moved or missed by anybody.
WORKED_OUT = (models.HoldingRow, models.CoverageRow, models.FactRow, models.DueRow, models.ClockRow)
# Those that passing time alone may change, with the next day on which it does.
_WITH_A_DAY = (models.HoldingRow, models.ClockRow, models.Claim)


def refresh(unit_ids: Iterable[int], *, on: dt.date) -> None:
    """Work the kept rows of units out again, and of every unit that took over from one of them."""
    ids = iter(unit_ids)
    book = None
    while chunk := list(islice(ids, CHUNK)):
        book = book or gather.terms_on_file()
        with transaction.atomic():
            _rewrite(_with_heirs(chunk), book, on=on)


def refresh_all(*, on: dt.date) -> None:
    """Work every kept row out again, as when new terms came in."""
    refresh(models.Unit.objects.order_by("pk").values_list("pk", flat=True).iterator(chunk_size=CHUNK), on=on)


def catch_up(*, on: dt.date) -> int:
    """Work out again the rows whose day has come; give the number of units rewritten."""
    due = models.HoldingRow.objects.filter(next_on__lte=on).values_list("unit_id", flat=True)
    ids = sorted(set(due) | kept_claims.due(on=on))
    refresh(ids, on=on)
    return len(ids)


def is_due(*, on: dt.date) -> bool:
    """Whether the day of some kept row has come: one question, each part of which its index answers."""
    due = [table.objects.filter(next_on__lte=on).order_by().values("next_on") for table in _WITH_A_DAY]
    return due[0].union(*due[1:], all=True).exists()


def refresh_claimed(*, on: dt.date, supplier: models.Supplier | None = None) -> None:
    """Work out again what hangs on a supplier's own rules or, where none is named, on our own rate."""
    refresh(kept_claims.hanging_on(supplier), on=on)


def _with_heirs(ids: list[int]) -> list[int]:
    found = list(dict.fromkeys(ids))
    heirs = found
    while heirs:
        heirs = list(models.Unit.objects.filter(took_over_from__in=heirs).values_list("pk", flat=True))
        found.extend(heirs)
    return found


def _rewrite(ids: list[int], book: gather.TermsBook, *, on: dt.date) -> None:
    told = gather.fleet_facts(models.Unit.objects.filter(pk__in=ids).with_facts(), book)
    rows = [row for unit in told.values() for row in kept.rows(unit, book, on=on)]
    models.HoldingRow.objects.filter(unit__in=ids).delete()
    models.CoverageRow.objects.filter(unit__in=ids).delete()
    models.FactRow.objects.filter(unit__in=ids).delete()
    _insert(models.HoldingRow, [row for row in rows if isinstance(row, kept.HoldingValues)])
    _insert(models.CoverageRow, [row for row in rows if isinstance(row, kept.CoverageValues)])
    _insert(models.FactRow, [row for row in rows if isinstance(row, kept.FactValues)])
    _insert(models.ClockRow, kept_claims.rewrite(told, book, on=on))


def _insert(
    model: type[models.HoldingRow | models.CoverageRow | models.FactRow | models.ClockRow],
    rows: Sequence[kept.KeptValues | ClockValues],
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
