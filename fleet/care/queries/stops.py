"""Stops: who lives there, what is asked of each unit, what happened last time; for a day, or for one site."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.db.models import F

from fleet import models
from fleet.calls.queries.calls import OPEN, in_order
from fleet.care.facts import start_up
from fleet.care.pages import stops as pages
from fleet.care.queries.visits import arrives
from fleet.coverage.queries import in_short
from fleet.elements.named import address, as_it_stands, link, what
from fleet.facts import fleet_facts
from fleet.facts.care import care_sheet, due_of
from fleet.rules import care, coverage
from fleet.rules.caresheet import CareSheet, title_of
from fleet.rules.dates import DAY, in_words
from fleet.rules.wording import care as wording
from fleet.rules.wording import cautions, readings
from fleet.rules.wording.answers import payment
from fleet.rules.wording.names import listed, lower

GRADES = ("clean", "light", "heavy", "blocked")
# How many days a visit that nobody wrote up is asked about, and how many of them.
_ASKED_ABOUT = 60
_MOST = 50
_NOW = (care.State.DUE, care.State.LATE)


def today(*, on: dt.date, technician: models.User | None) -> pages.TodayPage:
    """A technician's stops of today and tomorrow, with those that are nobody's yet; everybody's where none is named."""
    visits = models.Booking.objects.filter(on__gte=on - _ASKED_ABOUT * DAY, on__lte=on + DAY)
    if technician is not None:
        visits = visits.filter(technician=technician) | visits.filter(technician=None)
    rows = visits.filter(state="booked").select_related("site__customer", "technician")
    booked = list(rows.order_by("on", F("arrive_from").asc(nulls_last=True), "site__city", "pk")[:_MOST])
    fetched = _stops(booked, [row.site for row in booked], on=on)
    mine = technician.pk if technician is not None else None
    stops = [
        _stop(row.site, fetched, on=row.on, booking=row, mine=mine is not None and row.technician_id == mine)
        for row in booked
    ]
    return pages.TodayPage(
        on=on,
        whose="" if technician is None else str(technician),
        sentence=_sentence(stops, on=on, made=visits.filter(on=on, state="made").exists()),
        open=tuple(stop for stop in stops if stop.on < on),
        today=tuple(stop for stop in stops if stop.on == on),
        tomorrow=tuple(stop for stop in stops if stop.on > on),
        done=_done(technician, on=on),
    )


def _sentence(stops: Sequence[pages.Stop], *, on: dt.date, made: bool) -> str:
    """How many stops today still has; `made` says whether one of today was written up."""
    today = [stop for stop in stops if stop.on == on]
    if today:
        minutes = sum(stop.minutes for stop in today)
        count = "1 stop" if len(today) == 1 else f"{len(today)} stops"
        return f"{count} {'left ' if made else ''}today, {wording.duration(minutes)} including the drive."
    if not made:
        return "No stop is booked for today."
    past = sum(stop.on < on for stop in stops)
    still = f" {'1 past visit is' if past == 1 else f'{past} past visits are'} not written up yet." if past else ""
    return f"Every stop of today is written up.{still}"


def _done(technician: models.User | None, *, on: dt.date) -> tuple[tuple[int, str], ...]:
    rows = models.WriteUp.objects.standing().filter(on=on).select_related("site__customer").order_by("pk")
    if technician is not None:
        rows = rows.filter(by=technician)
    return tuple((row.pk, f"{row.site.customer.name}, {row.site.name}") for row in rows[:_MOST])


def at_site(pk: int, *, on: dt.date, booking: int | None = None) -> pages.Stop | None:
    """A stop at a site, for a visit that is booked or for none; None if there is no such site."""
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    booked = None
    if booking is not None:
        booked = models.Booking.objects.select_related("technician").filter(pk=booking, site=site).first()
    fetched = _stops([] if booked is None else [booked], [site], on=on)
    return _stop(site, fetched, on=on if booked is None else booked.on, booking=booked)


