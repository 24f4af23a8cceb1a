"""Which terms a unit holds, what they say about a failure, and who pays."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fleet.rules import conditions, payers, words
from fleet.rules.dates import DAY, Length, Span, last_day
from fleet.rules.facts import Holding, Repair, Unit
from fleet.rules.findings import Answer, Code, Judgement, Payment, Reason, Result, Verdict
from fleet.rules.starts import Start, start_of
from fleet.rules.terms import Coverage, Terms, Tier

# A nearest miss names its noes in this order: what somebody can most easily change or prove comes first.
_EASIEST_FIRST = {
    name: place
    for place, name in enumerate(
        (
            "registered", "first owner", "yearly maintenance", "recognized installer", "matched system", "licensed installer",
            "original site", "owner home", "rental", "business", "away from coast",
        )
    )
}  # fmt: skip
_FOREVER = dt.date.max


def held(unit: Unit, told: Iterable[Holding], withdrawn: frozenset[str] = frozenset()) -> tuple[Holding, ...]:
    """Choose, of the terms on file, those that the unit holds, in the order answers are given.

    `told` has one holding per terms on file that might matter, with what was recorded for this unit under them;
    `withdrawn` are the codes that other terms replace: readable, never held.
    """
    found = [holding for holding in told if holding.terms.code not in withdrawn and _holds(unit, holding)]
    return in_order(found)


def in_order(holdings: Iterable[Holding]) -> tuple[Holding, ...]:
    """Holdings in the order in which payers are asked."""
    return tuple(sorted(holdings, key=lambda holding: (words.PAYERS.index(holding.terms.payer), holding.terms.code)))


def _holds(unit: Unit, holding: Holding) -> bool:
    terms = holding.terms
    if holding.attached:
        return True
    payer = payers.BY_CODE[terms.payer]
    if payer.bought or (payer.ours and not unit.installed_by_us):
        return False
    if not terms.fits(maker=unit.maker, model=unit.model):
        return False
    start = start_of(unit, holding).day
    if start is None:
        return True
    return terms.installed_from <= start and (terms.installed_to is None or start <= terms.installed_to)


@dataclass(frozen=True, slots=True)
class _Term:
    """One tier worked out for one unit: its last day and what became of each of its conditions."""

    tier: Tier
    last: dt.date
    noes: tuple[str, ...]
    opens: tuple[str, ...]

    def reaches(self, day: dt.date) -> bool:
        return day <= self.last


@dataclass(frozen=True, slots=True)
class _Reached:
    """What one coverage comes to on the day of the failure, decided but not written up.

    `too_early`: the day lies before the first day on which the unit's own term pays.
    """

    own: tuple[_Term, ...]
    first: dt.date
    span: Span | None
    definite: _Term | None
    possible: _Term | None
    replaced: Reason | None
    result: Result
    too_early: bool


class Reading:
    """One holding of one unit, read for a failure on a day and a day of asking; conditions are judged once and shared."""

    def __init__(self, unit: Unit, holding: Holding, *, on: dt.date, asked: dt.date) -> None:
        self.unit = unit
        self.holding = holding
        self.terms: Terms = holding.terms
        self.on = on
        self.asked = asked
        self._judged: dict[str, Judgement] = {}

    @cached_property
    def start(self) -> Start:
        """The day the terms start for this unit."""
        return start_of(self.unit, self.holding)

    def condition(self, name: str) -> Judgement:
        """Judge a condition, once."""
        found = self._judged.get(name)
        if found is None:
            assert self.start.day is not None
            found = conditions.judge(name, self.unit, self.holding, start=self.start.day, on=self.on, asked=self.asked)
            self._judged[name] = found
        return found

    def last_day(self, length: Length, first: dt.date) -> dt.date:
        """The last day of a length by these terms' own convention; a lifetime one lasts to the end of days."""
        return last_day(first, length, counts_first_day=self.terms.counts_first_day) or _FOREVER

    def _term(self, tier: Tier, start: dt.date) -> _Term:
        noes, opens = [], []
        for name in tier.when:
            verdict = self.condition(name).verdict
            if verdict is Verdict.NO:
                noes.append(name)
            elif verdict is Verdict.OPEN:
                opens.append(name)
        return _Term(tier, self.last_day(tier.length, start), tuple(noes), tuple(opens))

    def answer(self, kind: str, component: str, cause: str = "") -> Answer:
        """Judge one kind of cost for one component, in this order.

        1. The unit was exchanged or taken out on or before the day. 2. No coverage for the component. 3. The cause is
        excluded. 4. The start is unknown. 5. A replaced part's own term, where the terms give it one. 6. Inside the
        definite term, inside the possible one, or neither.
        """
        gone = _gone(self.unit, self.on)
        coverage = self.terms.coverage(kind, component)
        if gone is not None:
            return self._flat(kind, Result.NOT_COVERED, gone)
        if coverage is None:
            return self._flat(kind, Result.NOT_COVERED, Reason(Code.COMPONENT_NOT_LISTED, what=component))
        if cause and cause in self.terms.excludes_causes:
            return self._flat(kind, Result.NOT_COVERED, Reason(Code.CAUSE_EXCLUDED, what=cause))
        if self.start.day is None:
            unknown = Reason(Code.START_UNKNOWN, what=self.start.wanted)
            return self._flat(kind, Result.CANNOT_SAY, unknown, (unknown,))
        return self._judge(kind, self._reached(kind, component, coverage, self.start.day), self.start.day)

    def outcome(self, kind: str, component: str) -> tuple[Result, bool]:
        """The result of `answer` alone, without its reasons, and whether the day lies in waiting days."""
        coverage = self.terms.coverage(kind, component)
        if coverage is None or _gone(self.unit, self.on) is not None:
            return Result.NOT_COVERED, False
        if self.start.day is None:
            return Result.CANNOT_SAY, False
        reached = self._reached(kind, component, coverage, self.start.day)
        return reached.result, reached.too_early and self.on >= self.start.day

    def _flat(self, kind: str, result: Result, reason: Reason, needs: tuple[Reason, ...] = ()) -> Answer:
        return Answer(self.terms.code, self.terms.payer, kind, result, (reason,), needs)

    def _reached(self, kind: str, component: str, coverage: Coverage, start: dt.date) -> _Reached:
        """Decide in which term the day lies, if in any."""
        own = tuple(self._term(tier, start) for tier in coverage.tiers)
        first = start + DAY * coverage.waits_days
        definite = _longest(term for term in own if not term.noes and not term.opens)
        possible = _longest(term for term in own if not term.noes)
        span = None if definite is None else Span(first, definite.last)
        part = self._replaced_part(kind, component)
        replaced = None
        if part is not None:
            renewed = Span(part, self._replacement_last(part))
            assert self.terms.replacement is not None
            fresh = self.terms.replacement.rule == "fresh"
            if fresh or span is None or (renewed.last or _FOREVER) > (span.last or _FOREVER):
                span = renewed
                replaced = Reason(Code.PART_REPLACED, what=component, day=part, until=renewed.last)
                if fresh:
                    possible, own = None, ()
        result, too_early = Result.NOT_COVERED, False
        if span is not None and self.on in span:
            result = Result.COVERED
        elif own and self.on < first:
            too_early = True
        elif possible is not None and possible.reaches(self.on):
            result = Result.COVERED_IF
        return _Reached(own, first, span, definite, possible, replaced, result, too_early)

    def _judge(self, kind: str, reached: _Reached, start: dt.date) -> Answer:
        """Write up what was decided, with its days and its reasons."""
        own, span, possible = reached.own, reached.span, reached.possible
        reach = None if possible is None or (span is not None and possible.last <= _end(span)) else possible.last
        answer = Answer(
            self.terms.code,
            self.terms.payer,
            kind,
            Result.NOT_COVERED,
            (),
            first=None if span is None else span.first,
            last=None if span is None or span.last == _FOREVER else span.last,
            lifetime=span is not None and span.last == _FOREVER,
            possible_last=None if reach == _FOREVER else reach,
            possible_lifetime=reach == _FOREVER,
            possible_first=None if reach is None else reached.first,
            hangs_on=() if reach is None or possible is None else self._opens(possible),
        )
        replaced = (reached.replaced,) if reached.replaced else ()
        assumed = (Reason(Code.START_ASSUMED, what=self.start.by, day=start),) if self.start.assumed else ()
        around = (*assumed, *self._edge(span, possible))
        if reached.result is Result.COVERED:
            used = replaced or self._used(reached.definite)
            return replace(answer, result=Result.COVERED, reasons=(*used, *around), needs=assumed)
        if reached.too_early:
            code = Code.BEFORE_START if self.on < start else Code.WAITING_DAYS
            return replace(answer, reasons=(*replaced, Reason(code, day=start, until=reached.first), *assumed))
        if reached.result is Result.COVERED_IF:
            reaching = (term for term in own if not term.noes and term.reaches(self.on))
            hoped = min(reaching, key=lambda term: (len(term.opens), -term.last.toordinal()))
            return replace(
                answer,
                result=Result.COVERED_IF,
                reasons=(*self._used(hoped), *replaced, *around),
                needs=(*self._opens(hoped), *assumed),
            )
        ended = "" if reached.definite is None or replaced else str(reached.definite.tier.length)
        return replace(answer, reasons=(*self._misses(span, ended, reached.replaced, own), *around))

    def _opens(self, term: _Term) -> tuple[Reason, ...]:
        """The reasons for what is still open in a tier."""
        return tuple(reason for name in term.opens for reason in self.condition(name).reasons)

    def _used(self, term: _Term | None) -> tuple[Reason, ...]:
        """The tier used, and why each of its conditions holds; empty without one."""
        if term is None:
            return ()
        last = None if term.last == _FOREVER else term.last
        met = (
            reason
            for name in term.tier.when
            if self.condition(name).verdict is Verdict.YES
            for reason in self.condition(name).reasons
        )
        return (Reason(Code.TIER_USED, what=str(term.tier.length), until=last), *met)

    def _edge(self, span: Span | None, possible: _Term | None) -> tuple[Reason, ...]:
        lasts = {_end(span) if span is not None else None, None if possible is None else possible.last}
        return tuple(
            Reason(Code.EDGE_DAY, until=last)
            for last in sorted(day for day in lasts if day is not None and day != _FOREVER)
            if abs((last - self.on).days) <= 1
        )

    def _misses(
        self, span: Span | None, ended: str, replaced: Reason | None, own: Sequence[_Term]
    ) -> tuple[Reason, ...]:
        """Why not: the term that ended, then the noes of the nearest miss, easiest to change first."""
        found: list[Reason] = [replaced] if replaced else []
        if span is not None:
            found.append(Reason(Code.ENDED, what=ended, until=span.last))
        if not own:
            return tuple(found)
        reaching = [term for term in own if term.reaches(self.on)]
        if reaching:
            nearest = min(reaching, key=lambda term: (len(term.noes), -term.last.toordinal()))
        else:
            nearest = max(own, key=lambda term: term.last)
        noes = sorted(nearest.noes, key=_EASIEST_FIRST.__getitem__)
        for name in noes:
            alone = reaching and len(noes) == 1 and not nearest.opens
            reach = nearest.last if alone and nearest.last != _FOREVER else None
            found.extend(replace(reason, would_reach=reach) for reason in self.condition(name).reasons)
        if not reaching and (span is None or span.last != nearest.last):
            found.append(Reason(Code.ENDED, what=str(nearest.tier.length), until=nearest.last))
        return tuple(found)

    def _replaced_part(self, kind: str, component: str) -> dt.date | None:
        """The latest day before the failure on which this component was replaced, where that bears on the answer."""
        rules = self.terms.replacement
        if kind != "parts" or rules is None or rules.rule == "remainder":
            return None
        return last_replaced(self.unit.repairs, component, before=self.on)

    def _replacement_last(self, part: dt.date) -> dt.date:
        assert self.terms.replacement is not None
        return self.last_day(self.terms.replacement.length, part)


