"""The days on which passing time alone may change what a holding answers."""

import datetime as dt
from collections.abc import Iterable

from fleet.rules import conditions
from fleet.rules.dates import DAY, add_months, last_day
from fleet.rules.facts import Holding, Unit
from fleet.rules.starts import start_of
from fleet.rules.terms import Terms


def next_change(unit: Unit, holding: Holding, *, on: dt.date) -> dt.date | None:
    """The next day on which passing time alone may change what `coverage.groups` answers; None if no day can."""
    start = start_of(unit, holding).day
    lasts = last_days(unit, holding)
    found = changes(unit, holding, lasts)
    for last in lasts:
        # The reason `edge_day` begins and is over.
        found |= {last - DAY, last + 2 * DAY}
    if start is not None and asks_yearly(holding.terms):
        found.add(add_months(start, 12 * (len(conditions.complete_years(start, on)) + 1)))
    return min((day for day in found if day > on), default=None)


def asks_yearly(terms: Terms) -> bool:
    """Whether some tier asks for yearly maintenance, so that each anniversary of the start may change an answer."""
    return any("yearly maintenance" in tier.when for coverage in terms.coverages for tier in coverage.tiers)


def changes(unit: Unit, holding: Holding, lasts: Iterable[dt.date]) -> set[dt.date]:
    """List the days on which passing time alone may change a result, but for yearly maintenance; `lasts` are its `last_days`.

    Every day at which some comparison of the rules flips is a candidate; a day too many costs one working out again, a day
    too few would be a wrong row.
    """
    start = start_of(unit, holding).day
    terms = holding.terms
    found: set[dt.date] = set()
    anchors = {repair.repaired_on for repair in unit.repairs if repair.new_part and repair.repaired_on}
    found |= {day + DAY for day in anchors}
    if start is not None:
        found.add(start)
        for coverage in terms.coverages:
            found.add(start + DAY * coverage.waits_days)
    found |= {last + DAY for last in lasts}
    found |= conditions.changes(unit, holding)
    found |= {day for day in (unit.replaced_on, unit.exchanged_on, unit.removed_on) if day is not None}
    return found


def last_days(unit: Unit, holding: Holding) -> set[dt.date]:
    """List the last days of each tier from the start, and of each replaced part's own term."""
    terms, start = holding.terms, start_of(unit, holding).day
    lengths = [(start, tier.length) for coverage in terms.coverages for tier in coverage.tiers]
    if terms.replacement is not None and terms.replacement.rule != "remainder":
        lengths += [(repair.repaired_on, terms.replacement.length) for repair in unit.repairs if repair.new_part]
    lasts = {
        last_day(first, length, counts_first_day=terms.counts_first_day)
        for first, length in lengths
        if first is not None
    }
    return {last for last in lasts if last is not None}
