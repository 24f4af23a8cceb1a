"""Rewriting what is kept of coverage, for units whose facts changed and for rows whose day has come."""

import datetime as dt
import json
from collections.abc import Iterable, Sequence
from itertools import islice
from typing import Any

from django.db import connection, transaction

from fleet import gather, models
from fleet.gather import kept

CHUNK = 500

# Rows that are worked out from facts: written anew, never told, moved or missed by anybody.
WORKED_OUT = (models.HoldingRow, models.CoverageRow, models.FactRow, models.DueRow)


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
    due = models.HoldingRow.objects.filter(next_on__lte=on).values_list("unit_id", flat=True).distinct()
    ids = list(due)
    refresh(ids, on=on)
    return len(ids)


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


def _insert(
    model: type[models.HoldingRow | models.CoverageRow | models.FactRow], rows: Sequence[kept.KeptValues]
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
