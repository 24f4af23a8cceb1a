"""How long units were watched, and which components of them failed when, counted by age and role.

A component is counted over the units that have one. A large fleet has few different ages, so that what is in memory here
grows with the failures and the days, not with the units.
"""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q, QuerySet
from django.db.models.functions import Coalesce

from fleet import models
from fleet.business.pages.what_fails import Group, Scope
from fleet.facts.terms import TermsBook, terms_on_file
from fleet.rules import components, survival, words
from fleet.rules.dates import add_months
from fleet.rules.survival import Ahead, Life

CHUNK = 2000
_UNIT = ("pk", "started_on", "installed_on", "replaced_on", "removed_on", "maker", "model", "role", "style")
_COVER = ("unit_id", "terms_id", "kind", "components", "last_on", "lifetime")


@dataclass(slots=True)
class Watched:
    """Units of each role as long as they were watched, if nothing failed, and what the failures of a component change of that."""

    unfailed: dict[str, Counter[Life]] = field(default_factory=lambda: defaultdict(Counter))
    changed: dict[str, Counter[Life]] = field(default_factory=lambda: defaultdict(Counter))

    def lives(self, component: str) -> Counter[Life]:
        """The lives of the units that have a component, for that component."""
        lives = Counter[Life]()
        for role in components.roles(component):
            lives.update(self.unfailed.get(role, {}))
        lives.update(self.changed.get(component, {}))
        return +lives

    def note(self, role: str, life: Life | None, failed: dict[str, Life | None]) -> None:
        """Count one unit, and the life it had for each component of it that failed."""
        if life is not None:
            self.unfailed[role][life] += 1
        for component, other in failed.items():
            if life is not None:
                self.changed[component][life] -= 1
            if other is not None:
                self.changed[component][other] += 1


@dataclass(frozen=True, slots=True)
class Company:
    """The units watched, in all and by group; today's units with their ages and coverage."""

    whole: Watched
    groups: dict[str, Watched]
    ahead: dict[tuple[str, int], Counter[Ahead]]
    sort_of: dict[str, int]
    span: int
    units: int
    without_start: int

    def today(self, component: str) -> Counter[Ahead]:
        """Today's units that have this component, with how long some payer still covers it."""
        sort = self.sort_of[component]
        units = Counter[Ahead]()
        for role in components.roles(component):
            units.update(self.ahead.get((role, sort), {}))
        return units


def company(scope: Scope, *, on: dt.date, group: Group | None = None) -> Company:
    """Read units, their failures and what is kept of their coverage, each in one pass, by unit."""
    whole_since = recorded_from()
    sorts = _Sorts(terms_on_file())
    failures = _first_failures(scope, on=on)
    covered = _Covered(sorts, on=on)
    span = (add_months(on, 12) - on).days
    whole, groups = Watched(), defaultdict[str, Watched](Watched)
    ahead: dict[tuple[str, int], Counter[Ahead]] = defaultdict(Counter)
    units = without_start = 0
    of_roles = _units(scope, components.roles(scope.component) if scope.component else None)
    for row in of_roles.order_by("pk").values_list(*_UNIT, named=True).iterator(chunk_size=CHUNK):
        start = row.replaced_on or row.started_on or row.installed_on
        if start is None:
            without_start += 1
            continue
        if start > on or (scope.year and start.year != scope.year):
            continue
        units += 1
        unfailed = _life(start, row.removed_on, (), whole_since, on)
        failed = {
            name: _life(start, row.removed_on, (day,), whole_since, on)
            for name, day in failures.get(row.pk, {}).items()
            if components.has(row.role, name)
        }
        whole.note(row.role, unfailed, failed)
        if group is not None:
            groups[_name(group, row, start)].note(row.role, unfailed, failed)
        if row.removed_on is None or row.removed_on > on:
            for sort, days in enumerate(covered.days(row.pk, on=on, span=span)):
                ahead[row.role, sort][Ahead((on - start).days, days)] += 1
    return Company(whole, dict(groups), dict(ahead), sorts.of, span, units, without_start)


def misplaced(scope: Scope, *, on: dt.date) -> QuerySet[models.Failure]:
    """The failures, newest first, of components that their unit has none of by its role: they are counted nowhere."""
    no_such = Q(pk__in=())
    for component in (scope.component,) if scope.component else words.COMPONENTS:
        no_such |= Q(component=component) & ~Q(unit__role__in=components.roles(component))
    return _of_units(_failures(scope, on=on).filter(no_such), scope)


def not_known_yet(scope: Scope, *, on: dt.date) -> QuerySet[models.Failure]:
    """The failures, newest first, of which nobody knows yet which component failed: a failure of their unit, and of no component."""
    return _of_units(_failures(scope, on=on).filter(component=""), scope)


