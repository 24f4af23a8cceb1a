"""The page of money worked out by asking the rules about every failure and every claim, to hold against what is kept."""

import datetime as dt
from decimal import Decimal

from fleet import models
from fleet.claims.queries import money as queries
from fleet.derived import claim_rows
from fleet.facts import fleet_facts, terms_on_file
from fleet.facts.failures import job_of
from fleet.facts.house import house
from fleet.rules import money as rules
from fleet.rules.claims import ZERO, State
from fleet.rules.findings import Result
from fleet.rules.wording import money as wording
from fleet.rules.wording.names import listed


def compare(*, since: dt.date, on: dt.date) -> tuple[int, int]:
    """Hold the page against the rules; give how many rows of missed registrations and failures with labor there were."""
    page = queries.page(since=since, on=on)
    accounts = _accounts()
    lately = [account for failed_on, account in accounts if failed_on >= since]
    whole = rules.recoveries(lately, lambda account: "")
    ages = rules.fronted((account for _, account in accounts), on=on)
    missed, labor = _asked(since=since, on=on)
    cost = sum((row[-1] for row in missed), ZERO)
    assert page.sentences == (
        wording.in_all(whole[0], since=since) if whole else "",
        wording.fronted(ages),
        wording.missed_in_all(len({row[1] for row in missed}), cost),
    )
    assert page.labor == wording.labor_short(
        len(labor), sum((cost for cost, _ in labor), ZERO), sum((short for _, short in labor), ZERO)
    )
    for of, by in (("payer", rules.Account.payer), ("maker", rules.Account.maker)):
        found = rules.recoveries(lately, by.__get__)  # type: ignore[attr-defined]
        assert [tuple(cell.value for cell in row)[:6] for row in queries.rows(of, since=since, on=on)] == [
            (one.name, one.claims, one.claimable, one.recovered, one.out, one.lost) for one in found
        ]
    assert [row.cells[1].value for row in page.table("age").rows] == [one.claims for one in ages]
    assert [row.cells[2].value for row in page.table("age").rows] == [one.amount for one in ages]
    told = [tuple(cell.value for cell in row) for row in queries.rows("missed", since=since, on=on)]
    assert [(row[0], *row[3:]) for row in told] == [(row[0], *row[2:]) for row in missed]
    assert page.table("missed").count == len(missed)
    return len(missed), len(labor)


def _accounts() -> list[tuple[dt.date, rules.Account]]:
    rows = models.Claim.objects.select_related("failure__unit").filter(failure__voided_on=None)
    return [
        (
            row.failure.failed_on,
            rules.Account(
                payer=row.payer_name,
                maker=row.failure.unit.maker,
                state=State(row.state),
                filed_on=row.filed_on,
                claimable=row.expected,
                asked=row.asked,
                approved=row.approved,
                credited=row.credited,
            ),
        )
        for row in rows
    ]


def _asked(*, since: dt.date, on: dt.date) -> tuple[list[tuple], list[tuple[Decimal, Decimal]]]:
    book, ours = terms_on_file(), house()
    told = fleet_facts(models.Unit.objects.all(), book)
    missed, labor = [], []
    for unit, failures in claim_rows.failures_of(told).items():
        for failure in failures:
            if failure.voided_on is None and failure.failed_on >= since:
                missed += _missed(told[unit], failure, ours, on=on)
                labor += _labor(told[unit], failure, book, ours, on=on)
    # The sort keeps the order of the payers of one failure.
    missed.sort(key=lambda row: (row[3], row[1]), reverse=True)
    return missed, labor


def _missed(told, failure, ours, *, on):
    job = job_of(failure, failure.refrigerant_entries.all(), ours)
    found = rules.missed(told.unit, told.holdings, job, on=failure.failed_on, asked=on, cause=failure.cause)
    return [
        (
            told.row.serial or told.row.room, failure.pk, failure.component, failure.failed_on, one.payer,
            listed(one.kinds), one.registered_on, one.deadline, wording.missed(one), one.amount,
        )
        for one in found
    ]  # fmt: skip


def _labor(told, failure, book, ours, *, on):
    claims = [
        row for row in failure.claims.all() if row.state != State.WITHDRAWN and "labor" in claim_rows.kinds_of(row)
    ]  # fmt: skip
    if not claims or not failure.labor_minutes:
        return []
    promised = {one.terms_id: one for one in claim_rows.promises(told, failure, book, asked=on)}
    found, job = [], job_of(failure, failure.refrigerant_entries.all(), ours)
    for row in claims:
        promise = promised.get(row.terms_id)
        answers = promise.answers if promise else ()
        if any(answer.kind == "labor" and answer.result is Result.COVERED for answer in answers):
            found.append(claim_rows.credit_of(row, failure, book.by_code[book.codes[row.terms_id]], answers, ours)[1])
    return [(rules.costs(job)["labor"], rules.labor_shortfall(job, found))] if found else []
