"""How long units were watched, and which components of them failed when, counted by age.

A large fleet has few different ages, so that what is held here grows with the failures and the days, not with the units.
"""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q, QuerySet

from fleet import models
from fleet.business.pages.what_fails import Asked, Group
from fleet.facts.terms import TermsBook, terms_on_file
from fleet.rules import survival, words
from fleet.rules.dates import add_months
from fleet.rules.survival import Ahead, Life

CHUNK = 2000
_UNIT = ("pk", "started_on", "installed_on", "came_on", "gone_on", "maker", "model", "role", "style")
_COVER = ("unit_id", "terms_id", "kind", "components", "last_on", "lifetime")


@dataclass(slots=True)
class Watched:
    """Units as long as they were watched, if nothing failed, and what the failures of a component change of that."""

    unfailed: Counter[Life] = field(default_factory=Counter)
    changed: dict[str, Counter[Life]] = field(default_factory=lambda: defaultdict(Counter))

    def lives(self, component: str) -> Counter[Life]:
        """Give the lives for one component."""
        found = Counter(self.unfailed)
        found.update(self.changed.get(component, {}))
        return +found

    def note(self, life: Life | None, failed: dict[str, Life | None]) -> None:
        """Count one unit, and the life it had for each component of it that failed."""
        if life is not None:
            self.unfailed[life] += 1
        for component, other in failed.items():
            if life is not None:
                self.changed[component][life] -= 1
            if other is not None:
                self.changed[component][other] += 1


@dataclass(frozen=True, slots=True)
class Company:
    """All that was asked for: the units watched, in all and by group; today's units with their ages and coverage."""

    whole: Watched
    groups: dict[str, Watched]
    ahead: dict[int, Counter[Ahead]]
    sort_of: dict[str, int]
    span: int
    units: int
    without_start: int

    def today(self, component: str) -> Counter[Ahead]:
        """Give today's units with how long some payer still covers this component of theirs."""
        return self.ahead.get(self.sort_of[component], Counter())


def company(asked: Asked, *, on: dt.date, group: Group | None = None) -> Company:
    """Read units, their failures and what is kept of their coverage, each in one pass, by unit."""
    whole_since = recorded_from()
    sorts = _Sorts(terms_on_file())
    failures = _failures(asked, on=on)
    covered = _Covered(sorts, on=on)
    span = (add_months(on, 12) - on).days
    whole, groups = Watched(), defaultdict[str, Watched](Watched)
    ahead: dict[int, Counter[Ahead]] = defaultdict(Counter)
    units = without_start = 0
    for row in _units(asked).order_by("pk").values_list(*_UNIT, named=True).iterator(chunk_size=CHUNK):
        start = row.came_on or row.started_on or row.installed_on
        if start is None:
            without_start += 1
            continue
        if start > on or not _of_year(asked, start):
            continue
        units += 1
        unfailed = _life(start, row.gone_on, (), whole_since, on)
        failed = {
            name: _life(start, row.gone_on, (day,), whole_since, on) for name, day in failures.get(row.pk, {}).items()
        }
        whole.note(unfailed, failed)
        if group is not None:
            groups[_name(group, row, start)].note(unfailed, failed)
        if row.gone_on is None or row.gone_on > on:
            for sort, days in enumerate(covered.days(row.pk, on=on, span=span)):
                ahead[sort][Ahead((on - start).days, days)] += 1
    return Company(whole, dict(groups), dict(ahead), sorts.of, span, units, without_start)


def recorded_from() -> dt.date | None:
    """Give the day since which failures are surely on file, if somebody said."""
    return models.House.objects.values_list("record_complete_from", flat=True).first()


def _life(
    start: dt.date, gone_on: dt.date | None, failed: Sequence[dt.date], recorded_from: dt.date | None, on: dt.date
) -> Life | None:
    return survival.life(start, recorded_from=recorded_from, failed_on=failed, removed_on=gone_on, asked=on)


def _units(asked: Asked) -> QuerySet[models.Unit]:
    found = models.Unit.objects.all()
    if asked.maker:
        found = found.filter(maker_key=words.key(asked.maker))
    if asked.model:
        found = found.filter(model_key__contains=words.key(asked.model))
    if asked.kind in words.STYLES:
        found = found.filter(role="head", style=asked.kind)
    elif asked.kind:
        found = found.filter(role=asked.kind)
    return found


def _of_year(asked: Asked, start: dt.date) -> bool:
    return not asked.year or start.year == asked.year


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


def _failures(asked: Asked, *, on: dt.date) -> dict[int, dict[str, dt.date]]:
    """Find the first failure of each component of each unit that counts."""
    rows = models.Failure.objects.filter(voided_on=None, failed_on__lte=on)
    if not asked.every_cause:
        rows = rows.exclude(cause__in=survival.NOT_COUNTED)
    found: dict[int, dict[str, dt.date]] = {}
    for unit, component, day in (
        rows.order_by("failed_on", "pk").values_list("unit_id", "component", "failed_on").iterator(chunk_size=CHUNK)
    ):
        found.setdefault(unit, {}).setdefault(component, day)
    return found


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
        self._told: dict[tuple[int, str, str], tuple[int, ...]] = {}

    def __len__(self) -> int:
        return len(self._one)

    def named(self, terms: int, kind: str, components: str) -> tuple[int, ...]:
        """Give the sorts that a kept row speaks of."""
        key = (terms, kind, components)
        found = self._told.get(key)
        if found is None:
            there = components.split(";")
            besides = self._book.by_code[self._book.codes[terms]].named(kind) if there == ["*"] else ()
            found = self._told[key] = tuple(
                sort for sort, one in enumerate(self._one) if (one in there if there != ["*"] else one not in besides)
            )
        return found


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
        """Give for each sort of component for how many of the days ahead some payer still covers it."""
        found = [0] * len(self._sorts)
        while self._next is not None and self._next[0] <= unit:
            of_unit, terms, kind, components, last_on, lifetime = self._next
            if of_unit == unit:
                # The last day is covered too, so from the day asked on it is one day more than lies between them.
                days = span if lifetime else min(max((last_on - on).days + 1, 0), span)
                if days:
                    for sort in self._sorts.named(terms, kind, components):
                        found[sort] = max(found[sort], days)
            self._next = next(self._rows, None)
        return tuple(found)
