"""What claims brought back, what is out, what was denied and why, and what missed registrations cost."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from itertools import islice
from typing import Any

from django.db.models import Count, QuerySet

from fleet import models
from fleet.claims.facts.clock_rows import LONG_AGO
from fleet.claims.pages import money as pages
from fleet.claims.queries.claim_sums import IS_OUT, LOST, OUT, cents, dollars, total
from fleet.derived.failure_money import missed_of
from fleet.elements import named_fields
from fleet.elements.chart import Bar, bar
from fleet.elements.counting import as_far_as
from fleet.elements.lists import Cell, Link, Row
from fleet.models.prepared import counted, prepared
from fleet.rules import money as rules
from fleet.rules.claims import ZERO, State
from fleet.rules.wording import money as wording
from fleet.rules.wording.names import listed

CHUNK = 500
# How many rows of a table that may be long the page shows; its files have all of them.
FIRST = 10
# How far the failures are counted that nobody claimed yet.
MOST = 1_000
_UNIT = "failure__unit"
_SITE = f"{_UNIT}__system__site"
_OF_UNIT, _OF_SITE = named_fields.unit(_UNIT), named_fields.linked(_SITE, "site")
_OF_CUSTOMER = named_fields.linked(f"{_SITE}__customer", "customer")
_OF_DENIED = (
    "pk", "payer_name", "failure__component", "state", "filed_on", "expected", "asked", "approved", "credited",
    *_OF_UNIT.fields,
)  # fmt: skip
_OF_MISSED = (
    "missed", "failure_id", "failed_on", "failure__component", *_OF_SITE.fields, *_OF_CUSTOMER.fields, *_OF_UNIT.fields,
)  # fmt: skip


def page(*, since: dt.date, on: dt.date) -> pages.MoneyPage:
    """Show the money of failures since a day, and all that is out today."""
    by_payer, by_maker, whole = _recovered(since)
    ages = _out_by_age(on=on)
    lost, unclaimed = _lost(since), as_far_as(MOST, _unclaimed, on - LONG_AGO)
    return pages.MoneyPage(
        since=since,
        on=on,
        sentences=(
            wording.in_all(whole[0], since=since) if whole else "",
            wording.fronted(ages),
            wording.missed_in_all(lost.failures, lost.cost),
        ),
        unclaimed=unclaimed.number,
        more_unclaimed=unclaimed.more,
        labor=wording.labor_short(lost.with_labor, lost.labor, lost.short),
        by_payer=_bars(by_payer),
        by_maker=_bars(by_maker),
        by_age=_ages(ages),
        tables=(
            _whole("payer", "By payer", map(_recovery, by_payer)),
            _whole("maker", "By maker of the unit", map(_recovery, by_maker)),
            _whole("age", "What is out, by how long", map(_age, ages)),
            _first("denied", "Denied, written off or withdrawn, and why", _denied(_first_denied(since)), _count_denied(since)),
            _first("missed", "What missed registrations cost", _missed(_first_missed(since)), lost.rows),
        ),
    )  # fmt: skip


def rows(of: str, *, since: dt.date, on: dt.date) -> Iterator[Row] | None:
    """Give every row of one table, a few hundred at a time in memory; None if there is no such table."""
    match of:
        case "payer" | "maker":
            return map(_recovery, _recovered(since)[of == "maker"])
        case "age":
            return map(_age, _out_by_age(on=on))
        case "denied":
            return _denied(_all_denied(since).iterator(chunk_size=CHUNK))
        case "missed":
            return _missed(_all_missed(since).iterator(chunk_size=CHUNK))
        case _:
            return None


def _whole(name: str, title: str, found: Iterable[Row]) -> pages.Table:
    told = tuple(found)
    return pages.Table(name, title, pages.TABLES[name], told, len(told))


def _first(name: str, title: str, found: Iterable[Row], count: int) -> pages.Table:
    """Show the first rows of a table that may be long."""
    return pages.Table(name, title, pages.TABLES[name], tuple(islice(found, FIRST)), count)


# -- claims


def _recovered(
    since: dt.date,
) -> tuple[tuple[rules.Recovery, ...], tuple[rules.Recovery, ...], tuple[rules.Recovery, ...]]:
    """Add up the claims on failures since a day: by payer, by maker of the unit, and in all."""
    by_payer, by_maker = [], []
    for payer, maker, claims, *sums in _by_payer_and_maker(since):
        found = rules.Recovery(payer, claims, *map(dollars, sums))
        by_payer.append(found)
        by_maker.append(replace(found, name=maker))
    payers = rules.together(by_payer)
    return payers, rules.together(by_maker), rules.together(replace(one, name="") for one in payers)


@prepared
def _by_payer_and_maker(since: dt.date) -> QuerySet[models.Claim, Any]:
    sums = {
        "claims": Count("*"),
        "claimable": total(cents("expected")),
        "recovered": total(cents("credited")),
        "out": total(OUT),
        "lost": total(LOST),
    }
    lately = _lately(since).order_by().values("payer_name", "maker")
    return lately.annotate(**sums).values_list("payer_name", "maker", *sums)


def _lately(since: dt.date) -> QuerySet[models.Claim]:
    """Find the claims on failures since a day; one on a failure that was voided has no day."""
    return models.Claim.objects.filter(failed_on__gte=since)


def _out_by_age(*, on: dt.date) -> tuple[rules.Age, ...]:
    return rules.aged(((day, claims, dollars(amount)) for day, claims, amount in _out() if claims), on=on)


@prepared
def _out() -> QuerySet[models.Claim, Any]:
    """Add up what is out, for each day on which claims were filed first; by state too, which is the order of the index."""
    asked = models.Claim.objects.filter(state__in=(*rules.APPROVED, *rules.ASKED_FOR), filed_on__isnull=False)
    told = asked.filter(failed_on__isnull=False).order_by().values("state", "filed_on")
    sums = {"claims": Count("pk", filter=IS_OUT), "amount": total(OUT)}
    return told.annotate(**sums).values_list("filed_on", *sums)


@counted
def _unclaimed(since: dt.date, *, most: int) -> QuerySet[models.ClockRow, Any]:
    """Find the failures that some payer may owe for, that nobody claimed, and for which it is not long too late.

    Of each a row once: those with a day to file and those without are found in one index, each in its own place.
    """
    unclaimed = models.ClockRow.objects.filter(claim=None).order_by().values_list("failure")
    return unclaimed.filter(lapses_on=None).union(unclaimed.filter(lapses_on__gte=since))[:most]


def _bars(found: Sequence[rules.Recovery]) -> tuple[Bar, ...]:
    longest = max((max(one.claimable, one.recovered + one.out + one.lost) for one in found), default=ZERO)
    return tuple(
        bar(
            one.name,
            wording.recovery(one),
            (("came", one.recovered), ("out", one.out), ("lost", one.lost)),
            one.claimable,
            longest,
        )
        for one in found
    )


def _ages(found: Sequence[rules.Age]) -> tuple[Bar, ...]:
    longest = max((one.amount for one in found), default=ZERO)
    return tuple(
        bar(
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


def _all_denied(since: dt.date) -> QuerySet[models.Claim, Any]:
    """Find the claims that will bring nothing as things stand."""
    gone = _lately(since).filter(state__in=rules.WILL_NOT_COME)
    return gone.order_by("payer_name", "pk").values_list(*_OF_DENIED, named=True)


@prepared
def _first_denied(since: dt.date) -> QuerySet[models.Claim, Any]:
    return _all_denied(since)[:FIRST]


@counted
def _count_denied(since: dt.date) -> QuerySet[models.Claim, Any]:
    return _lately(since).filter(state__in=rules.WILL_NOT_COME).order_by().values_list("state")


def _denied(found: Iterable[Any]) -> Iterator[Row]:
    """List claims with the reason of the step that said so."""
    told = iter(found)
    while chunk := list(islice(told, CHUNK)):
        reasons = _reasons([row.pk for row in chunk])
        for row in chunk:
            account = rules.Account(
                "", "", State(row.state), row.filed_on, row.expected, row.asked, row.approved, row.credited
            )
            yield (
                Cell(str(row.pk), Link("claim", row.pk)),
                Cell(row.payer_name),
                Cell(row.failure__unit__maker),
                Cell(row.failure__component),
                _OF_UNIT.cell(row),
                Cell(row.state),
                Cell(row.asked),
                Cell(account.lost),
                Cell("; then: ".join(reasons.get(row.pk, ()))),
            )


def _reasons(claims: Sequence[int]) -> dict[int, list[str]]:
    """Give the reasons in order of the steps: a payer's own stands before ours for writing it off."""
    steps = models.ClaimStep.objects.filter(claim__in=claims, went_to__in=rules.WILL_NOT_COME)
    found: dict[int, list[str]] = {}
    for claim, reason in steps.order_by("claim", "number").values_list("claim", "reason"):
        if reason and reason not in found.setdefault(claim, []):
            found[claim].append(reason)
    return found


