"""Facts that nobody recorded and on which coverage hangs: which they are, and how many days of coverage each may open."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from fleet.rules import conditions, registration, words
from fleet.rules.coverage import ANY_OTHER, Group
from fleet.rules.dates import DAY, Length
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Answer, Code, Reason, Result, Verdict
from fleet.rules.starts import date_of, start_of

# Each fact by the name of its field; those of a site are asked once for all units there.
SITE_FACTS = ("region", "use", "closed_on", "new_construction")
DAYS = ("started_on", "installed_on", "purchased_on", "manufactured_on", "attached_on", "closed_on")
YES_NO = ("recognized_installer", "licensed_installer", "matched_system", "original_site", "new_construction")
FACTS = (
    "started_on", "installed_on", "purchased_on", "manufactured_on", "attached_on", "region", "use", "new_construction",
    "closed_on", "recognized_installer", "licensed_installer", "matched_system", "original_site", "maintenance", "serial",
    "style",
)  # fmt: skip
# A term for the life of the unit counts as ten years, so that it can be set beside others.
LIFETIME_DAYS = 3650
# Conditions whose "no" needs no start to be seen.
_NEED_A_START = ("first owner", "yearly maintenance")


@dataclass(frozen=True, slots=True)
class MissingFact:
    """One fact missing for a unit: at which of its stays (None: of the unit itself), and days worth by kind of cost.

    Of a kind these are the days of the components that gain most: years of one and of another make no more years.

    `first` and `last` bound the day that proof of maintenance is missing from; they are blank for every other fact.
    """

    fact: str
    stay: int | None
    worth: tuple[int, int, int, int]
    first: dt.date | None = None
    last: dt.date | None = None


class _Sheet:
    """What facts are worth, by the row of each kind that gains most."""

    def __init__(self, unit: Unit, on: dt.date) -> None:
        self.unit = unit
        self.on = on
        self.worth: dict[tuple[str, int | None], list[int]] = {}
        self.gaps: list[tuple[dt.date, dt.date]] = []

    def add(self, fact: str, stay: int | None) -> list[int]:
        return self.worth.setdefault((fact, stay), [0] * len(words.KINDS))

    def share(self, reasons: Iterable[Reason], kind: str, days: int, holding: Holding) -> None:
        """Count an equal share of the days for each fact among the reasons, where no other components gain more by it."""
        missing = dict.fromkeys(fact for reason in reasons if (fact := self._fact(reason, holding)) is not None)
        for fact in missing:
            worth, place = self.add(*fact), words.KINDS.index(kind)
            worth[place] = max(worth[place], days // len(missing))

    def _fact(self, reason: Reason, holding: Holding) -> tuple[str, int | None] | None:
        match reason.code:
            case Code.CONDITION_OPEN if reason.what in words.USES:
                return "use", self._stay_on(self.on)
            case Code.CONDITION_OPEN:
                return reason.what.replace(" ", "_"), None
            case Code.ANCHOR_UNKNOWN | Code.START_UNKNOWN:
                return _date(reason.what, holding)
            case Code.PLACE_UNKNOWN:
                return reason.what, 0 if reason.day is None else self._stay_on(reason.day)
            case Code.MAINTENANCE_GAP if reason.day is not None and reason.until is not None:
                self.gaps.append((reason.day, reason.until))
                return "maintenance", None
            case _:
                return None

    def _stay_on(self, day: dt.date) -> int:
        return max(
            (number for number, stay in enumerate(self.unit.stays) if stay.first is None or stay.first <= day),
            default=0,
        )


def missing_facts(
    unit: Unit,
    held: Iterable[tuple[Holding, Sequence[Group]]],
    *,
    on: dt.date,
    serial: str,
    role: str,
    style: str,
    no_start: bool = False,
) -> tuple[MissingFact, ...]:
    """What is missing for a unit in service, from what `coverage.groups` answered today under each holding.

    A row's worth is its possible last day less its definite one, or less the day before it begins where nothing is
    definite, so that time alone changes nothing; it is shared equally among the facts that the row hangs on. A term that
    is over whatever is found is worth nothing and misses nothing. `no_start` says that its upkeep hangs on the day it was
    started or installed.
    """
    sheet = _Sheet(unit, on)
    for holding, groups in held:
        for group in groups:
            _weigh(sheet, holding, group)
        _ask_of_holding(sheet, holding)
    if not words.key(serial):
        sheet.add("serial", None)
    if role == "head" and not style:
        sheet.add("style", None)
    if no_start and not sheet.worth.keys() & {("started_on", None), ("installed_on", None)}:
        sheet.add("installed_on", None)
    gap = min(sheet.gaps, default=(None, None))
    found = [
        MissingFact(fact, stay, (parts, labor, refrigerant, freight), *(gap if fact == "maintenance" else (None, None)))
        for (fact, stay), (parts, labor, refrigerant, freight) in sheet.worth.items()
    ]
    return tuple(sorted(found, key=lambda one: (FACTS.index(one.fact), one.stay or 0)))


def _weigh(sheet: _Sheet, holding: Holding, group: Group) -> None:
    answer = group.answer
    if answer.result is Result.CANNOT_SAY:
        sheet.share(answer.reasons, group.kind, _longest(sheet, holding, group), holding)
        return
    if answer.possible_lifetime or (answer.possible_last is not None and answer.possible_last >= sheet.on):
        sheet.share(answer.hangs_on, group.kind, _gain(answer, answer.possible_last), holding)
    if answer.result is Result.COVERED_IF and set(answer.needs) - set(answer.hangs_on):
        hoped = next(reason.until for reason in answer.reasons if reason.code is Code.TIER_USED)
        others = [need for need in answer.needs if need not in answer.hangs_on]
        sheet.share(others, group.kind, _gain(answer, hoped), holding)


def _gain(answer: Answer, reach: dt.date | None) -> int:
    if reach is None:
        return LIFETIME_DAYS
    base = answer.last or (answer.possible_first and answer.possible_first - DAY)
    return 0 if base is None else (reach - base).days


def _longest(sheet: _Sheet, holding: Holding, group: Group) -> int:
    """While the start is unknown: the longest tier with no condition that fails."""
    asked = group.components[0] if group.components[0] != "*" else ANY_OTHER
    coverage = holding.terms.coverage(group.kind, asked)
    tiers = () if coverage is None else coverage.tiers
    open_tiers = (tier for tier in tiers if not any(_fails(sheet, holding, name) for name in tier.when))
    return max((_days(tier.length) for tier in open_tiers), default=0)


def _fails(sheet: _Sheet, holding: Holding, name: str) -> bool:
    if name in _NEED_A_START:
        return False
    if name == "registered":
        found = registration.judge(sheet.unit, holding, start=None, asked=sheet.on)
    else:
        found = conditions.judge(name, sheet.unit, holding, start=sheet.on, on=sheet.on, asked=sheet.on)
    return found.verdict is Verdict.NO


def _days(length: Length) -> int:
    if length.months is not None:
        return length.months * 365 // 12
    return LIFETIME_DAYS if length.days is None else length.days


def _ask_of_holding(sheet: _Sheet, holding: Holding) -> None:
    """Ask for proof of an assumed start, and what a new house would change; neither opens days that can be counted."""
    unit, terms = sheet.unit, holding.terms
    start = start_of(unit, holding)
    if start.assumed and date_of(start.wanted, unit, holding) is None:
        missing = _date(start.wanted, holding)
        if missing is not None:
            sheet.add(*missing)
    house = unit.first_site
    new_house = {date.date for basis in terms.starts if basis.new_house_only for date in basis.dates}
    if terms.registration is not None and terms.registration.new_house_counted_from:
        new_house.add(terms.registration.new_house_counted_from)
    if new_house and house.new_construction is None:
        sheet.add("new_construction", 0)
    if "closed_on" in new_house and house.new_construction and house.closed_on is None:
        sheet.add("closed_on", 0)


def _date(name: str, holding: Holding) -> tuple[str, int | None] | None:
    if name == "attached_on" and not holding.attached:
        return None  # there is nothing on file that such a day could be written on
    return name, 0 if name == "closed_on" else None


# ------------------------------------------------------------------------------------------------- what was opened

# What one kept row says: covered or not, to which day, for life.
Said = tuple[bool, dt.date | None, bool]


@dataclass(frozen=True, slots=True)
class Opened:
    """What a fact did: units whose coverage runs longer, the latest last day by kind (None: for life), and units that lost."""

    units: int
    lasts: tuple[tuple[str, dt.date | None], ...]
    lost: int


def opened(
    before: Mapping[tuple[int, int, str, str], Said], after: Mapping[tuple[int, int, str, str], Said], *, on: dt.date
) -> Opened:
    """Compare kept rows by unit, terms, kind and components; a term that is over already opens nothing."""
    units: set[int] = set()
    lost: set[int] = set()
    lasts: dict[str, dt.date] = {}
    for key in before.keys() | after.keys():
        unit, _, kind, _ = key
        had, has = _reach(before.get(key)), _reach(after.get(key))
        if has > had and has >= on:
            units.add(unit)
            lasts[kind] = max(lasts.get(kind, has), has)
        elif has < had and had >= on:
            lost.add(unit)
    told = ((kind, lasts[kind]) for kind in words.KINDS if kind in lasts)
    return Opened(len(units), tuple((kind, None if last == dt.date.max else last) for kind, last in told), len(lost))


def _reach(said: Said | None) -> dt.date:
    if said is None:
        return dt.date.min
    _, last, lifetime = said
    return dt.date.max if lifetime else last or dt.date.min