def with_visits(pk: int, *, on: dt.date, most: int) -> tuple[pages.Stop, ...]:
    """The stop at a site for no visit, and those for the next visits that are booked there; none if there is no such site."""
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return ()
    ahead = models.Booking.objects.select_related("technician").filter(site=site, state="booked", on__gte=on)
    booked = list(ahead.order_by("on", "pk")[:most])
    fetched = _stops(booked, [site], on=on)
    visits = (_stop(site, fetched, on=row.on, booking=row) for row in booked)
    return (_stop(site, fetched, on=on, booking=None), *visits)


# ------------------------------------------------------------------------------------------------- what is on file


@dataclass(slots=True)
class _Fetched:
    """What was fetched for all stops at once, by site or by unit."""

    on: dt.date
    sheet: CareSheet | None
    units: Mapping[int, list[models.Unit]]
    dues: Mapping[int, list[care.Due]]
    booked: Mapping[int, set[tuple[int, str]]]
    records: Mapping[int, list[models.MaintenanceRecord]]
    readings: Mapping[int, list[models.Reading]]
    broken: Mapping[int, list[pages.Broken]]
    people: Mapping[int, list[models.Contact]]
    last: Mapping[int, models.WriteUp] = field(default_factory=dict)
    calls: Mapping[int, list[models.Call]] = field(default_factory=dict)
    parts: Mapping[int, list[models.CallPart]] = field(default_factory=dict)
    covered: Mapping[int, str] = field(default_factory=dict)


def _stops(bookings: Iterable[models.Booking], sites: Collection[models.Site], *, on: dt.date) -> _Fetched:
    """Fetch all that the stops show, in a fixed number of queries."""
    keys = {site.pk for site in sites}
    sheet = care_sheet()
    here = models.Unit.objects.in_service().filter(system__site__in=keys).select_related("system")
    here = here.annotate(start_up_on_file=start_up.on_file())
    units = _by(sorted(here, key=as_it_stands), lambda unit: unit.system.site_id)
    ids = [unit.pk for there in units.values() for unit in there]
    dues = models.DueRow.objects.filter(site__in=keys).select_related("unit").order_by("due_on", "pk")
    dues_at = [] if sheet is None else [(row.site_id, due_of(row, sheet)) for row in dues if sheet.task(row.task)]
    tasks = models.BookedTask.objects.filter(booking__in=[booking.pk for booking in bookings])
    records = models.MaintenanceRecord.objects.filter(unit__in=ids).order_by("-done_on", "pk")
    readings = models.Reading.objects.filter(unit__in=ids, start_up=False).order_by("-on", "-pk")
    last: dict[int, models.WriteUp] = {}
    visits = models.WriteUp.objects.standing().filter(site__in=keys).order_by("-on", "-pk").defer("content")
    for written in visits:
        last.setdefault(written.site_id, written)
    calls = list(in_order(models.Call.objects.filter(site__in=keys, state__in=OPEN).select_related("unit")))
    parts = models.CallPart.objects.filter(call__in=calls).exclude(arrived_on=None).select_related("call")
    return _Fetched(
        on=on,
        sheet=sheet,
        units=units,
        dues={site: [due for at, due in dues_at if at == site] for site in keys},
        booked=_sets((row.booking_id, (row.unit_id, row.task)) for row in tasks),
        records=_by(records, lambda row: row.unit_id),
        readings=_by(readings, lambda row: row.unit_id),
        broken=_broken(ids, on=on),
        people=_by(models.Contact.objects.filter(site__in=keys), lambda row: row.site_id),
        last=last,
        covered=in_short.covered(ids),
        calls=_by(calls, lambda row: row.site_id),
        parts=_by(parts if calls else (), lambda row: row.call.site_id),
    )


def _by(rows: Iterable[Any], key: Any) -> Mapping[int, list[Any]]:
    groups: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    return groups


def _sets(pairs: Iterable[tuple[int, tuple[int, str]]]) -> Mapping[int, set[tuple[int, str]]]:
    sets: dict[int, set[tuple[int, str]]] = defaultdict(set)
    for key, value in pairs:
        sets[key].add(value)
    return sets