def _of_units(rows: QuerySet[models.Failure], scope: Scope) -> QuerySet[models.Failure]:
    rows = rows.filter(unit__in=_units(scope))
    if scope.year:
        start = Coalesce("unit__replaced_on", "unit__started_on", "unit__installed_on")
        rows = rows.annotate(start=start).filter(start__year=scope.year)
    return rows.order_by("-failed_on", "-pk")


def recorded_from() -> dt.date | None:
    """The day since which failures are surely on file, if somebody said."""
    return models.House.objects.values_list("record_complete_from", flat=True).first()


def _life(
    start: dt.date, removed_on: dt.date | None, failed: Sequence[dt.date], recorded_from: dt.date | None, on: dt.date
) -> Life | None:
    return survival.life(start, recorded_from=recorded_from, failed_on=failed, removed_on=removed_on, as_of=on)


def _units(scope: Scope, roles: Collection[str] | None = None) -> QuerySet[models.Unit]:
    rows = models.Unit.objects.all() if roles is None else models.Unit.objects.filter(role__in=sorted(roles))
    if scope.maker:
        rows = rows.filter(maker_key=words.key(scope.maker))
    if scope.model:
        rows = rows.filter(model_key__contains=words.key(scope.model))
    if scope.kind in words.STYLES:
        rows = rows.filter(role="head", style=scope.kind)
    elif scope.kind:
        rows = rows.filter(role=scope.kind)
    return rows


def _name(group: Group, row: Any, start: dt.date) -> str:
    match group:
        case Group.MAKER:
            return str(row.maker)
        case Group.MODEL:
            return f"{row.maker} {row.model}"
        case Group.KIND:
            return f"{row.style} head".strip() if row.role == "head" else str(row.role)
        case Group.YEAR:
            return str(start.year)


def _failures(scope: Scope, *, on: dt.date) -> QuerySet[models.Failure]:
    """The failures that count, by their causes."""
    rows = models.Failure.objects.filter(voided_on=None, failed_on__lte=on)
    return rows if scope.every_cause else rows.exclude(cause__in=survival.NOT_COUNTED)


def _first_failures(scope: Scope, *, on: dt.date) -> dict[int, dict[str, dt.date]]:
    """The first failure of each component of each unit that counts."""
    rows = _failures(scope, on=on).order_by("failed_on", "pk").values_list("unit_id", "component", "failed_on")
    days: dict[int, dict[str, dt.date]] = {}
    for unit, component, day in rows.iterator(chunk_size=CHUNK):
        days.setdefault(unit, {}).setdefault(component, day)
    return days


class _Sorts:
    """Components that every terms on file treat alike are of one sort: what is kept of one says it of the others."""

    def __init__(self, book: TermsBook) -> None:
        self._book = book
        alike: dict[tuple[tuple[str, int], ...], int] = {}
        self.of: dict[str, int] = {}
        self._one: list[str] = []
        for component in words.COMPONENTS:
            named = tuple(
                (terms.code, number)
                for terms in book.all
                for number, coverage in enumerate(terms.coverages)
                if component in coverage.components
            )
            self.of[component] = alike.setdefault(named, len(alike))
            if self.of[component] == len(self._one):
                self._one.append(component)
        self._by_sort: dict[tuple[int, str, str], tuple[int, ...]] = {}

    def __len__(self) -> int:
        return len(self._one)

    def named(self, terms: int, kind: str, components: str) -> tuple[int, ...]:
        """The sorts that a row of coverage speaks of."""
        key = (terms, kind, components)
        days = self._by_sort.get(key)
        if days is None:
            there = components.split(";")
            besides = self._book.by_code[self._book.codes[terms]].named(kind) if there == ["*"] else ()
            days = self._by_sort[key] = tuple(
                sort for sort, one in enumerate(self._one) if (one in there if there != ["*"] else one not in besides)
            )
        return days


class _Covered:
    """Reads what is kept of certain coverage in step with the units, both by their keys."""

    def __init__(self, sorts: _Sorts, *, on: dt.date) -> None:
        self._sorts = sorts
        # Ended coverage stands there as not covered; it still says until when it held, which a day gone by may ask.
        holding = Q(lifetime=True) | Q(last_on__gte=on)
        rows = models.CoverageRow.objects.filter(holding).order_by("unit_id")
        self._rows: Iterator[Any] = rows.values_list(*_COVER).iterator(chunk_size=CHUNK)
        self._next: Any = next(self._rows, None)

    def days(self, unit: int, *, on: dt.date, span: int) -> tuple[int, ...]:
        """For each sort of component, how many of the days ahead some payer still covers it."""
        most = [0] * len(self._sorts)
        while self._next is not None and self._next[0] <= unit:
            of_unit, terms, kind, components, last_on, lifetime = self._next
            if of_unit == unit:
                # The last day is covered too, so from the day asked on it is one day more than lies between them.
                days = span if lifetime else min(max((last_on - on).days + 1, 0), span)
                if days:
                    for sort in self._sorts.named(terms, kind, components):
                        most[sort] = max(most[sort], days)
            self._next = next(self._rows, None)
        return tuple(most)
