"""Claims as the rules see them: what a failure's payers promise, under whose clocks, and the kept rows that follow."""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from fleet import models
from fleet.derived import failure_money
from fleet.derived.failure_money import MoneyValues, PartValues
from fleet.facts.failures import as_it_failed, days_of, job_of
from fleet.facts.terms import TermsBook
from fleet.facts.units import Told
from fleet.rules import claims, clocks, coverage, days_of_change, money, payers, which_component
from fleet.rules.findings import Answer, Result
from fleet.rules.money_parts import OnePayer
from fleet.rules.terms import ClaimTerms, Terms


class ClockValues(NamedTuple):
    """The columns of a ClockRow, by their names in the database."""

    failure_id: int
    terms_id: int
    claim_id: int | None
    kind: str
    last_on: dt.date | None
    first: bool
    counted_from: str
    lapses_on: dt.date | None
    worth: Decimal
    kinds: str
    next_on: dt.date | None


class ClaimValues(NamedTuple):
    """What of a claim is worked out: of which day and make it is, and, from its terms, what should come."""

    claim_id: int
    failed_on: dt.date | None
    maker: str
    expected: Decimal
    possible: Decimal
    next_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Promise:
    """What one payer's terms say about one failure: the answers by kind of cost, and whom a claim would name."""

    terms: Terms
    terms_id: int
    payer_name: str
    answers: tuple[Answer, ...]

    @property
    def hopeful(self) -> tuple[str, ...]:
        """The kinds of cost that the answers do not deny."""
        return tuple(answer.kind for answer in self.answers if answer.result is not Result.NOT_COVERED)


def failures_of(unit_ids: Iterable[int]) -> dict[int, list[models.Failure]]:
    """Bring the failures of units, with their claims and what `job_of` reads, in a fixed number of queries."""
    found: dict[int, list[models.Failure]] = {}
    for row in models.Failure.objects.filter(unit__in=unit_ids).with_claims():
        found.setdefault(row.unit_id, []).append(row)
    return found


def payer_name(terms: Terms) -> str:
    """The payer of some terms by name: the maker, or the title of what somebody else promised."""
    return terms.maker if terms.payer == "maker" else terms.title


def promises(told: Told, failure: models.Failure, book: TermsBook, *, asked: dt.date) -> tuple[Promise, ...]:
    """What each payer's terms say about a failure, in the order of answers; nothing before it is known which component failed."""
    if not failure.component:
        return ()
    unit = as_it_failed(told.unit, failure)
    found = coverage.answers(
        unit, told.holdings, failure.component, on=failure.failed_on, asked=asked, cause=failure.cause
    )
    by_terms: dict[str, list[Answer]] = {}
    for answer in found:
        by_terms.setdefault(answer.terms, []).append(answer)
    return tuple(
        Promise(book.by_code[code], book.pks[code], payer_name(book.by_code[code]), tuple(answers))
        for code, answers in by_terms.items()
    )


def supplier_rules(row: models.Supplier | None) -> clocks.SupplierRules | None:
    """A supplier's own clocks and fee."""
    if row is None:
        return None
    return clocks.SupplierRules(
        form_before_part=row.form_before_part,
        file_within_days=row.file_within_days,
        file_counted_from=row.file_counted_from,
        part_back_within_days=row.part_back_within_days,
        part_back_counted_from=row.part_back_counted_from,
        old_part=row.old_part or None,
        fee=row.fee,
    )


def usual_supplier(failure: models.Failure, terms: Terms) -> models.Supplier | None:
    """Through whom a claim goes if nobody says otherwise: a maker's part goes back the way it came."""
    return failure.supplier if terms.payer == "maker" else None


def rules_of(terms: Terms, supplier: models.Supplier | None) -> ClaimTerms:
    """The clocks, the fee and the required papers of a claim under some terms through a supplier."""
    return clocks.through(terms.claims, supplier_rules(supplier))


def kinds_of(row: models.Claim) -> tuple[str, ...]:
    """List the kinds of cost that a claim asks for."""
    return tuple(filter(None, row.kinds.split(";")))


