"""Payers' statements: all of them, and one with what was booked and what a person must decide."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from fleet import models
from fleet.claims.facts import statements as gathered
from fleet.claims.pages import statements as pages
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import List
from fleet.elements.named import local_day
from fleet.rules.claims import APPROVED, ZERO, State
from fleet.rules.statements import Awaiting, Book, Fit, Found, Line, match
from fleet.rules.wording.claim_steps import STATES
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import upper
from fleet.rules.wording.statements import left


def _rows(filters: Any, on: dt.date) -> QuerySet[models.Statement]:
    return models.Statement.objects.select_related("by").annotate(
        credits=Count("lines"), amount=Sum("lines__amount"), left=Count("lines", filter=Q(lines__state="open"))
    )


STATEMENTS = List(
    file="statements",
    caption="Statements, newest first",
    rows=_rows,
    lead=lambda listing: {"left": left_to_decide()},
    usual="-taken",
    tie=("-pk",),
    columns=(
        Column("name", "Statement", value=lambda row: Cell(row.name, Link("statement", row.pk)), order=("name",)),
        Column("payer", "Payer", value="payer_name", order=("payer_name",)),
        Column("taken", "Imported", "day", value=lambda row: local_day(row.at), order=("at",)),
        Column("credits", "Credits", "number", order=("credits",)),
        Column("amount", "Total", "money", order=("amount",)),
        Column("left", "For you to decide", "number", order=("left",)),
        Column("by", "By", value=lambda row: str(row.by or "")),
    ),
)


def left_to_decide() -> int:
    """How many credits a person must still decide."""
    return models.StatementLine.objects.filter(state="open").count()


def payers() -> tuple[str, ...]:
    """List the payers on whom there is a claim, to choose from."""
    return tuple(models.Claim.objects.order_by("payer_name").values_list("payer_name", flat=True).distinct())


def statement(pk: int) -> pages.StatementPage | None:
    """Show one statement; None if there is none. What is left is matched anew, since claims move on."""
    row = models.Statement.objects.select_related("by").filter(pk=pk).first()
    if row is None:
        return None
    lines = list(row.lines.select_related("step__claim__failure__unit"))
    open_lines = [line for line in lines if line.state == "open"]
    done = {state: tuple(_done(line) for line in lines if line.state == state) for state in ("matched", "set aside")}
    return pages.StatementPage(
        pk=row.pk,
        name=row.name,
        payer=row.payer_name,
        taken=local_day(row.at),
        by=str(row.by or ""),
        sentences=tuple(_sentences(lines)),
        left=tuple(_left(row, open_lines)),
        booked=done["matched"],
        aside=done["set aside"],
    )


def lines_of(pk: int) -> List:
    """The credits of a statement, for a file."""
    return List(
        file="credits",
        caption="",
        rows=lambda filters, on: models.StatementLine.objects.filter(statement=pk).select_related("step"),
        usual="row",
        columns=(
            Column("row", "Row", "number", order=("row",)),
            Column("day", "Day", "day", value="on"),
            Column("reference", "Reference"),
            Column("number", "Number"),
            Column("amount", "Amount", "money"),
            Column("text", "Text"),
            Column(
                "state",
                "State",
                "state",
                value=lambda line: {"open": "left to a person", "matched": "booked"}.get(line.state, line.state),
            ),
            Column("claim", "Claim", value=lambda line: str(line.step.claim_id) if line.step else ""),
            Column("why", "Why"),
        ),
    )


def _sentences(lines: Sequence[models.StatementLine]) -> Iterator[str]:
    of = {
        state: [line.amount for line in lines if line.state == state] for state in ("matched", "open", "set aside")
    }  # fmt: skip
    count = len(lines)
    booked, waiting, aside = of["matched"], of["open"], of["set aside"]
    if len(booked) == count:
        yield f"{'The credit is' if count == 1 else f'All {count:,} credits are'} booked: {dollars(sum(booked, ZERO))}."
        return
    of_all = f"{count:,} {'credit' if count == 1 else 'credits'}"
    if booked:
        yield f"Of {of_all}, {len(booked):,} {'is' if len(booked) == 1 else 'are'} booked: {dollars(sum(booked, ZERO))}."
    else:
        yield f"Of {of_all}, none is booked."
    if waiting:
        yield f"{len(waiting):,} {'is' if len(waiting) == 1 else 'are'} for you to decide: {dollars(sum(waiting, ZERO))}."
    if aside:
        yield f"{len(aside):,} {'is' if len(aside) == 1 else 'are'} set aside: {dollars(sum(aside, ZERO))}."


def _left(row: models.Statement, rows: Sequence[models.StatementLine]) -> Iterator[pages.LeftLine]:
    if not rows:
        return
    lines = [gathered.line_of(line) for line in rows]
    told = gathered.told_before(row, lines)
    waiting = gathered.claims_for(lines, payer_name=row.payer_name)
    found = [match(line, waiting, told_before=line.mark in told) for line in lines]
    beside = [_beside(line, one, waiting) for line, one in zip(lines, found, strict=True)]
    claims = _claims({claim.number for some in beside for claim in some})
    for line, told_line, one, some in zip(rows, lines, found, beside, strict=True):
        yield pages.LeftLine(
            line.pk, line.row, line.on, line.reference, line.number, line.amount, line.text,
            left(one, told_line),
            tuple(_candidate(claim, claims[claim.number], one) for claim in some),
            takes_back=one.fit is Fit.TAKES_BACK,
            more=one.fit is Fit.MORE,
            book_on=max(line.on, *(claim.last_step_on or line.on for claim in some), line.on),
        )  # fmt: skip


def _beside(line: Line, found: Found, waiting: Book) -> tuple[Awaiting, ...]:
    """The claims to show beside a credit: those it names, else those with exactly this amount left."""
    if found.claims:
        return found.claims
    every = {claim.number: claim for some in waiting.by_number.values() for claim in some}
    return tuple(claim for claim in every.values() if claim.state in APPROVED and claim.left == line.amount)


def _claims(numbers: set[int]) -> dict[int, models.Claim]:
    return models.Claim.objects.select_related("failure__unit__system__site__customer").in_bulk(numbers)


def _candidate(claim: Awaiting, row: models.Claim, found: Found) -> pages.Candidate:
    unit, site = row.failure.unit, row.failure.unit.system.site
    return pages.Candidate(
        value=f"{claim.number}:{claim.version}",
        pk=claim.number,
        payer=row.payer_name,
        about=f"{upper(row.failure.component)} of {unit.maker} {unit.model} {unit.serial}".strip(),
        place=f"{site.customer.name}, {site.name}",
        state_words=STATES[State(row.state)],
        left=claim.left,
        proposed=found.fit in (Fit.EXACT, Fit.PART, Fit.TOO_EARLY),
    )


def _done(line: models.StatementLine) -> pages.DoneLine:
    step = line.step
    about = ""
    if step is not None:
        unit = step.claim.failure.unit
        about = f"Claim {step.claim_id} with {step.claim.payer_name}: {step.claim.failure.component} of {unit.serial or unit.room}"
    return pages.DoneLine(
        line.pk, line.row, line.on, line.reference, line.number, line.amount, line.text,
        step.claim_id if step else None, about, line.why,
    )  # fmt: skip
