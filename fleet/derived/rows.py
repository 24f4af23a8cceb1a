"""The kept rows as they should be on a day: what the rules say now of a unit's holdings and coverage, and of a system's dues."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import Q

from fleet import models
from fleet.facts import care
from fleet.facts.terms import TermsBook
from fleet.facts.units import Told
from fleet.rules import care as care_rules
from fleet.rules import coverage, days_of_change, missing_facts, registration
from fleet.rules import lost as losses
from fleet.rules.caresheet import CareSheet
from fleet.rules.dues import work_out
from fleet.rules.facts import Holding
from fleet.rules.findings import Code, Reason
from fleet.rules.lost import Lost
from fleet.rules.registration import Standing, State
from fleet.rules.starts import start_of

Packed = list[list[str | None]]
PackedLost = list[list[str | int | None]]


class HoldingValues(NamedTuple):
    """The columns of a HoldingRow, by their names in the database."""

    unit_id: int
    system_id: int
    terms_id: int
    attached: bool
    start_on: dt.date | None
    start_by: str
    start_assumed: bool
    registration: str
    registration_day: dt.date | None
    deadline: dt.date | None
    reason: list[str | None]
    lost: PackedLost
    at_stake: PackedLost
    notify_by: dt.date | None
    notify_sold_on: dt.date | None
    notify_stake: PackedLost
    next_on: dt.date | None


class CoverageValues(NamedTuple):
    """The columns of a CoverageRow, by their names in the database."""

    unit_id: int
    terms_id: int
    payer: str
    kind: str
    components: str
    result: str
    first_on: dt.date | None
    last_on: dt.date | None
    lifetime: bool
    possible_last_on: dt.date | None
    possible_lifetime: bool
    reasons: Packed
    needs: Packed
    hangs_on: Packed
    next_on: dt.date | None


class FactValues(NamedTuple):
    """The columns of a FactRow, by their names in the database."""

    unit_id: int
    site_id: int | None
    fact: str
    worth_days: int
    parts_days: int
    labor_days: int
    refrigerant_days: int
    freight_days: int
    first_on: dt.date | None
    last_on: dt.date | None


class DueValues(NamedTuple):
    """The columns of a DueRow, by their names in the database."""

    system_id: int
    site_id: int
    unit_id: int
    task: str
    by: str
    last_done: dt.date | None
    due_on: dt.date
    opens_on: dt.date
    late_after: dt.date
    graded: bool
    not_before: dt.date | None
    price: Decimal
    minutes: int
    units: list[int]
    anchor: dt.date | None
    times: str
    assumed_on: dt.date | None


KeptValues = HoldingValues | CoverageValues | FactValues | DueValues


@dataclass(frozen=True, slots=True)
class Cared:
    """Systems as they were gathered, the rows of their dues, and the units whose dues hang on the day they were put in."""

    systems: tuple[care_rules.System, ...]
    dues: tuple[DueValues, ...]
    without_start: frozenset[int]


def cared(system_ids: Iterable[int], sheet: CareSheet | None, *, on: dt.date) -> Cared:
    """Work out the dues of systems. Facts are never later than today, so that time alone changes none of them."""
    gathered = care.with_sites(system_ids)
    dues: list[DueValues] = []
    without_start: set[int] = set()
    for system, site_id in gathered:
        if sheet is None:
            break
        found = work_out(system, sheet, on=on)
        dues.extend(_due(due, site_id) for due in found.dues)
        without_start.update(int(one.unit) for one in found.wanted if one.what == "start")
    return Cared(tuple(system for system, _ in gathered), tuple(dues), frozenset(without_start))


def _due(due: care_rules.Due, site_id: int) -> DueValues:
    window = due.window
    return DueValues(
        int(due.system),
        site_id,
        int(due.unit),
        due.task.code,
        due.task.by,
        due.last_done,
        window.due_on,
        window.opens_on,
        window.late_after,
        window.graded,
        due.not_before,
        due.price,
        due.minutes,
        [int(unit) for unit in due.units],
        due.anchor,
        "" if due.times is None else str(due.times),
        due.assumed_on,
    )


# Facts that somebody set aside: the fact, the unit or the site (the other is None), the first day of a gap in upkeep.
SetAside = frozenset[tuple[str, int | None, int | None, dt.date | None]]


def set_aside(told: Iterable[Told]) -> SetAside:
    """Gather the facts of these units, and of the sites they stood at, that nobody can know any more."""
    units = list(told)
    there = Q(unit__in=[one.row.pk for one in units]) | Q(site__in={pk for one in units for pk in one.site_ids})
    return frozenset(models.SetAside.objects.filter(there).values_list("fact", "unit", "site", "first_on"))


def rows(
    told: Told,
    book: TermsBook,
    *,
    on: dt.date,
    without_start: Collection[int] = frozenset(),
    aside: SetAside = frozenset(),
) -> Iterator[KeptValues]:
    """Work out a unit's kept rows; a unit that is gone has none. `without_start`: those whose dues hang on their start."""
    if told.row.removed_on is not None:
        return
    unit_id = told.row.pk
    held = []
    for holding in told.holdings:
        terms_id = book.pks[holding.terms.code]
        start = start_of(told.unit, holding)
        standing = registration.standing(told.unit, holding, start=start.day, asked=on)
        next_on = days_of_change.next_change(told.unit, holding, on=on)
        groups = coverage.groups(told.unit, holding, on=on)
        missed = standing.state is State.MISSED
        gone = losses.lost(told.unit, holding, on=on, as_things_are=groups) if missed else ()
        at_stake = losses.by_not_registering(told.unit, holding, on=on) if standing.state is State.TO_DO else ()
        notice = losses.to_notify(told.unit, holding, start=start.day, on=on)
        yield HoldingValues(
            unit_id,
            told.row.system_id,
            terms_id,
            holding.attached,
            start.day,
            start.by,
            start.assumed,
            standing.state.value,
            standing.day,
            standing.deadline,
            pack((standing.reason,))[0],
            pack_lost(gone),
            pack_lost(at_stake),
            notice.last if notice else None,
            notice.sold_on if notice else None,
            pack_lost(notice.lost if notice else ()),
            next_on,
        )
        held.append((holding, groups))
        for group in groups:
            answer = group.answer
            yield CoverageValues(
                unit_id,
                terms_id,
                answer.payer,
                group.kind,
                ";".join(group.components),
                answer.result.value,
                answer.first,
                answer.last,
                answer.lifetime,
                answer.possible_last,
                answer.possible_lifetime,
                pack(answer.reasons),
                pack(answer.needs),
                pack(answer.hangs_on),
                next_on,
            )
    for fact in _facts(told, held, on=on, no_start=unit_id in without_start):
        whose = (unit_id, None) if fact.site_id is None else (None, fact.site_id)
        # Set aside or not, the coverage that hangs on it stays as open as it is.
        if (fact.fact, *whose, fact.first_on) not in aside:
            yield fact


