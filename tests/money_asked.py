"""The page of money worked out by asking the rules about every failure and every claim, to hold against what is kept."""

import datetime as dt
from decimal import Decimal

from fleet import models
from fleet.claims.queries import money as queries
from fleet.claims.queries.money_rows import PARTS
from fleet.derived import claim_rows
from fleet.facts import fleet_facts, terms_on_file
from fleet.facts.failures import job_of
from fleet.facts.house import house
from fleet.rules import money as rules
from fleet.rules.claims import ZERO, State
from fleet.rules.findings import Result
from fleet.rules.missed_registrations import missed
from fleet.rules.wording import money as wording
from fleet.rules.wording.names import listed


def compare(*, since: dt.date, on: dt.date) -> tuple[int, int]:
    """Hold the page against the rules; give how many rows of missed registrations and failures with labor there were."""
    period = queries.Period(since, on)
    page = queries.page(period, on=on)
    missed, labor = _asked(since=since, on=on)
    cost = sum((row[-1] for row in missed), ZERO)
    assert page.sentences[2] == wording.missed_in_all(len({row[1] for row in missed}), cost)
    assert page.labor == wording.labor_short(
        len(labor), sum((cost for cost, _ in labor), ZERO), sum((short for _, short in labor), ZERO)
    )
    spent, credited, out = _each_failure(since, on)
    by = {line.figure: line for line in page.figures}
    assert page.cost == spent
    assert by["credited"].amount + by["credited"].above == credited
    assert by["out"].amount + by["out"].above == out
    rows = {of: [tuple(cell.value for cell in row) for row in queries.rows(of, period, on=on)] for of in queries.TABLES}
    assert sum((row[1] for row in rows["maker"]), ZERO) == spent
    for at, figure in enumerate(("credited", "out", "to claim", "denied", "unapproved", "too late"), 1):
        assert sum((row[at] for row in rows["payer"]), ZERO) == by[figure].amount
        assert sum((row[at + 1] for row in rows["maker"]), ZERO) == by[figure].amount
    # Every figure opens its rows, and they add up to it.
    for figure, line in by.items():
        opened = PARTS.page(PARTS.filters_for(figure=figure, since=since.isoformat(), until=on.isoformat()), on=on)
        lead = PARTS.lead(opened)
        assert (lead["amount"], lead["above"], opened.count) == (line.amount, line.above, line.rows)
    assert [(row[0], *row[3:]) for row in rows["missed"]] == [(row[0], *row[2:]) for row in missed]
    assert page.table("missed").count == len(missed)
    return len(missed), len(labor)


def _each_failure(since: dt.date, on: dt.date) -> tuple[Decimal, Decimal, Decimal]:
    """What all failures of the period cost, and what payers credited and still owe on them, each held against its parts."""
    ours, sums = house(), [ZERO, ZERO, ZERO]
    rows = models.Failure.objects.with_claims().prefetch_related("money_parts").filter(voided_on=None)
    for failure in rows.filter(failed_on__range=(since, on)):
        spent = rules.cost(job_of(failure, failure.refrigerant_entries.all(), ours))
        assert sum((part.amount for part in failure.money_parts.all()), ZERO) == spent, failure.pk
        sums[0] += spent
        for row in failure.claims.all():
            account = rules.Account(
                "", "", State(row.state), row.filed_on, row.expected, row.asked, row.approved, row.credited
            )
            sums[1] += row.credited
            sums[2] += account.out
    return sums[0], sums[1], sums[2]


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
    found = missed(told.unit, told.holdings, job, on=failure.failed_on, asked=on, cause=failure.cause)
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
            found.append(claim_rows.credit_of(row, book.by_code[book.codes[row.terms_id]], answers, job))
    return [(rules.costs(job)["labor"], rules.labor_shortfall(job, found))] if found else []