def _broken(units: Collection[int], *, on: dt.date) -> Mapping[int, list[pages.Broken]]:
    """The failures that wait for their repair, by unit, each with who would pay for what, in short."""
    failures = list(models.Failure.objects.filter(unit__in=units, repaired_on=None, voided_on=None))
    if not failures:
        return {}
    broken = models.Unit.objects.filter(pk__in={failure.unit_id for failure in failures})
    facts_of = fleet_facts(broken)
    broken_of: dict[int, list[pages.Broken]] = defaultdict(list)
    for failure in failures:
        facts = facts_of[failure.unit_id]
        if failure.component:
            answers = coverage.answers(
                facts.unit, facts.holdings, failure.component, on=failure.failed_on, asked=on, cause=failure.cause
            )
            pays = " ".join(map(payment, coverage.payments(answers)))
            words = f"{failure.component} failed on {in_words(failure.failed_on)}"
        else:
            pays = "Say which component failed once you have looked: who pays depends on it."
            words = f"failure found on {in_words(failure.failed_on)}, component not known yet"
        broken_of[failure.unit_id].append(pages.Broken(failure.pk, words, pays))
    return broken_of


# ------------------------------------------------------------------------------------------------- as a stop


def _stop(
    site: models.Site, fetched: _Fetched, *, on: dt.date, booking: models.Booking | None = None, mine: bool = False
) -> pages.Stop:
    units = fetched.units.get(site.pk, [])
    named = {unit.pk: unit for unit in units}
    booked = fetched.booked.get(booking.pk, set()) if booking is not None else set()
    asks = [_ask(due, named, booked, on=fetched.on) for due in fetched.dues.get(site.pk, []) if int(due.unit) in named]
    shown = tuple(_unit(unit, [ask for ask in asks if ask.unit == unit.pk], fetched) for unit in units)
    last = fetched.last.get(site.pk)
    stop = pages.Stop(
        site=site.pk,
        name=site.name,
        customer=site.customer.name,
        phone=site.customer.phone,
        address=address(site),
        gate_code=site.gate_code,
        people=tuple(pages.Person(one.name, one.role, one.phone, one.reach) for one in fetched.people.get(site.pk, ())),
        on=on,
        units=shown,
        last="" if last is None else _last_visit(last),
        drive_minutes=site.drive_minutes,
        calls=tuple((call.pk, _call(call)) for call in fetched.calls.get(site.pk, ())),
        parts=tuple(map(_part, fetched.parts.get(site.pk, ()))),
        not_started=_not_started(units),
        without_sheet=fetched.sheet is None,
    )
    if booking is None:
        return stop
    return _with_booking(stop, booking, mine=mine)


def _not_started(units: Sequence[Any]) -> tuple[tuple[int, str], ...]:
    """The systems of which no unit has a start-up on file."""
    started = {unit.system_id for unit in units if unit.start_up_on_file}
    return tuple({unit.system_id: unit.system.name for unit in units if unit.system_id not in started}.items())


def _with_booking(stop: pages.Stop, booking: models.Booking, *, mine: bool) -> pages.Stop:
    return replace(
        stop,
        booking=booking.pk,
        technician="" if booking.technician is None else str(booking.technician),
        mine=mine,
        minutes=booking.minutes,
        note=booking.note,
        why=booking.why,
        arrives=arrives(booking),
    )


def _call(row: models.Call) -> str:
    """A call in one line: where and what is wrong, in the caller's words where they are noted."""
    where = f"{row.unit.room or what(row.unit)}: " if row.unit is not None else ""
    said = f": {' '.join(row.said.split())}" if row.said else ""
    return f"{where}{row.trouble}{said} ({row.caller})"


def _part(row: models.CallPart) -> str:
    """A part that arrived for a call."""
    assert row.arrived_on is not None  # no other was fetched
    return f"{row.what}, arrived {in_words(row.arrived_on)}"


def _last_visit(written: models.WriteUp) -> str:
    notes = f" “{' '.join(written.notes.split())}”" if written.notes else ""
    return f"Last write-up: {in_words(written.on)}, {written.technician}.{notes}"