def _facts(
    told: Told, held: Sequence[tuple[Holding, Sequence[coverage.Group]]], *, on: dt.date, no_start: bool
) -> Iterator[FactValues]:
    row = told.row
    facts = missing_facts.missing_facts(
        told.unit, held, on=on, serial=row.serial, role=row.role, style=row.style, no_start=no_start
    )
    for found in facts:
        if found.stay is not None and found.stay >= len(told.site_ids):
            continue
        site_id = None if found.stay is None else told.site_ids[found.stay]
        yield FactValues(row.pk, site_id, found.fact, sum(found.worth), *found.worth, found.first, found.last)


def pack(reasons: Iterable[Reason]) -> Packed:
    """Write reasons as plain lists: code, what, day, until, would_reach."""
    return [
        [reason.code.value, reason.what, _text(reason.day), _text(reason.until), _text(reason.would_reach)]
        for reason in reasons
    ]


def _text(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()


def unpack(packed: Packed) -> tuple[Reason, ...]:
    """Read reasons back from plain lists."""
    return tuple(
        Reason(Code(code or ""), what or "", _day(day), _day(until), _day(reach))
        for code, what, day, until, reach in packed
    )


def _day(text: str | None) -> dt.date | None:
    return None if text is None else dt.date.fromisoformat(text)


def pack_lost(found: Iterable[Lost]) -> PackedLost:
    """Write what a missed registration lost as plain lists: kind, components, days, last, would_reach, perhaps."""
    return [
        [one.kind, ";".join(one.components), one.days, _text(one.last), _text(one.would_reach), int(one.perhaps)]
        for one in found
    ]


def lost_of(row: Any) -> tuple[Lost, ...]:
    """Read what a missed registration lost back as the rules gave it, from a HoldingRow or its values by name."""
    return unpack_lost(row.lost)


def unpack_lost(packed: PackedLost) -> tuple[Lost, ...]:
    """Read what was lost, or is at stake, back from plain lists."""
    return tuple(
        Lost(str(kind), tuple(str(names).split(";")), days, _day(last), _day(reach), bool(perhaps))  # type: ignore[arg-type]
        for kind, names, days, last, reach, perhaps in packed
    )


def standing_of(row: Any) -> Standing:
    """Read where a registration stands back as the rules gave it, from a HoldingRow or its values by name."""
    return Standing(State(row.registration), row.registration_day, row.deadline, *unpack([row.reason]))
