"""What claims brought back, what is out, what was denied and why, and what missed registrations cost."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from types import SimpleNamespace
from typing import Any

from django.db.models import Count, QuerySet

from fleet import models
from fleet.claims.facts.clock_rows import LONG_AGO
from fleet.claims.pages import money as pages
from fleet.claims.queries.claim_sums import IS_OUT, LOST, OUT, cents, dollars, total
from fleet.derived.failure_money import missed_of
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.chart import Bar, bar
from fleet.elements.listing import Filter, List
from fleet.rules import money as rules
from fleet.rules.claims import ZERO, State
from fleet.rules.wording import money as wording
from fleet.rules.wording.names import listed

# How many rows of a table that may be long the page shows; its files have all of them.
FIRST = 10
_UNIT = "failure__unit"
_SITE = f"{_UNIT}__system__site"


def page(*, since: dt.date, on: dt.date) -> pages.MoneyPage:
    """Show the money of failures since a day, and all that is out today."""
    by_payer, by_maker, whole = _recovered(since)
    ages = _out_by_age(on=on)
    lost = _lost(since)
    denied = DENIED.first(FIRST, on=on, since=since)
    missed = MISSED.first(FIRST, on=on, since=since)
    return pages.MoneyPage(
        since=since,
        on=on,
        sentences=(
            wording.in_all(whole[0], since=since) if whole else "",
            wording.fronted(ages),
            wording.missed_in_all(lost.failures, lost.cost),
        ),
        unclaimed=_unclaimed(on - LONG_AGO).count(),
        labor=wording.labor_short(lost.with_labor, lost.labor, lost.short),
        by_payer=_bars(by_payer),
        by_maker=_bars(by_maker),
        by_age=_ages(ages),
        tables=(
            _whole("payer", "By payer", by_payer, on=on),
            _whole("maker", "By maker of the unit", by_maker, on=on),
            _whole("age", "What is out, by how long", ages, on=on),
            pages.Named(
                denied.columns, denied.rows, denied.count, "denied", "Denied, written off or withdrawn, and why"
            ),
            pages.Named(missed.columns, missed.rows[:FIRST], lost.rows, "missed", "What missed registrations cost"),
        ),
    )


def _whole(name: str, title: str, found: Sequence[Any], *, on: dt.date) -> pages.Named:
    of = TABLES[name]
    return pages.Named(of.columns, of.shown(found, on=on), len(found), name, title)


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


def _out() -> QuerySet[models.Claim, Any]:
    """Add up what is out, for each day on which claims were filed first; by state too, which is the order of the index."""
    asked = models.Claim.objects.filter(state__in=(*rules.APPROVED, *rules.ASKED_FOR), filed_on__isnull=False)
    told = asked.filter(failed_on__isnull=False).order_by().values("state", "filed_on")
    sums = {"claims": Count("pk", filter=IS_OUT), "amount": total(OUT)}
    return told.annotate(**sums).values_list("filed_on", *sums)


def _unclaimed(since: dt.date) -> QuerySet[models.ClockRow, Any]:
    """Find the failures that some payer may owe for, that nobody claimed, and for which it is not long too late.

    Of each a row once: those with a day to file and those without are found in one index, each in its own place.
    """
    unclaimed = models.ClockRow.objects.filter(claim=None).order_by().values_list("failure")
    return unclaimed.filter(lapses_on=None).union(unclaimed.filter(lapses_on__gte=since))


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


def _percent(found: rules.Recovery) -> int | None:
    if found.share is None:
        return None
    share = Decimal(found.share.numerator) * 100 / Decimal(found.share.denominator)
    return int(share.quantize(Decimal(1), ROUND_HALF_UP))


def _by(name: str, title: str, place: int) -> List:
    """The list of what claims brought back, by payer or by maker."""
    return List(
        file=f"money-{name}",
        caption="",
        rows=lambda filters, on: _recovered(filters.since)[place],
        usual="",
        filters=(Filter("since"),),
        columns=(
            Column(name, title, value="name"),
            Column("claims", "Claims", "number"),
            Column("claimable", "Could be claimed", "money"),
            Column("recovered", "Came back", "money"),
            Column("out", "Is out", "money"),
            Column("lost", "Will not come", "money"),
            Column("percent", "Came back, %", "number", value=_percent),
        ),
    )


def _denied(filters: Any, on: dt.date) -> QuerySet[models.Claim]:
    """The claims that will bring nothing as things stand."""
    gone = _lately(filters.since).filter(state__in=rules.WILL_NOT_COME)
    return gone.select_related(_UNIT)


def _with_reasons(rows: list[Any], on: dt.date) -> Iterable[Any]:
    """Claims with the reasons of the steps that said so."""
    reasons = _reasons([row.pk for row in rows])
    for row in rows:
        row.lost = rules.Account(
            "", "", State(row.state), row.filed_on, row.expected, row.asked, row.approved, row.credited
        ).lost
        row.why = "; then: ".join(reasons.get(row.pk, ()))
    return rows


def _reasons(claims: Sequence[int]) -> dict[int, list[str]]:
    """The reasons by claim, in order of the steps: a payer's own stands before ours for writing it off."""
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


