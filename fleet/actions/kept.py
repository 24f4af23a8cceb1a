"""Rewriting what is kept of coverage, for units whose facts changed and for rows whose day has come."""

import datetime as dt
from collections.abc import Iterable
from itertools import islice

from django.db import transaction

from fleet import gather, models
from fleet.gather import kept

CHUNK = 500


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
    holdings: list[models.HoldingRow] = []
    coverage: list[models.CoverageRow] = []
    for unit in told.values():
        for row in kept.rows(unit, book, on=on):
            if isinstance(row, models.HoldingRow):
                holdings.append(row)
            else:
                coverage.append(row)
    models.HoldingRow.objects.filter(unit__in=ids).delete()
    models.CoverageRow.objects.filter(unit__in=ids).delete()
    models.HoldingRow.objects.bulk_create(holdings, batch_size=CHUNK)
    models.CoverageRow.objects.bulk_create(coverage, batch_size=CHUNK)