def clocks_of(
    failure: models.Failure, row: models.Claim, terms: Terms, *, asked: dt.date, noted: bool = False
) -> tuple[clocks.Clock, ...]:
    """Find the clocks of a claim; those that somebody said count no more stand among them only if `noted`."""
    dismissed = set() if noted else {note.kind for note in row.clock_notes.all()}
    found = clocks.clocks(
        days_of(failure, row),
        rules_of(terms, row.supplier),
        component=failure.component,
        kinds=kinds_of(row),
        state=claims.State(row.state),
        asked=asked,
        part_asked_for=row.part_asked_for,
    )
    return tuple(clock for clock in found if clock.kind not in dismissed)


def clocks_without_claim(failure: models.Failure, promise: Promise, *, asked: dt.date) -> tuple[clocks.Clock, ...]:
    """Find the clocks that would run for a claim that nobody opened yet."""
    return clocks.clocks(
        days_of(failure),
        rules_of(promise.terms, usual_supplier(failure, promise.terms)),
        component=failure.component,
        kinds=promise.hopeful,
        state=claims.State.GATHERING,
        asked=asked,
    )


def credit_of(row: models.Claim, terms: Terms, answers: Iterable[Answer], job: money.Job) -> money.Credit:
    """Work out what the payer of a claim should credit for a job."""
    return money.expected(terms, answers, job, rules=rules_of(terms, row.supplier), kinds=kinds_of(row))


def credits_of(
    failure: models.Failure, promised: Iterable[Promise], book: TermsBook, house: models.House
) -> tuple[money.Job, dict[int, money.Credit]]:
    """Work out what the payer of each claim on a failure should credit, and from which job."""
    found = {promise.terms_id: promise.answers for promise in promised}
    job = job_of(failure, failure.refrigerant_entries.all(), house)
    return job, {
        row.pk: credit_of(row, book.by_code[book.codes[row.terms_id]], found.get(row.terms_id, ()), job)
        for row in failure.claims.all()
    }


def taken(steps: Iterable[models.ClaimStep]) -> tuple[claims.Taken, ...]:
    """The steps of a claim, in their order."""
    return tuple(
        claims.Taken(claims.State(step.asked_for), claims.State(step.went_to), step.on, step.amount) for step in steps
    )


Kept = ClockValues | ClaimValues | MoneyValues | PartValues


def kept_of(
    told: Told, failures: Iterable[models.Failure], book: TermsBook, house: models.House, *, on: dt.date
) -> Iterator[Kept]:
    """Work out what is kept of a unit's failures: each payer's open clocks, what each claim should bring, and its money."""
    # A unit that is gone keeps no holdings, which would say when time alone changes something.
    next_on = None
    if told.row.removed_on is not None:
        days = [days_of_change.next_change(told.unit, holding, on=on) for holding in told.holdings]
        next_on = min((day for day in days if day is not None), default=None)
    for failure in failures:
        if failure.voided_on is not None:
            # It counts for nothing, so nothing is expected of a claim on it and no clock runs.
            for row in failure.claims.all():
                yield ClaimValues(row.pk, None, told.row.maker, claims.ZERO, claims.ZERO, None)
            continue
        if not failure.component:
            yield from _say_which(told, failure, book, next_on, on=on)
        promised = promises(told, failure, book, asked=on)
        job, expected = credits_of(failure, promised, book, house)
        asking: list[_Asking] = []
        for row in failure.claims.all():
            credit = expected[row.pk]
            yield ClaimValues(row.pk, failure.failed_on, told.row.maker, credit.total, credit.possible, next_on)
            found = clocks_of(failure, row, book.by_code[book.codes[row.terms_id]], asked=on)
            asking.append(_Asking(row.terms_id, row.payer, row.payer_name, kinds_of(row), credit, found, row))
        for promise in unclaimed(failure, promised):
            credit = money.expected(
                promise.terms,
                promise.answers,
                job,
                rules=rules_of(promise.terms, usual_supplier(failure, promise.terms)),
                kinds=promise.hopeful,
            )
            found = clocks_without_claim(failure, promise, asked=on)
            asking.append(
                _Asking(promise.terms_id, promise.terms.payer, promise.payer_name, promise.hopeful, credit, found, None)
            )
        for one in asking:
            yield from _clocks_of(failure, one, next_on)
        others = _one_of_each(asking)
        yield from failure_money.of_failure(
            told,
            failure,
            job,
            [one.credit for one in others],
            [one.owes for one in others],
            [expected[row.pk] for row in failure.claims.all() if _bears_labor(row, promised)],
            on=on,
            next_on=next_on,
        )