def last_replaced(repairs: Iterable[Repair], component: str, *, before: dt.date) -> dt.date | None:
    """The latest repair day, strictly before a day, on which the component got a new part."""
    days = [
        repair.repaired_on
        for repair in repairs
        if repair.component == component and repair.new_part and repair.repaired_on and repair.repaired_on < before
    ]
    return max(days, default=None)


def _gone(unit: Unit, on: dt.date) -> Reason | None:
    if unit.replaced_on is not None and on < unit.replaced_on:
        return Reason(Code.UNIT_EXCHANGED, what="came", day=unit.replaced_on)
    if unit.exchanged_on is not None and unit.exchanged_on <= on:
        return Reason(Code.UNIT_EXCHANGED, what="went", day=unit.exchanged_on)
    if unit.removed_on is not None and unit.removed_on <= on:
        return Reason(Code.UNIT_REMOVED, day=unit.removed_on)
    return None


def _end(span: Span) -> dt.date:
    return span.last or _FOREVER


def _longest(terms: Iterable[_Term]) -> _Term | None:
    return max(terms, key=lambda term: term.last, default=None)


def answers(
    unit: Unit, holdings: Iterable[Holding], component: str, *, on: dt.date, asked: dt.date, cause: str = ""
) -> tuple[Answer, ...]:
    """Answer one failure: one answer per terms held (as `held` orders them) and kind of cost that any coverage pays for."""
    found: list[Answer] = []
    for holding in holdings:
        reading = Reading(unit, holding, on=on, asked=asked)
        found.extend(reading.answer(kind, component, cause) for kind in holding.terms.kinds)
    return tuple(found)


