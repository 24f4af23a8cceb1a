"""Whether a system is still a matched one: what was answered each time an outdoor unit of it was exchanged."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from fleet import models
from fleet.rules import facts
from fleet.rules.care import System

# Those that a manufacturer's list of matched systems names together with an outdoor unit.
INDOOR = ("head", "air handler", "furnace")
# The answer as the rules know it; what nobody knows is open.
_MATCHED = {"yes": True, "no": False}


@dataclass(frozen=True, slots=True)
class Exchange:
    """An outdoor unit that was exchanged, by its key and day, and what was answered about its system."""

    key: int
    on: dt.date
    still_matched: str


# Such exchanges by the key of the system where the unit stood.
Exchanges = Mapping[int, Sequence[Exchange]]


def is_asked(unit: models.Unit) -> bool:
    """Whether an exchange of this unit leaves indoor units with an outdoor unit that they may not match."""
    if unit.role != "outdoor":
        return False
    return models.Unit.objects.in_service().filter(system=unit.system_id, role__in=INDOOR).exists()


def exchanges(systems: Iterable[System]) -> Exchanges:
    """The exchanges of outdoor units of some systems after which somebody said whether the system still matches."""
    found: dict[int, list[Exchange]] = defaultdict(list)
    for system in systems:
        for unit in system.units:
            if unit.still_matched and unit.left_on is not None:
                found[int(system.key)].append(Exchange(int(unit.key), unit.left_on, unit.still_matched))
    return found


def of_line(chain: Sequence[models.Unit], known: Exchanges) -> list[Exchange]:
    """Those of them that a unit was there for, in order of days; `chain` are the units it took over from, itself last."""
    if not known:
        return []
    root = chain[0]
    found: set[Exchange] = set()
    for unit in chain:
        for place in unit.places.all():
            came = place.joined_on or unit.replaced_on or root.installed_on or root.started_on or dt.date.min
            went = min(place.left_on or dt.date.max, unit.removed_on or dt.date.max)
            found |= {one for one in known.get(place.system_id, ()) if came <= one.on < went}
    return sorted(found, key=lambda one: (one.on, one.key))


def in_rules(rows: Iterable[Exchange]) -> tuple[facts.Match, ...]:
    """Such exchanges as the rules see them; of several on a day, one that does not match decides, then one not known."""
    by_day: dict[dt.date, bool | None] = {}
    for row in rows:
        said, before = _MATCHED.get(row.still_matched), by_day.get(row.on, True)
        by_day[row.on] = False if said is False or before is False else None if None in (said, before) else True
    return tuple(facts.Match(day, matched) for day, matched in sorted(by_day.items()))


def deciding(unit: models.Unit) -> models.Unit | None:
    """The exchanged outdoor unit whose exchange said last whether this unit's system matches; None where none did."""
    chain = [unit]
    while chain[0].took_over_from is not None:
        chain.insert(0, chain[0].took_over_from)
    systems = {place.system_id for one in chain for place in one.places.all()}
    rows = models.Unit.objects.filter(system__in=systems, removed_on__isnull=False).exclude(matched_after="")
    known: dict[int, list[Exchange]] = defaultdict(list)
    for row in rows:
        if row.removed_on is not None:
            known[row.system_id].append(Exchange(row.pk, row.removed_on, row.matched_after))
    found = of_line(chain, known)
    return next(row for row in rows if row.pk == found[-1].key) if found else None


def said_of(unit: models.Unit) -> str:
    """What was answered after the exchange of an outdoor unit, as a form of a fact shows it: yes, no, or nothing."""
    return unit.matched_after if unit.matched_after in _MATCHED else ""
