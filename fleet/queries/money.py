"""What claims brought back, what is out, what was denied and why, and what missed registrations cost."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import islice

from django.db.models import Exists, OuterRef, Q, QuerySet

from fleet import gather, models
from fleet.gather import claims as gathered
from fleet.gather.clock_rows import LONG_AGO, counting
from fleet.gather.failures import job_of
from fleet.gather.house import house
from fleet.pages import money as pages
from fleet.pages.lists import Cell, Link, Row, unit_cell
from fleet.rules import money as rules
from fleet.rules.claims import ZERO, State
from fleet.rules.findings import Result
from fleet.rules.registration import State as Registered
from fleet.rules.wording import money as wording
from fleet.rules.wording.names import listed

CHUNK = 500
_LOST = (State.DENIED, State.WRITTEN_OFF, State.WITHDRAWN)


@dataclass(frozen=True, slots=True)
class _Lost:
    """What missed registrations cost on one failure."""

    failure: models.Failure
    missed: tuple[rules.Missed, ...]


@dataclass(frozen=True, slots=True)
class _Labor:
    """Our hours on one failure whose labor a payer bears: what they cost, and by how much that is more than is paid."""

    cost: Decimal
    short: Decimal


def page(*, since: dt.date, on: dt.date) -> pages.MoneyPage:
    """Show the money of failures since a day, and all that is out today."""
    claims = _claims()
    accounts = [(row, _account(row)) for row in claims]
    lately = [account for row, account in accounts if row.failure.failed_on >= since]
    ages = rules.fronted((account for _, account in accounts), on=on)
    by_payer = rules.recoveries(lately, lambda account: account.payer)
    by_maker = rules.recoveries(lately, lambda account: account.maker)
    lost, labor = _by_failure(since=since, on=on)
    cost = sum((found.credit.total for one in lost for found in one.missed), ZERO)
    whole = rules.recoveries(lately, lambda account: "")
    return pages.MoneyPage(
        since=since,
        on=on,
        sentences=(
            wording.in_all(whole[0], since=since) if whole else "",
            wording.fronted(ages),
            wording.missed_in_all(len(lost), cost),
        ),
        unclaimed=_unclaimed(on=on),
        labor=wording.labor_short(
            len(labor), sum((one.cost for one in labor), ZERO), sum((one.short for one in labor), ZERO)
        ),
        by_payer=_bars(by_payer),
        by_maker=_bars(by_maker),
        by_age=_ages(ages),
        tables=(
            pages.Table("payer", "By payer", pages.PAYER_COLUMNS, tuple(map(_recovery, by_payer))),
            pages.Table("maker", "By maker of the unit", pages.MAKER_COLUMNS, tuple(map(_recovery, by_maker))),
            pages.Table("age", "What is out, by how long", pages.AGE_COLUMNS, tuple(map(_age, ages))),
            pages.Table(
                "denied", "Denied, written off or withdrawn, and why", pages.DENIED_COLUMNS,
                tuple(_denied(since, accounts)),
            ),
            pages.Table("missed", "What missed registrations cost", pages.MISSED_COLUMNS, tuple(_missed(lost))),
        ),
    )  # fmt: skip


# -- claims


def _claims() -> list[models.Claim]:
    rows = models.Claim.objects.select_related("failure__unit").filter(failure__voided_on=None)
    return list(rows.order_by("payer_name", "pk"))


def _account(row: models.Claim) -> rules.Account:
    return rules.Account(
        payer=row.payer_name,
        maker=row.failure.unit.maker,
        state=State(row.state),
        filed_on=row.filed_on,
        claimable=row.expected,
        asked=row.asked,
        approved=row.approved,
        credited=row.credited,
    )


def _unclaimed(*, on: dt.date) -> int:
    """Count the failures that some payer may owe for, that nobody claimed, and for which it is not long too late."""
    return counting(since=on - LONG_AGO).filter(claim=None).values("failure").distinct().count()


def _bars(found: Sequence[rules.Recovery]) -> tuple[pages.Bar, ...]:
    longest = max((max(one.claimable, one.recovered + one.out + one.lost) for one in found), default=ZERO)
    return tuple(
        pages.bar(
            one.name,
            wording.recovery(one),
            (("came", one.recovered), ("out", one.out), ("lost", one.lost)),
            one.claimable,
            longest,
        )
        for one in found
    )


def _ages(found: Sequence[rules.Age]) -> tuple[pages.Bar, ...]:
    longest = max((one.amount for one in found), default=ZERO)
    return tuple(
        pages.bar(
            wording.age(one),
            f"{wording.dollars(one.amount)} on {one.claims:,} claim{'' if one.claims == 1 else 's'}",
            (("out", one.amount),),
            one.amount,
            longest,
        )
        for one in found
    )


def _recovery(found: rules.Recovery) -> Row:
    percent = None
    if found.share is not None:
        share = Decimal(found.share.numerator) * 100 / Decimal(found.share.denominator)
        percent = int(share.quantize(Decimal(1), ROUND_HALF_UP))
    told = (found.name, found.claims, found.claimable, found.recovered, found.out, found.lost, percent)
    return tuple(Cell(value) for value in told)


def _age(found: rules.Age) -> Row:
    return Cell(wording.age(found)), Cell(found.claims), Cell(found.amount)


def _denied(since: dt.date, accounts: Iterable[tuple[models.Claim, rules.Account]]) -> Iterator[Row]:
    """List the claims that will bring nothing as things stand, with the reason of the step that said so."""
    found = [(row, account) for row, account in accounts if account.state in _LOST and row.failure.failed_on >= since]
    steps = models.ClaimStep.objects.filter(claim__in=[row.pk for row, _ in found], went_to__in=_LOST)
    # In order of the steps: a payer's own reason stands before ours for writing it off.
    reasons: dict[int, list[str]] = {}
    for claim, reason in steps.order_by("claim", "number").values_list("claim", "reason"):
        if reason and reason not in reasons.setdefault(claim, []):
            reasons[claim].append(reason)
    for row, account in found:
        unit = row.failure.unit
        yield (
            Cell(str(row.pk), Link("claim", row.pk)),
            Cell(row.payer_name),
            Cell(unit.maker),
            Cell(row.failure.component),
            unit_cell(unit.pk, serial=unit.serial, room=unit.room, maker=unit.maker, model=unit.model),
            Cell(row.state),
            Cell(row.asked),
            Cell(account.lost),
            Cell("; then: ".join(reasons.get(row.pk, ()))),
        )


# -- failures


def _by_failure(*, since: dt.date, on: dt.date) -> tuple[list[_Lost], list[_Labor]]:
    """Ask the rules about failures since a day: those of units with a missed registration, and those with a claim.

    A unit that is gone keeps no rows of its registration, so it is asked about too.
    """
    failures = models.Failure.objects.filter(voided_on=None, failed_on__gte=since)
    missed = models.HoldingRow.objects.filter(unit=OuterRef("unit"), registration=Registered.MISSED)
    claimed = models.Claim.objects.filter(failure=OuterRef("pk")).exclude(state=State.WITHDRAWN)
    concerned = failures.filter(Exists(missed) | Exists(claimed) | Q(unit__gone_on__isnull=False))
    units = iter(concerned.order_by("unit").values_list("unit", flat=True).distinct())
    book, ours = gather.terms_on_file(), house()
    lost: list[_Lost] = []
    labor: list[_Labor] = []
    while chunk := list(islice(units, CHUNK)):
        told = gather.fleet_facts(_with_names(chunk), book)
        for unit, rows in gathered.failures_of(chunk).items():
            for failure in (row for row in rows if row.failed_on >= since):
                failure.unit = told[unit].row
                lost += _lost(told[unit], failure, ours, on=on)
                labor += _short(told[unit], failure, book, ours, on=on)
    lost.sort(key=lambda one: (one.failure.failed_on, one.failure.pk), reverse=True)
    return lost, labor


def _with_names(units: list[int]) -> QuerySet[models.Unit]:
    return models.Unit.objects.filter(pk__in=units).with_facts().select_related("system__site__customer")


def _lost(told: gather.Told, failure: models.Failure, ours: models.House, *, on: dt.date) -> Iterator[_Lost]:
    job = job_of(failure, failure.refrigerant_entries.all(), ours)
    found = rules.missed(told.unit, told.holdings, job, on=failure.failed_on, asked=on, cause=failure.cause)
    if found:
        yield _Lost(failure, found)


def _short(
    told: gather.Told, failure: models.Failure, book: gather.TermsBook, ours: models.House, *, on: dt.date
) -> Iterator[_Labor]:
    claims = [
        row for row in failure.claims.all() if row.state != State.WITHDRAWN and "labor" in gathered.kinds_of(row)
    ]  # fmt: skip
    if not claims or not failure.labor_minutes:
        return
    promised = {one.terms_id: one for one in gathered.promises(told, failure, book, asked=on)}
    found, job = [], job_of(failure, failure.refrigerant_entries.all(), ours)
    for row in claims:
        promise = promised.get(row.terms_id)
        answers = promise.answers if promise else ()
        if any(answer.kind == "labor" and answer.result is Result.COVERED for answer in answers):
            found.append(gathered.credit_of(row, failure, book.by_code[book.codes[row.terms_id]], answers, ours)[1])
    if found:
        yield _Labor(rules.costs(job)["labor"], rules.labor_shortfall(job, found))


def _missed(lost: Iterable[_Lost]) -> Iterator[Row]:
    for one in lost:
        failure, unit = one.failure, one.failure.unit
        site = unit.system.site
        for found in one.missed:
            yield (
                unit_cell(unit.pk, serial=unit.serial, room=unit.room, maker=unit.maker, model=unit.model),
                Cell(site.customer.name, Link("customer", site.customer_id)),
                Cell(site.name, Link("site", site.pk)),
                Cell(failure.component, Link("failure", failure.pk)),
                Cell(failure.failed_on),
                Cell(found.payer),
                Cell(listed(found.kinds)),
                Cell(found.registered_on),
                Cell(found.deadline),
                Cell(wording.missed(found)),
                Cell(found.credit.total),
            )