def payments(found: Iterable[Answer]) -> tuple[Payment, ...]:
    """Who pays each kind of cost: the first payer covered, else the first covered_if, else unknown, else the customer.

    Worth asking is every payer before the one that pays that is covered_if or cannot_say; where nobody can say, all of those.
    """
    found = tuple(found)
    return tuple(_payment(kind, [answer for answer in found if answer.kind == kind]) for kind in words.KINDS)


def _payment(kind: str, of_kind: Sequence[Answer]) -> Payment:
    said = {payer: {answer.result for answer in of_kind if answer.payer == payer} for payer in words.PAYERS}
    unsure = [payer for payer in words.PAYERS if said[payer] & {Result.COVERED_IF, Result.CANNOT_SAY}]
    for result, suffix in ((Result.COVERED, ""), (Result.COVERED_IF, " if")):
        for place, payer in enumerate(words.PAYERS):
            if result in said[payer]:
                before = words.PAYERS[:place]
                return Payment(kind, payer + suffix, tuple(name for name in unsure if name in before))
    return Payment(kind, "cannot say" if unsure else "customer", tuple(unsure))


@dataclass(frozen=True, slots=True)
class Group:
    """Components that get the same answer from one holding for one kind of cost; `*` stands for all not named elsewhere."""

    kind: str
    components: tuple[str, ...]
    answer: Answer


