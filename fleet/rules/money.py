"""Money on a failure: what it cost, what a payer's terms should credit, and what is still out.

All amounts are exact decimals in dollars. Lines keep every digit; a total is rounded once, to the cent, half up.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from fractions import Fraction

from fleet.rules import words
from fleet.rules.claims import APPROVED, ASKED_FOR, CENT, ZERO, State
from fleet.rules.findings import Answer, Result
from fleet.rules.terms import Allowance, ClaimTerms, Terms

_MINUTES_AN_HOUR = 60


def cents(amount: Decimal) -> Decimal:
    """Round to the cent, half up.

    >>> cents(Decimal("0.125")), cents(Decimal("0.1249"))
    (Decimal('0.13'), Decimal('0.12'))
    """
    return amount.quantize(CENT, ROUND_HALF_UP)


# ----------------------------------------------------------------------------------------------------- what it cost


@dataclass(frozen=True, slots=True)
class Job:
    """What putting a failure right took; None where nobody recorded it.

    `hourly` is our own rate. `refrigerant` is what the refrigerant cost, `added` how many pounds of which were put in,
    `recovered` whether any was taken out first.
    """

    component: str
    parts: Decimal | None = None
    labor_minutes: int | None = None
    hourly: Decimal = ZERO
    refrigerant: Decimal | None = None
    freight: Decimal | None = None
    added: tuple[tuple[str, Decimal], ...] = ()
    recovered: bool = False


def costs(job: Job) -> Mapping[str, Decimal]:
    """What a job cost us, in dollars by kind of cost; what nobody recorded counts as nothing."""
    labor = job.hourly * (job.labor_minutes or 0) / _MINUTES_AN_HOUR
    spent = {"parts": job.parts, "labor": labor, "refrigerant": job.refrigerant, "freight": job.freight}
    return {kind: cents(spent[kind] or ZERO) for kind in words.KINDS}


def cost(job: Job) -> Decimal:
    """What a job cost us in all, in dollars."""
    return sum(costs(job).values(), ZERO)


# ------------------------------------------------------------------------------------------------- expected credit


class Item(StrEnum):
    """What a line of an expected credit is for."""

    PARTS = "parts"
    LABOR = "labor"
    CALL = "call"
    HOURS = "hours"
    REFRIGERANT = "refrigerant"
    RECLAIM = "reclaim"
    HANDLING = "handling"
    FREIGHT = "freight"
    FEE = "fee"


class Standing(StrEnum):
    """Whether a line counts, or why it does not."""

    COUNTS = "counts"
    PERHAPS = "perhaps"
    NOT_COVERED = "not covered"
    NOT_IN_ALLOWANCE = "not in the allowance"
    NOT_RECORDED = "not recorded"
    NOT_DONE = "not done"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an expected credit: the numbers that were multiplied and what they make, exactly.

    `kind` is the kind of cost it hangs on, `what` the component or refrigerant it is about. A line that hangs on
    something open (`perhaps`) has its amount; one that does not count has none.
    """

    item: Item
    kind: str
    standing: Standing
    factors: tuple[Decimal, ...] = ()
    what: str = ""

    @property
    def amount(self) -> Decimal:
        """What the line makes, every digit of it."""
        if self.standing not in (Standing.COUNTS, Standing.PERHAPS) or not self.factors:
            return ZERO
        found = Decimal(1)
        for factor in self.factors:
            found *= factor
        return -found if self.item is Item.FEE else found


@dataclass(frozen=True, slots=True)
class Credit:
    """What a payer should credit, line by line; `possible` counts the lines that hang on something open as well."""

    lines: tuple[Line, ...]
    total: Decimal
    possible: Decimal