@dataclass(frozen=True, slots=True)
class _Asking:
    """One payer of a failure, with its claim where somebody opened one: what it should credit, and its deadlines."""

    terms_id: int
    payer: str
    payer_name: str
    kinds: tuple[str, ...]
    credit: money.Credit
    found: tuple[clocks.Clock, ...]
    claim: models.Claim | None

    @property
    def owes(self) -> OnePayer:
        """The same as the rules of money see it."""
        last = next((clock.last for clock in self.found if clock.kind is clocks.ClockKind.FILE), None)
        if self.claim is None:
            return OnePayer(self.payer, self.payer_name, expected=self.credit.total, last=last)
        row = self.claim
        return OnePayer(
            self.payer,
            self.payer_name,
            row.pk,
            claims.State(row.state),
            self.credit.total,
            row.asked,
            row.approved,
            row.credited,
            last,
        )


def _bears_labor(row: models.Claim, promised: Iterable[Promise]) -> bool:
    """Whether the payer of a claim bears our hours for certain, and is asked for them."""
    if row.state == claims.State.WITHDRAWN or "labor" not in kinds_of(row):
        return False
    found = (answer for promise in promised if promise.terms_id == row.terms_id for answer in promise.answers)
    return any(answer.kind == "labor" and answer.result is Result.COVERED for answer in found)


def unclaimed(failure: models.Failure, promised: Iterable[Promise]) -> tuple[Promise, ...]:
    """List the promises that might pay for a failure, on whose payers nobody opened a claim."""
    claimed = {(row.payer, row.payer_name) for row in failure.claims.all()}
    return tuple(
        promise for promise in promised if promise.hopeful and (promise.terms.payer, promise.payer_name) not in claimed
    )


def say_by(told: Told, failure: models.Failure, book: TermsBook, *, asked: dt.date) -> which_component.SayBy | None:
    """By when to say which component failed; None where no payer may pay, whatever it was."""
    held = [holding.terms for holding in told.holdings]
    rules = {terms.code: rules_of(terms, usual_supplier(failure, terms)) for terms in held}
    unit, named = as_it_failed(told.unit, failure), which_component.possible(told.row.role)
    return which_component.say_by(
        which_component.may_run(
            unit, told.holdings, named, rules, days=days_of(failure), asked=asked, cause=failure.cause
        )
    )


def _say_which(
    told: Told, failure: models.Failure, book: TermsBook, next_on: dt.date | None, *, on: dt.date
) -> Iterator[ClockValues]:
    """The deadline of a failure whose component nobody knows yet; what a claim would bring is no sum that anybody knows."""
    by = say_by(told, failure, book, asked=on)
    if by is not None:
        yield ClockValues(
            failure_id=failure.pk,
            terms_id=book.pks[by.terms],
            claim_id=None,
            kind=which_component.KIND,
            last_on=by.last,
            first=False,
            counted_from=by.counted_from,
            lapses_on=by.lapses_on,
            worth=claims.ZERO,
            kinds=";".join(by.kinds),
            next_on=next_on,
        )


def _one_of_each(asking: Iterable[_Asking]) -> list[_Asking]:
    """Each payer but ourselves once: of several papers of one that nobody claimed under, the one that brings most."""
    found: dict[tuple[str, str], _Asking] = {}
    for one in asking:
        if one.claim is None and payers.BY_CODE[one.payer].ours:
            continue
        other = found.get((one.payer, one.payer_name))
        if other is None or one.credit.total > other.credit.total:
            found[one.payer, one.payer_name] = one
    return list(found.values())


def _clocks_of(failure: models.Failure, one: _Asking, next_on: dt.date | None) -> Iterator[ClockValues]:
    """The open clocks of one payer. What nobody claimed, and nobody may file for any more, lapses as a whole."""
    running = [clock for clock in one.found if clock.open]
    filing = next((clock for clock in running if clock.kind is clocks.ClockKind.FILE), None)
    row = one.claim
    asked = (row.approved or row.asked) - row.credited if row and row.asked else claims.ZERO
    worth = asked if asked > 0 else one.credit.total if one.credit.total > 0 else one.credit.possible
    for clock in running:
        yield ClockValues(
            failure.pk,
            one.terms_id,
            row.pk if row else None,
            clock.kind.value,
            clock.last,
            clock.state is clocks.ClockState.FIRST,
            clock.counted_from,
            None if row else (filing or clock).last,
            max(worth, claims.ZERO),
            ";".join(one.kinds),
            next_on,
        )
