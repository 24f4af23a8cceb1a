"""Whether a system is still a matched one: what was answered each time an outdoor unit of it was exchanged."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from fleet import models
from fleet.rules import facts

# Those that a manufacturer's list of matched systems names together with an outdoor unit.
INDOOR = ("head", "air handler", "furnace")
# The answer as the rules know it; what nobody knows is open.
_MATCHED = {"yes": True, "no": False}

# The outdoor units that were exchanged with an answer, by the system where they stood.
Exchanged = Mapping[int, Sequence[models.Unit]]


def is_asked(unit: models.Unit) -> bool:
    """Whether an exchange of this unit leaves indoor units with an outdoor unit that they may not match."""
    if unit.role != "outdoor":
        return False
    return models.Unit.objects.in_service().filter(system=unit.system_id, role__in=INDOOR).exists()


def exchanged(systems: Iterable[int]) -> Exchanged:
    """The exchanges of outdoor units of some systems after which somebody said whether the system still matches."""
    found: dict[int, list[models.Unit]] = defaultdict(list)
    rows = models.Unit.objects.filter(system__in=set(systems)).exclude(matched_after="").exclude(removed_on=None)
    for row in rows.order_by("removed_on", "pk"):
        found[row.system_id].append(row)
    return found


def of_line(chain: Sequence[models.Unit], known: Exchanged) -> list[models.Unit]:
    """Those of them that a unit was there for, in order of days; `chain` are the units it took over from, itself last."""
    root = chain[0]
    found: dict[int, models.Unit] = {}
    for unit in chain:
        for place in unit.places.all():
            came = place.joined_on or unit.replaced_on or root.installed_on or root.started_on or dt.date.min
            went = min(place.left_on or dt.date.max, unit.removed_on or dt.date.max)
            for other in known.get(place.system_id, ()):
                if other.removed_on is not None and came <= other.removed_on < went:
                    found[other.pk] = other
    return sorted(found.values(), key=lambda one: (one.removed_on or dt.date.min, one.pk))


def in_rules(rows: Iterable[models.Unit]) -> tuple[facts.Match, ...]:
    """Such exchanges as the rules see them; of several on a day, one that does not match decides, then one not known."""
    by_day: dict[dt.date, bool | None] = {}
    for row in rows:
        assert row.removed_on is not None
        said = _MATCHED.get(row.matched_after)
        before = by_day.get(row.removed_on, True)
        by_day[row.removed_on] = False if said is False or before is False else None if None in (said, before) else True
    return tuple(facts.Match(day, matched) for day, matched in sorted(by_day.items()))


def deciding(unit: models.Unit) -> models.Unit | None:
    """The exchanged outdoor unit whose exchange said last whether this unit's system matches; None where none did."""
    chain = [unit]
    while chain[0].took_over_from is not None:
        chain.insert(0, chain[0].took_over_from)
    systems = [place.system_id for one in chain for place in one.places.all()]
    found = of_line(chain, exchanged(systems))
    return found[-1] if found else None


def said_of(unit: models.Unit) -> str:
    """What was answered after the exchange of an outdoor unit, as a form of a fact shows it: yes, no, or nothing."""
    return unit.matched_after if unit.matched_after in _MATCHED else ""