def expected(
    terms: Terms,
    found: Iterable[Answer],
    job: Job,
    *,
    rules: ClaimTerms | None = None,
    kinds: Collection[str] = words.KINDS,
) -> Credit:
    """Work out what the payer of some terms should credit for a job, from its answers, for the kinds of cost asked for.

    1. Parts at what they cost. 2. Labor by the allowance: the call, and the component's hours at the payer's hourly rate.
    3. Refrigerant by weight, and reclaiming it if that was done. 4. Handling by what the part cost. 5. Freight at what it
    cost. 6. Less the fee, of the supplier where it has its own (`rules`).
    Each only where the answer covers that kind of cost; handling goes with the part or with the work on it, whichever is
    paid for. Where the terms have no allowance, labor and refrigerant count at what they cost.
    """
    covered = {answer.kind: answer.result for answer in found if answer.terms == terms.code and answer.kind in kinds}
    lines = [
        *_at_cost(Item.PARTS, "parts", job.parts, covered, wanted=True),
        *_labor(terms.allowance, job, covered),
        *_refrigerant(terms.allowance, job, covered),
        *_handling(terms.allowance, job, covered),
        *_at_cost(Item.FREIGHT, "freight", job.freight, covered, wanted=False),
    ]
    certain = _sum(lines, Standing.COUNTS)
    possible = certain + _sum(lines, Standing.PERHAPS)
    fee = (rules or terms.claims).fee
    if fee and possible:
        lines.append(Line(Item.FEE, "", Standing.COUNTS if certain else Standing.PERHAPS, (fee,)))
    return Credit(
        tuple(lines), cents(certain - (fee if certain else ZERO)), cents(possible - (fee if possible else ZERO))
    )


def _sum(lines: Iterable[Line], standing: Standing) -> Decimal:
    return sum((line.amount for line in lines if line.standing is standing), ZERO)


def _standing(result: Result | None) -> Standing:
    if result is Result.COVERED:
        return Standing.COUNTS
    return Standing.PERHAPS if result in (Result.COVERED_IF, Result.CANNOT_SAY) else Standing.NOT_COVERED


def _at_cost(
    item: Item, kind: str, spent: Decimal | None, covered: Mapping[str, Result], *, wanted: bool
) -> list[Line]:
    standing = _standing(covered.get(kind))
    if standing is Standing.NOT_COVERED:
        return [Line(item, kind, standing)] if spent else []
    if spent is None:
        return [Line(item, kind, Standing.NOT_RECORDED)] if wanted else []
    return [Line(item, kind, standing, (spent,))]


def _labor(rules: Allowance | None, job: Job, covered: Mapping[str, Result]) -> list[Line]:
    standing = _standing(covered.get("labor"))
    if rules is None or standing is Standing.NOT_COVERED:
        spent = None if job.labor_minutes is None else costs(job)["labor"]
        return _at_cost(Item.LABOR, "labor", spent, covered, wanted=True)
    found = [Line(Item.CALL, "labor", standing, (rules.call,))] if rules.call else []
    by_component = dict(rules.hours)
    hours = by_component.get(job.component, by_component.get("*"))
    if hours is None:
        return [*found, Line(Item.HOURS, "labor", Standing.NOT_IN_ALLOWANCE, what=job.component)]
    return [*found, Line(Item.HOURS, "labor", standing, (hours, rules.hourly), job.component)]


def _refrigerant(rules: Allowance | None, job: Job, covered: Mapping[str, Result]) -> list[Line]:
    standing = _standing(covered.get("refrigerant"))
    if rules is None or standing is Standing.NOT_COVERED:
        return _at_cost(Item.REFRIGERANT, "refrigerant", job.refrigerant, covered, wanted=bool(job.added))
    by_kind = {words.key(name): pays for name, pays in rules.refrigerant_per_lb}
    found = []
    for name, pounds in job.added:
        pays = by_kind.get(words.key(name))
        if pays is None:
            found.append(Line(Item.REFRIGERANT, "refrigerant", Standing.NOT_IN_ALLOWANCE, what=name))
        else:
            found.append(Line(Item.REFRIGERANT, "refrigerant", standing, (pounds, pays), name))
    if rules.reclaim:
        done = standing if job.recovered else Standing.NOT_DONE
        found.append(Line(Item.RECLAIM, "refrigerant", done, (rules.reclaim,)))
    return found


def _handling(rules: Allowance | None, job: Job, covered: Mapping[str, Result]) -> list[Line]:
    if rules is None or not rules.handling or job.parts is None:
        return []
    of_both = {kind: _standing(covered.get(kind)) for kind in ("parts", "labor")}
    for standing in (Standing.COUNTS, Standing.PERHAPS):
        for kind, found in of_both.items():
            if found is standing:
                return [_handling_line(rules, job.parts, kind, standing)]
    return [Line(Item.HANDLING, "parts", Standing.NOT_COVERED)]


def _handling_line(rules: Allowance, parts: Decimal, kind: str, standing: Standing) -> Line:
    for band in rules.handling:
        if band.below is None or parts < band.below:
            return Line(Item.HANDLING, kind, standing, (band.pays,))
    return Line(Item.HANDLING, kind, Standing.NOT_IN_ALLOWANCE)


