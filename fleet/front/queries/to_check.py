"""What somebody on site said and the office has to look at: what could not be recorded as written, and what was reported of units."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, IntegerField, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from fleet import models
from fleet.registry.pages.reports import WORDS

_SHOWN = 10
_UNIT = ("room", "maker", "model", "serial")


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing that waits: its key, that of the page where it stands, whose it is, and in words what it is about."""

    pk: int
    page: int
    customer: str
    on: dt.date
    why: str
    said: str


@dataclass(frozen=True, slots=True)
class Short:
    """The first of one kind that nobody has settled, and how many there are."""

    rows: tuple[Waiting, ...]
    count: int


def short() -> tuple[Short, Short]:
    """What of write-ups is to be checked and what was reported of units, the oldest of both first, by one query."""
    checks, reports = models.WriteUpCheck.objects.open(), models.UnitReport.objects.open()
    counts = {"n_checks": _count(checks), "n_reports": _count(reports)}
    of_checks = checks.order_by().annotate(
        what=Value("check"), page=F("write_up_id"), customer=F("write_up__site__customer__name"), day=F("write_up__on"),
        about=F("why"), **dict.fromkeys(_UNIT, Value("")), **counts,
    )  # fmt: skip
    of_reports = reports.order_by().annotate(
        what=Value("report"), page=F("pk"), customer=F("unit__system__site__customer__name"), day=F("on"),
        about=Value(""), **{name: F(f"unit__{name}") for name in _UNIT}, **counts,
    )  # fmt: skip
    columns = ("what", "pk", "page", "customer", "day", "about", "said", "kind", *_UNIT, *counts)
    both = of_checks.values(*columns).union(of_reports.values(*columns), all=True)
    rows: list[Any] = list(both.order_by("day", "pk")[:_SHOWN])
    numbers = {"check": rows[0]["n_checks"], "report": rows[0]["n_reports"]} if rows else {"check": 0, "report": 0}
    checked, reported = (
        Short(tuple(_waiting(row) for row in rows if row["what"] == what), numbers[what]) for what in numbers
    )
    return checked, reported


def _count(rows: QuerySet[Any]) -> Coalesce:
    all_of_them = rows.order_by().annotate(one=Value(1)).values("one").annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(all_of_them, output_field=IntegerField()), 0)


def _waiting(row: dict[str, Any]) -> Waiting:
    unit = " ".join(filter(None, (row["room"] and f"{row['room']}:", row["maker"], row["model"], row["serial"])))
    why = row["about"] or f"{unit}. {WORDS[row['kind']]}."
    return Waiting(row["pk"], row["page"], row["customer"], row["day"], why, row["said"])