def _ask(due: care.Due, named: Mapping[int, models.Unit], booked: set[tuple[int, str]], *, on: dt.date) -> pages.Ask:
    task, state = due.task, due.state(on)
    ordered = (int(due.unit), task.code) in booked
    return pages.Ask(
        unit=int(due.unit),
        task=task.code,
        title=task.title,
        of=_of(due, named),
        by=task.by,
        open=task.by == "technician" and (ordered or state in _NOW),
        booked=ordered,
        state=state.value,
        stands=wording.stands(state, due.window, due.not_before),
        last_done=due.last_done,
        minutes=due.minutes,
        cautions=cautions.of_task(task),
        changes_filter=task.on_filter and (ordered or due.open_on(on)),
    )


def _of(due: care.Due, named: Mapping[int, models.Unit]) -> str:
    """What a due is for, where that is more than the unit it is listed under; else blank."""
    if due.task.per == "system":
        return "the whole system"
    others = [named[int(key)].room for key in due.units if int(key) in named and key != due.unit]
    return f"with the line of {listed(others)}" if due.task.per == "drain line" and others else ""


def _unit(row: models.Unit, asks: Sequence[pages.Ask], fetched: _Fetched) -> pages.OfUnit:
    return pages.OfUnit(
        unit=link(row),
        system=row.system.name,
        role=row.role,
        access=row.access if row.access != "normal" else "",
        notes=row.notes,
        asks=tuple(sorted(asks, key=lambda ask: (not ask.open, ask.by == "owner"))),
        last=_last_time(fetched.records.get(row.pk, []), fetched.sheet),
        readings=_last_readings(fetched.readings.get(row.pk, [])),
        broken=tuple(fetched.broken.get(row.pk, ())),
        covered=fetched.covered.get(row.pk, "no coverage that is certain today"),
        beware=cautions.of_access(row.access),
        filter=row.filter_size if any(ask.changes_filter for ask in asks) else "",
    )


def _last_time(records: Sequence[models.MaintenanceRecord], sheet: CareSheet | None) -> str:
    """What happened on the latest day that anything was recorded of a unit, in words; blank without a record."""
    if not records:
        return ""
    day = records[0].done_on
    there = [record for record in records if record.done_on == day]
    done = listed(lower(title_of(record.task, sheet)) for record in there if not record.skipped and record.task)
    skipped = listed(
        f"{lower(title_of(record.task, sheet))} ({record.skip_reason or 'no reason given'})"
        for record in there
        if record.skipped
    )
    who = next((record.technician for record in there if record.technician), "")
    said = [
        f"{in_words(day)}{f', {who}' if who else ''}",
        *([f"done: {done}"] if done else []),
        *([f"skipped: {skipped}"] if skipped else []),
        *dirt(there),
        *(" ".join(record.notes.split()) for record in there if record.notes),
    ]
    return "; ".join(said)


def dirt(records: Iterable[models.MaintenanceRecord]) -> list[str]:
    """The grades of dirt that were seen, in words."""
    grades = []
    for record in records:
        for name, grade in (("wheel", record.dirt_wheel), ("coil", record.dirt_coil)):
            if grade is not None:
                grades.append(f"{name} {GRADES[grade]}")
    return grades


def _last_readings(rows: Sequence[models.Reading]) -> tuple[str, ...]:
    """The latest of each kind of reading, in words; rows come newest first."""
    latest: dict[str, models.Reading] = {}
    for row in rows:
        latest.setdefault(row.reading, row)
    return tuple(reading_words(row, dated=True) for row in latest.values())


def reading_words(row: models.Reading, *, dated: bool = False) -> str:
    """Write one reading."""
    how = ", ".join(
        filter(
            None,
            (
                row.mode,
                f"fan {row.fan}" if row.fan else "",
                f"after {row.minutes_running} min" if row.minutes_running else "",
            ),
        )
    )
    day = f" on {in_words(row.on)}" if dated else ""
    return f"{readings.named(row.reading)} {row.value.normalize():f} {row.measure}{f' ({how})' if how else ''}{day}"