def groups(unit: Unit, holding: Holding, *, on: dt.date, asked: dt.date | None = None) -> tuple[Group, ...]:
    """Answer a failure on a day of every component: one group per coverage, and one per part that was replaced before.

    It is asked on that very day, unless `asked` is another one.
    """
    reading = Reading(unit, holding, on=on, asked=asked or on)
    terms = holding.terms
    renewed = {repair.component for repair in unit.repairs if repair.new_part and repair.repaired_on}
    replaced = [] if terms.replacement is None else sorted(renewed)
    found: list[Group] = []
    for coverage in terms.coverages:
        for kind in coverage.pays_for:
            apart = _apart(terms, coverage, kind, replaced) if kind == "parts" else ()
            together = tuple(name for name in coverage.components if name not in apart)
            if together:
                first = together[0] if together[0] != "*" else ANY_OTHER
                found.append(Group(kind, together, reading.answer(kind, first)))
            found.extend(Group(kind, (name,), reading.answer(kind, name)) for name in apart)
    return tuple(sorted(found, key=lambda group: (words.KINDS.index(group.kind), group.components)))


# A name that no coverage lists and no repair bears: it gets what `*` gets.
ANY_OTHER = "any other"


def _apart(terms: Terms, coverage: Coverage, kind: str, replaced: Iterable[str]) -> tuple[str, ...]:
    return tuple(name for name in replaced if terms.coverage(kind, name) is coverage)