def _missed(filters: Any, on: dt.date) -> QuerySet[models.MoneyRow]:
    lately = models.MoneyRow.objects.filter(failed_on__gte=filters.since, terms_missed__gt=0)
    return lately.select_related(f"{_SITE}__customer")


def _each_missed(rows: list[Any], on: dt.date) -> Iterable[Any]:
    """A row for each terms that would have paid for a failure."""
    return [
        SimpleNamespace(failure=row.failure, failed_on=row.failed_on, says=one)
        for row in rows
        for one in missed_of(row)
    ]


DENIED = List(
    file="money-denied",
    caption="",
    rows=_denied,
    complete=_with_reasons,
    usual="payer",
    filters=(Filter("since"),),
    columns=(
        Column("claim", "Claim", value=lambda row: Cell(str(row.pk), Link("claim", row.pk))),
        Column("payer", "Payer", value="payer_name", order=("payer_name",)),
        Column("maker", "Maker of the unit", value="failure.unit.maker"),
        Column("component", "Component", "word", value="failure.component"),
        named.unit(_UNIT, sorts=False),
        Column("state", "State", "state"),
        Column("asked", "Asked for", "money"),
        Column("lost", "Will not come", "money"),
        Column("why", "Why"),
    ),
)
MISSED = List(
    file="money-missed",
    caption="",
    rows=_missed,
    complete=_each_missed,
    usual="-failed_on",
    tie=(),
    filters=(Filter("since"),),
    columns=(
        named.unit(_UNIT, sorts=False),
        named.customer(f"{_SITE}__customer", sorts=False),
        named.site(_SITE, sorts=False),
        Column(
            "component",
            "Component",
            "word",
            value=lambda row: Cell(row.failure.component, Link("failure", row.failure.pk)),
        ),
        Column("failed_on", "Failed on", "day", order=("failed_on", "failure")),
        Column("payer", "Would have paid", value="says.payer", shown=False),
        Column("pays_for", "For", value=lambda row: listed(row.says.kinds), shown=False),
        Column("registered_on", "Registered", "day", value="says.registered_on", shown=False),
        Column("deadline", "The limit was", "day", value="says.deadline", shown=False),
        Column("why", "How that came", value=lambda row: wording.missed(row.says)),
        Column("amount", "Cost us", "money", value="says.amount"),
    ),
)
TABLES = {
    "payer": _by("payer", "Payer", 0),
    "maker": _by("maker", "Maker of the unit", 1),
    "age": List(
        file="money-age",
        caption="",
        rows=lambda filters, on: _out_by_age(on=on),
        usual="",
        filters=(Filter("since"),),
        columns=(
            Column("days", "Out for", value=wording.age),
            Column("claims", "Claims", "number"),
            Column("amount", "Is out", "money"),
        ),
    ),
    "denied": DENIED,
    "missed": MISSED,
}


def rows(of: str, *, since: dt.date, on: dt.date) -> Iterator[tuple[Cell, ...]]:
    """The cells of every row of one table."""
    table = TABLES[of]
    return table.all(table.filters_for(since=since), on=on)