def most(job: Job, *of_payers: Credit) -> Decimal:
    """The most that all payers of a failure together may be asked for: what was spent, or an allowance that is more.

    An allowance is a set amount: the payer owes it also where the work was quicker. No other amount goes over what was spent.
    Of several payers' allowances for one kind of cost, the largest counts.
    """
    found = costs(job)
    for credit in of_payers:
        allowed: dict[str, Decimal] = defaultdict(Decimal)
        for line in credit.lines:
            if line.item is not Item.FEE:
                allowed[line.kind] += line.amount
        found = {kind: max(amount, allowed[kind]) for kind, amount in found.items()}
    return cents(sum(found.values(), ZERO))


def labor_shortfall(job: Job, expected_of: Iterable[Credit]) -> Decimal:
    """The amount by which our hours cost more than all payers together pay for labor."""
    paid = (
        line.amount
        for credit in expected_of
        for line in credit.lines
        if line.standing is Standing.COUNTS and line.item in (Item.LABOR, Item.CALL, Item.HOURS)
    )
    return cents(costs(job)["labor"] - sum(paid, ZERO))


# ---------------------------------------------------------------------------------------------------------- claims


# Where nothing is to come.
WILL_NOT_COME = (State.DENIED, State.WRITTEN_OFF, State.WITHDRAWN)


@dataclass(frozen=True, slots=True)
class Account:
    """The money of one claim: what its payer's terms should credit, what was asked, approved and credited so far."""

    payer: str
    maker: str
    state: State
    filed_on: dt.date | None = None
    claimable: Decimal = ZERO
    asked: Decimal = ZERO
    approved: Decimal = ZERO
    credited: Decimal = ZERO

    @property
    def out(self) -> Decimal:
        """What we have fronted: asked for or approved, and not credited yet."""
        if self.state in APPROVED:
            return max(self.approved - self.credited, ZERO)
        if self.state in ASKED_FOR:
            return max(self.asked - self.credited, ZERO)
        return ZERO

    @property
    def lost(self) -> Decimal:
        """What could have been credited and will not be, as things stand."""
        return max(self.claimable - self.credited, ZERO) if self.state in WILL_NOT_COME else ZERO


@dataclass(frozen=True, slots=True)
class Age:
    """What has been out for so many days: from `first` to `last`, both inside (None: and longer)."""

    first: int
    last: int | None
    claims: int
    amount: Decimal


# The house's own bands; nothing outside it hangs on them.
_AGES = ((0, 10), (11, 30), (31, 60), (61, None))


def fronted(accounts: Iterable[Account], *, on: dt.date) -> tuple[Age, ...]:
    """What is fronted, by the days since it was first asked for; every band is there, even an empty one."""
    return aged(((account.filed_on, 1, account.out) for account in accounts if account.filed_on and account.out), on=on)


def aged(out: Iterable[tuple[dt.date, int, Decimal]], *, on: dt.date) -> tuple[Age, ...]:
    """The same for sums by day: each day of filing, with the number of claims out since and the amount."""
    told = [((on - filed_on).days, claims, amount) for filed_on, claims, amount in out]
    found = []
    for first, last in _AGES:
        inside = [one for one in told if first <= one[0] and (last is None or one[0] <= last)]
        found.append(Age(first, last, sum(one[1] for one in inside), sum((one[2] for one in inside), ZERO)))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Recovery:
    """What came back of what could have been credited, for all claims of one name."""

    name: str
    claims: int
    claimable: Decimal
    recovered: Decimal
    out: Decimal
    lost: Decimal

    @property
    def share(self) -> Fraction | None:
        """Recovered / claimable; None where nothing was claimable."""
        return Fraction(self.recovered) / Fraction(self.claimable) if self.claimable else None


def recoveries(accounts: Iterable[Account], by: Callable[[Account], str]) -> tuple[Recovery, ...]:
    """Add up what came back, by payer, by maker or by whatever names a claim; in order of the names."""
    named: dict[str, list[Account]] = defaultdict(list)
    for account in accounts:
        named[by(account)].append(account)
    return tuple(
        Recovery(
            name,
            len(found),
            sum((one.claimable for one in found), ZERO),
            sum((one.credited for one in found), ZERO),
            sum((one.out for one in found), ZERO),
            sum((one.lost for one in found), ZERO),
        )
        for name, found in sorted(named.items())
    )
