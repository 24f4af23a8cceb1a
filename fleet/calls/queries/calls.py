"""Calls: the list, those that are up to us, and one call as its page shows it."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When

from fleet import models
from fleet.calls.facts.houses import may_take_off
from fleet.calls.facts.works import works_near
from fleet.coverage.pages.answers import MayFail
from fleet.coverage.queries import possible
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing, text_in
from fleet.facts import fleet_facts, house, terms_on_file
from fleet.rules import calls as rules
from fleet.rules import which_component
from fleet.rules.calls import State, Trouble
from fleet.rules.dates import in_words
from fleet.rules.wording import calls as wording

OPEN = (State.OPEN, State.BOOKED, State.WAITING_FOR_PART)
# So many stand on the desk; the list has all.
SHORT = 8


def in_order(rows: QuerySet[models.Call]) -> QuerySet[models.Call]:
    """Calls as `rules.calls.order` has them: a test holds the two together."""
    ranks = [When(trouble=trouble, then=Value(rules.order(trouble, dt.date.min, 0)[1])) for trouble in Trouble]
    first = Case(When(first_why="", then=Value(1)), default=Value(0), output_field=IntegerField())
    return rows.annotate(place_first=first, rank=Case(*ranks, output_field=IntegerField())).order_by(
        "place_first", "rank", "came_on", "pk"
    )


def _rows(filters: Any, on: dt.date) -> QuerySet[models.Call]:
    rows = _with_visit(models.Call.objects.select_related("site__customer", "unit"))
    if filters.state == "open":
        rows = rows.filter(state__in=OPEN)
    elif filters.state != "any":
        rows = rows.filter(state=filters.state)
    return in_order(rows)


def _complete(rows: list[Any], on: dt.date) -> list[Any]:
    """Why each call, read `_with_visit`, is up to us."""
    keys = [row.pk for row in rows]
    parts: dict[int, list[rules.Part]] = {}
    for part in models.CallPart.objects.filter(call__in=keys):
        parts.setdefault(part.call_id, []).append(_part(part))
    working = house.working_days()
    for row in rows:
        row.reasons = rules.up_to_us(_as_rules(row, parts.get(row.pk, []), row.visit_on), working, today=on)
        row.why_each = tuple(wording.up_to_us(one, today=on) for one in row.reasons)
        row.why = " ".join(row.why_each)
    return rows


def _with_visit(rows: QuerySet[models.Call]) -> QuerySet[models.Call]:
    """Calls with the day of the last visit that is booked for each and not yet written up (`visit_on`)."""
    booked = models.CallVisit.objects.filter(call=OuterRef("pk"), booking__state="booked").order_by("-booking__on")
    return rows.annotate(visit_on=Subquery(booked.values("booking__on")[:1]))


def _part(row: models.CallPart) -> rules.Part:
    return rules.Part(row.ordered_on, row.expected_on, row.arrived_on)


def _as_rules(row: models.Call, parts: list[rules.Part], visit_on: dt.date | None) -> rules.Call:
    return rules.Call(State(row.state), Trouble(row.trouble), row.came_on, row.promised_on, tuple(parts), visit_on)


def _site(row: models.Call) -> Cell:
    return Cell(row.site.name, Link("site", row.site.pk), row.site.city) if row.site else Cell("not on file yet")


def _unit(row: models.Call) -> Cell:
    return Cell(row.unit.serial or row.unit.room, Link("unit", row.unit.pk)) if row.unit else Cell("")


def _lead(listing: Listing) -> dict[str, Any]:
    return {"nothing_on_file": not listing.count and not models.Call.objects.exists()}


CALLS = List(
    file="calls",
    caption="Calls, the most urgent first",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="",
    columns=(
        Column("came_on", "Came", "day", order=("came_on",), value=lambda row: Cell(row.came_on, Link("call", row.pk))),
        Column("trouble", "What is wrong", order=("trouble",)),
        Column(
            "caller", "Caller", value=lambda row: Cell(row.caller, Link("call", row.pk), row.phone), order=("caller",)
        ),
        Column("phone", "Phone", shown=False),
        Column("site", "Site", value=_site),
        Column("unit", "Unit", "serial", value=_unit),
        Column("said", "What they said", shown=False),
        Column("state", "State", order=("state",)),
        Column("visit", "Visit", "day", value="visit_on"),
        Column("promised_on", "Promised for", "day", order=("promised_on",)),
        Column("up_to_us", "Up to us", value="why"),
    ),
    filters=(
        Filter(
            "state",
            choices=[("open", "open, booked or waiting"), *State, ("any", "any")],
            blank="",
            usual="open",
            narrows=False,
        ),
        Filter("trouble", "What is wrong", list(Trouble), where="trouble"),
        Filter(
            "text",
            "Caller, phone, site or customer has",
            where=text_in("caller", "phone", "said", "site__name", "site__customer__name"),
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class Short:
    """The first calls that are not over, how many there are, and how many of them are up to us."""

    rows: tuple[Any, ...]
    count: int
    up_to_us: int


def short(*, on: dt.date) -> Short:
    """Calls for the desk, the most urgent first."""
    rows: list[Any] = list(
        in_order(_with_visit(models.Call.objects.filter(state__in=OPEN).select_related("site__customer", "unit")))
    )
    _complete(rows, on)
    return Short(tuple(rows[:SHORT]), len(rows), sum(bool(row.reasons) for row in rows))


def of(*, site: int | None = None, unit: int | None = None) -> list[models.Call]:
    """The calls of a site or a unit, those that are not over first, then the newest."""
    rows = models.Call.objects.filter(Q(unit=unit) if unit else Q(site=site))
    over = Case(When(state__in=OPEN, then=Value(0)), default=Value(1), output_field=IntegerField())
    return list(rows.annotate(over=over).order_by("over", "-came_on", "-pk")[:SHORT])


# ------------------------------------------------------------------------------------------------------------ one call


@dataclass(frozen=True, slots=True)
class CallPage:
    """One call with what its page says of it."""

    call: models.Call
    reasons: tuple[str, ...]
    steps: tuple[models.CallStep, ...]
    parts: tuple[models.CallPart, ...]
    visits: tuple[models.Booking, ...]
    payers: tuple[MayFail, ...]
    before: tuple[str, ...]
    work: rules.Work | None
    call_back: str
    emergency: str
    may: frozenset[State]
    undoes: int | None
    house_off: bool
    site_off: bool


def page(pk: int, *, on: dt.date) -> CallPage | None:
    """One call as its page shows it; None where there is none."""
    row: Any = (
        _with_visit(models.Call.objects.select_related("site__customer", "unit__system", "by")).filter(pk=pk).first()
    )
    if row is None:
        return None
    _complete([row], on)
    steps = tuple(row.steps.select_related("by", "booking", "write_up"))
    standing = [one for one in steps if one.undone_on is None]
    last = standing[-1] if standing else None
    payers, before = _payers(row, on=on)
    work = rules.may_be_call_back(works_near(row, days=(days := house.house().call_back_days)), row.came_on, days=days)
    return CallPage(
        call=row,
        reasons=row.why_each,
        steps=steps,
        parts=tuple(row.parts.all()),
        visits=tuple(models.Booking.objects.filter(calls__call=row).select_related("technician").order_by("on")),
        payers=payers,
        before=before,
        work=work,
        call_back=_call_back(row, work),
        emergency=rules.EMERGENCY if row.trouble == Trouble.SMELL_OR_ALARM else "",
        may=rules.STEPS[State(row.state)],
        undoes=last.pk if last and last.booking_id is None and last.write_up_id is None else None,
        house_off=row.site is not None and may_take_off(row.site),
        site_off=row.site is not None and row.visit_on is None and not any(one.write_up_id for one in standing),
    )


def _call_back(row: models.Call, work: rules.Work | None) -> str:
    if row.call_back:
        who = f" by {row.work_technician}" if row.work_technician else ""
        day = in_words(row.work_on) if row.work_on else ""
        said = "This is a call-back" if row.call_back == "yes" else "This is not a call-back"
        return f"{said}: {row.work.lower()}{who} on {day}."
    return wording.may_be_call_back(work) if work else ""


def _payers(row: models.Call, *, on: dt.date) -> tuple[tuple[MayFail, ...], tuple[str, ...]]:
    """Who would pay today for what may be behind it, the likeliest first; and what must be done before anyone goes out.

    Where a part was asked about, what must be done first is that of the part alone.
    """
    if row.unit is None:
        return (), ()
    named = rules.likely(Trouble(row.trouble), which_component.possible(row.unit.role), row.component)
    if not named:
        return (), ()
    book = terms_on_file()
    facts = fleet_facts([row.unit], book)[row.unit.pk]
    first = (row.component,) if row.component else named
    steps = possible.before_anyone_goes_out(facts, book, first, on=on, asked=on)
    return possible.may_fail(facts, named, on=on, asked=on), steps
