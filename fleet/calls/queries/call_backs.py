"""How often our work brings a call back: the rate by kind of work and technician, and the works behind each figure."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.utils.http import urlencode

from fleet import models
from fleet.calls.facts.works import works
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.facts import house
from fleet.rules import calls as rules
from fleet.rules.calls import Rate, Work
from fleet.rules.dates import DAY

# How far back the works lie, in days.
DAYS = (90, 365, 1095)
YEAR = 365
# Which works are listed: all of them, those that brought a call back, and those of them that are apart.
CAME_BACK, PAYER_OWES = "came back", "a payer owes"
# What stands where nobody was named as the technician.
NOBODY = "not named"

_DAYS = Filter(
    "days",
    "Jobs of the last",
    # A form that says nothing shows its first choice, so the usual one comes first.
    [(YEAR, "year"), (90, "90 days"), (1095, "3 years")],
    blank="",
    usual=YEAR,
    narrows=False,
)


@dataclass(frozen=True, slots=True)
class Done:
    """One work of ours, the call that it brought back (None: none), and whether a payer owes for what that call found."""

    work: Work
    call: int | None = None
    payer_owes: bool = False

    @property
    def technician(self) -> str:
        """Who did it."""
        return self.work.technician or NOBODY


def done(days: int, *, on: dt.date) -> list[Done]:
    """Our works of the last days up to today, the newest first, each with what became of it."""
    first = on - (days - 1) * DAY
    found = sorted(set(works(None, first=first, last=on)), reverse=True)
    calls = models.Call.objects.filter(call_back="yes", work_on__range=(first, on)).order_by("came_on", "pk")
    owed = _a_payer_owes([call.pk for call in calls])
    by_key = {work.key: work for work in found}
    of: dict[Work, list[models.Call]] = {}
    for call in calls:
        # A work that was undone since is no work any more, and what was said of it counts for nothing.
        if (work := by_key.get(call.work_key)) is not None:
            of.setdefault(work, []).append(call)
    return [
        Done(work, of[work][0].pk, all(call.pk in owed for call in of[work])) if work in of else Done(work)
        for work in found
    ]


def _a_payer_owes(calls: Sequence[int]) -> set[int]:
    """The calls of which a write-up found a failure that a payer owes for, as it was answered when it was recorded or corrected."""
    steps = models.CallStep.objects.filter(call__in=calls, undone_on=None, write_up__isnull=False)
    by_write_up: dict[int, set[int]] = {}
    for call, write_up in steps.values_list("call", "write_up"):
        by_write_up.setdefault(write_up, set()).add(call)
    latest: dict[int, tuple[int, dict[str, Any]]] = {}
    # An answer of before is none once it is not known after all which component failed.
    answers = models.FailureAnswer.objects.filter(failure__write_up__in=by_write_up, failure__voided_on=None).exclude(
        failure__component=""
    )
    for failure, write_up, content in answers.order_by("at", "pk").values_list(
        "failure", "failure__write_up", "content"
    ):
        latest[failure] = (write_up, content)
    return {
        call
        for write_up, content in latest.values()
        if rules.a_payer_owes(content["pays"].values())
        for call in by_write_up[write_up]
    }


# ------------------------------------------------------------------------------------------------------------ the rates


def rates(days: int, *, on: dt.date) -> tuple[Rate, ...]:
    """The rate of each kind of work and technician."""
    found = done(days, on=on)
    came_back = {one.work for one in found if one.call is not None}
    return rules.rates([one.work for one in found], came_back, {one.work for one in found if one.payer_owes})


@dataclass(frozen=True, slots=True)
class _Row:
    rate: Rate
    days: int

    def link(self, shown: str = "") -> Link:
        asked: dict[str, str | int] = {
            "kind": self.rate.kind,
            "technician": self.rate.technician or NOBODY,
            "days": self.days,
        }
        return Link("call_back_works", query="?" + urlencode(asked | ({"shown": shown} if shown else {})))

    @property
    def kind(self) -> str:
        return self.rate.kind

    @property
    def technician(self) -> str:
        return self.rate.technician or NOBODY

    @property
    def percent(self) -> Decimal:
        share = self.rate.share or 0
        return (Decimal(share.numerator) * 100 / share.denominator).quantize(Decimal("0.1"), ROUND_HALF_UP)


def _rows(filters: Any, on: dt.date) -> list[_Row]:
    return [_Row(rate, filters.days) for rate in rates(filters.days, on=on)]


def _counted(number: int, row: _Row, shown: str = "") -> Cell:
    return Cell(number, row.link(shown) if number else None)


def _lead(listing: Listing) -> dict[str, Any]:
    rows: list[_Row] = listing.selected
    return {
        "works": sum(row.rate.works for row in rows),
        "came_back": sum(row.rate.came_back for row in rows),
        "payer_owes": sum(row.rate.payer_owes for row in rows),
        "days": house.house().call_back_days,
    }


CALL_BACKS = List(
    file="call-backs",
    caption="How often our work brings a call back, by kind of work and technician",
    rows=_rows,
    lead=_lead,
    usual="-percent",
    columns=(
        Column("kind", "Kind of work", "word", order=("kind",)),
        Column("technician", "Technician", order=("technician",)),
        Column("works", "Jobs", "number", lambda row: _counted(row.rate.works, row), order=("rate.works",)),
        Column(
            "came_back",
            "Came back",
            "number",
            lambda row: _counted(row.rate.came_back, row, CAME_BACK),
            order=("rate.came_back",),
        ),
        Column(
            "percent", "Rate, %", "number", lambda row: Cell(row.percent, said=str(row.percent)), order=("percent",)
        ),
        Column(
            "payer_owes",
            "Came back, but a payer owes",
            "number",
            lambda row: _counted(row.rate.payer_owes, row, PAYER_OWES),
            order=("rate.payer_owes",),
        ),
    ),
    filters=(_DAYS,),
)


# ------------------------------------------------------------------------------------------------- the works behind them


def _works(filters: Any, on: dt.date) -> list[Done]:
    return [
        one
        for one in done(filters.days, on=on)
        if filters.kind in ("", one.work.kind)
        and filters.technician in ("", one.technician)
        and (not filters.shown or (one.call is not None and one.payer_owes == (filters.shown == PAYER_OWES)))
    ]


@dataclass(frozen=True, slots=True)
class _Work:
    """A work with the unit it was done on."""

    done: Done
    unit: models.Unit | None

    @property
    def site(self) -> models.Site | None:
        return self.unit.system.site if self.unit else None


def _complete(rows: list[Done], on: dt.date) -> Iterable[_Work]:
    """The unit of each work, by what its key names."""
    keys: dict[str, list[int]] = {}
    for row in rows:
        what, _, pk = row.work.key.partition(" ")
        keys.setdefault(what, []).append(int(pk))
    of = dict(models.MaintenanceRecord.objects.filter(pk__in=keys.get("record", ())).values_list("pk", "unit"))
    failed = dict(models.Failure.objects.filter(pk__in=keys.get("failure", ())).values_list("pk", "unit"))
    unit_of = {f"record {pk}": unit for pk, unit in of.items()} | {f"failure {pk}": unit for pk, unit in failed.items()}
    unit_of |= {f"unit {pk}": pk for pk in keys.get("unit", ())}
    units = models.Unit.objects.select_related("system__site__customer").in_bulk(set(unit_of.values()))
    return [_Work(row, units.get(unit_of.get(row.work.key, 0))) for row in rows]


def _unit(row: _Work) -> Cell:
    if row.unit is None:
        return Cell("")
    room = row.unit.room if row.unit.serial else ""
    return Cell(row.unit.serial or row.unit.room, Link("unit", row.unit.pk), room, "" if row.unit.serial else "text")


def _call(row: _Work) -> Cell:
    if row.done.call is None:
        return Cell("no")
    return Cell("yes, a payer owes" if row.done.payer_owes else "yes", Link("call", row.done.call))


WORKS = List(
    file="call-back-works",
    caption="Our jobs, the newest first, with the calls that they brought back",
    rows=_works,
    complete=_complete,
    usual="",
    columns=(
        Column("day", "Done on", "day", value="done.work.on"),
        Column("kind", "Kind of work", value="done.work.kind"),
        Column("technician", "Technician", value="done.technician"),
        Column("unit", "Unit", "serial", value=_unit),
        Column(
            "customer",
            "Customer",
            value=lambda row: Cell(row.site.customer.name, Link("customer", row.site.customer_id)) if row.site else "",
        ),
        Column(
            "site",
            "Site",
            value=lambda row: Cell(row.site.name, Link("site", row.site.pk), row.site.street) if row.site else "",
        ),
        Column("call", "Came back", value=_call),
    ),
    filters=(
        _DAYS,
        Filter(
            "shown",
            "Show",
            [(CAME_BACK, "those that came back"), (PAYER_OWES, "those where a payer owes")],
            blank="all jobs",
        ),
        Filter("kind", "Kind of work"),
        Filter("technician", "Technician"),
    ),
)