# -- failures


@dataclass(frozen=True, slots=True)
class _Lost:
    """What failures since a day cost: those with a missed registration, and those whose labor a payer bears."""

    failures: int = 0
    rows: int = 0
    cost: Decimal = ZERO
    with_labor: int = 0
    labor: Decimal = ZERO
    short: Decimal = ZERO


def _lost(since: dt.date) -> _Lost:
    found = _Lost()
    for terms, failures, cost, with_labor, labor, short in _by_terms_missed(since):
        found = _Lost(
            found.failures + (failures if terms else 0),
            found.rows + terms * failures,
            found.cost + dollars(cost),
            found.with_labor + with_labor,
            found.labor + dollars(labor),
            found.short + dollars(short),
        )
    return found


@prepared
def _by_terms_missed(since: dt.date) -> QuerySet[models.MoneyRow, Any]:
    sums = {
        "failures": Count("*"),
        "cost": total(cents("missed_cost")),
        "with_labor": Count("labor_cost"),
        "labor": total(cents("labor_cost")),
        "short": total(cents("labor_short")),
    }
    lately = models.MoneyRow.objects.filter(failed_on__gte=since).order_by().values("terms_missed")
    return lately.annotate(**sums).values_list("terms_missed", *sums)


def _all_missed(since: dt.date) -> QuerySet[models.MoneyRow, Any]:
    lately = models.MoneyRow.objects.filter(failed_on__gte=since, terms_missed__gt=0)
    return lately.order_by("-failed_on", "-failure").values_list(*_OF_MISSED, named=True)


@prepared
def _first_missed(since: dt.date) -> QuerySet[models.MoneyRow, Any]:
    return _all_missed(since)[:FIRST]


def _missed(lost: Iterable[Any]) -> Iterator[Row]:
    for row in lost:
        for found in missed_of(row):
            yield (
                _OF_UNIT.cell(row),
                _OF_CUSTOMER.cell(row),
                _OF_SITE.cell(row),
                Cell(row.failure__component, Link("failure", row.failure_id)),
                Cell(row.failed_on),
                Cell(found.payer),
                Cell(listed(found.kinds)),
                Cell(found.registered_on),
                Cell(found.deadline),
                Cell(wording.missed(found)),
                Cell(found.amount),
            )
