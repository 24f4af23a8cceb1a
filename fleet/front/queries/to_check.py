"""What the office has to look at: what could not be recorded as written, what was reported of units, and credits to decide."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, DateField, F, Value

from fleet import models
from fleet.elements.listing import number_of
from fleet.registry.pages.reports import WORDS

_SHOWN = 10
_NO_UNIT = dict.fromkeys(("room", "maker", "model", "serial"), Value(""))


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


def short() -> tuple[Short, Short, int]:
    """What of write-ups is to be checked and what was reported of units, the oldest of both first; and how many credits wait.

    One query for all three, since the desk asks many.
    """
    checks, reports = models.WriteUpCheck.objects.open(), models.UnitReport.objects.open()
    counts = {"checks": number_of(checks), "reports": number_of(reports)}
    of_checks = checks.order_by().values(
        what=Value("check"), key=F("pk"), page=F("write_up_id"), customer=F("write_up__site__customer__name"),
        day=F("write_up__on"), about=F("why"), words=F("said"), sort=Value(""), **_NO_UNIT, **counts, credits=Value(0),
    )  # fmt: skip
    of_reports = reports.order_by().values(
        what=Value("report"), key=F("pk"), page=F("pk"), customer=F("unit__system__site__customer__name"), day=F("on"),
        about=Value(""), words=F("said"), sort=F("kind"), **{name: F(f"unit__{name}") for name in _NO_UNIT}, **counts,
        credits=Value(0),
    )  # fmt: skip
    of_credits = models.StatementLine.objects.filter(state="open").order_by().values(
        what=Value("credits"), key=Value(0), page=Value(0), customer=Value(""), day=Value(dt.date.min, DateField()),
        about=Value(""), words=Value(""), sort=Value(""), **_NO_UNIT, checks=Value(0), reports=Value(0),
    ).annotate(credits=Count("pk"))  # fmt: skip
    # The one row of the credits, which has no day, comes first.
    rows: list[Any] = list(of_checks.union(of_reports, of_credits, all=True).order_by("day", "key")[: _SHOWN + 1])
    shown = {what: [row for row in rows if row["what"] == what] for what in ("check", "report")}
    numbers = {name: max((row[name] for row in rows), default=0) for name in ("checks", "reports", "credits")}
    return (
        Short(tuple(map(_waiting, shown["check"])), numbers["checks"]),
        Short(tuple(map(_waiting, shown["report"])), numbers["reports"]),
        numbers["credits"],
    )


def _waiting(row: dict[str, Any]) -> Waiting:
    unit = " ".join(filter(None, (row["room"] and f"{row['room']}:", row["maker"], row["model"], row["serial"])))
    why = row["about"] or f"{unit}. {WORDS[row['sort']]}."
    return Waiting(row["key"], row["page"], row["customer"], row["day"], why, row["words"])
