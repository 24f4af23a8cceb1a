"""Payers' statements: taken whole or not at all, each credit booked on its claim, matched by hand, or set aside."""

import datetime as dt
import hashlib
import re
import uuid
from decimal import Decimal
from pathlib import Path

from django.db import IntegrityError, transaction

from fleet import models, sheets
from fleet.claims.actions import claims
from fleet.claims.actions.statement_columns import Plan, read
from fleet.claims.facts import statements as facts
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.rules.claims import State
from fleet.rules.dates import in_words
from fleet.rules.statements import Fit, match
from fleet.sheets import Problems
from fleet.sheets.columns import Column, ParseError, day, text

MOST_LINES = 2_000
# A credit's step has a key of its own, so that booking it twice is one step.
_STEPS = uuid.UUID("6f0a1e64-0c0e-4d0a-9a5e-3c7d2a0f5b11")
_AMOUNT = re.compile(r"(-?)([0-9]{1,7})(?:\.([0-9]{1,2})0*)?")

Cells = dict[str, str]


def _amount() -> Column:
    """An amount in dollars and cents; one below nothing takes money back."""

    def plain(cell: str) -> str:
        found = _AMOUNT.fullmatch(cell.replace("\N{MINUS SIGN}", "-"))
        if found is None:
            raise ParseError(f"an amount such as 1250.00, not {cell[:60]!r}")
        return f"{found[1]}{int(found[2])}.{(found[3] or '').ljust(2, '0')}"

    return Column(plain, Decimal)


def columns(*, on: dt.date) -> dict[str, Column]:
    """The columns that a statement's file may have."""
    return {
        "reference": text(120),
        "number": text(120),
        "day": day(last=on),
        "amount": _amount(),
        "text": text(300, lines=True),
    }


def take(
    path: Path,
    *,
    name: str,
    payer_name: str = "",
    plan: Plan | None = None,
    by: models.User | None,
    on: dt.date,
) -> tuple[models.Statement, bool]:
    """Take a payer's file of credits, then book every credit that says for certain which claim it belongs to.

    `plan` says what its headings are, where they are not our own. The statement, and whether it is new: the very file that is on
    record already is not taken again.
    """
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    if same := models.Statement.objects.select_related("by").filter(digest=digest).first():
        return same, False
    rows = _read(path, name, plan, on=on)
    try:
        with transaction.atomic():
            statement = models.Statement.objects.create(
                name=name[:255], payer_name=payer_name, digest=digest, by=by
            )  # fmt: skip
            models.StatementLine.objects.bulk_create(_line(statement, row, cells, on=on) for row, cells in rows)
    except IntegrityError:
        # Somebody sent the same file at the same moment.
        return models.Statement.objects.select_related("by").get(digest=digest), False
    book_what_fits(statement=statement, by=by, on=on)
    return statement, True


def _read(path: Path, name: str, plan: Plan | None, *, on: dt.date) -> list[tuple[int, Cells]]:
    known, problems, found = columns(on=on), Problems(name), []
    try:
        ours = (
            sheets.rows(path, columns=known, name=name, problems=problems) if plan is None else read(path, name, plan)
        )
        for row, cells in ours:
            found.append((row, _cells(row, cells, known, problems)))
            if len(found) > MOST_LINES:
                problems.note(row, "", f"at most {MOST_LINES:,} credits; cut the file into several")
                break
    except sheets.Problem as problem:
        problems.add(problem)
    else:
        if not found:
            problems.note(0, "", "at least one credit below the header")
    problems.refuse_if_any()
    return found


def _cells(row: int, cells: Cells, known: dict[str, Column], problems: Problems) -> Cells:
    kept = {}
    for name, column in known.items():
        cell = cells.get(name, "")
        if not cell and name in ("day", "amount"):
            problems.note(row, name, "the day of the credit" if name == "day" else "the amount of the credit")
        try:
            kept[name] = column.plain(cell) if cell else ""
        except ParseError as wanted:
            problems.note(row, name, str(wanted))
    return kept


def _line(statement: models.Statement, row: int, cells: Cells, *, on: dt.date) -> models.StatementLine:
    known = columns(on=on)
    return models.StatementLine(
        statement=statement,
        row=row,
        reference=cells["reference"],
        number=cells["number"],
        on=known["day"].value(cells["day"]),
        amount=known["amount"].value(cells["amount"]),
        text=cells["text"],
    )


def book_what_fits(*, statement: models.Statement, by: models.User | None, on: dt.date) -> int:
    """Book each open credit that fits one claim for certain, each in a transaction of its own; return how many were.

    What a claim refuses, or somebody changed at that moment, is left to a person.
    """
    rows = list(statement.lines.filter(state="open"))
    lines = {row.pk: facts.line_of(row) for row in rows}
    told = facts.told_before(statement, lines.values())
    waiting = facts.claims_for(lines.values(), payer_name=statement.payer_name)
    booked = 0
    for row in rows:
        line = lines[row.pk]
        found = match(line, waiting, told_before=line.mark in told)
        if found.fit is not Fit.EXACT:
            continue
        (claim,) = found.claims
        try:
            credit(line=row, claim=claim.number, version=claim.version, by=by, on=on)
        except Refused:
            continue
        booked += 1
        # What waited for this credit waits no more.
        waiting = facts.claims_for(lines.values(), payer_name=statement.payer_name)
    return booked


def credit(
    *,
    line: models.StatementLine,
    claim: int,
    version: int,
    day: dt.date | None = None,
    last: bool = False,
    reason: str = "",
    confirmed: bool = False,
    by: models.User | None,
    on: dt.date,
) -> models.ClaimStep:
    """Book a credit on a claim: the claim's step and the line together, or neither.

    It is booked on the day that the statement tells, or on a later one, where the claim's own steps came after; the note
    keeps the statement's. `last` says, with a reason, that the payer will not pay more; `confirmed` that it is right though it is more
    than was approved.
    """
    day = day or line.on
    if day < line.on:
        raise Refused(f"The payer’s statement says {in_words(line.on)}: book it on that day or later.", "day")
    told = "" if day == line.on else f" The payer gave it on {in_words(line.on)}."
    with transaction.atomic():
        _take_line(line, "matched")
        step = claims.step(
            claim,
            version=version,
            to=State.CREDITED,
            day=day,
            amount=line.amount,
            last=last,
            reason=reason,
            confirmed=confirmed,
            note=f"From the statement {line.statement.name}, row {line.row}.{told}",
            reference=line.reference or line.number,
            key=uuid.uuid5(_STEPS, f"{line.statement.digest} {line.row}"),
            by=by,
            on=on,
        )
        models.StatementLine.objects.filter(pk=line.pk).update(step=step)
    return step


def set_aside(*, line: models.StatementLine, why: str, by: models.User | None) -> None:
    """Lay a credit aside that belongs to no claim of ours, with the reason."""
    with transaction.atomic():
        _take_line(line, "set aside", why=why.strip())
        _note(line, "open", "set aside", by=by, why=why.strip())


def open_again(*, line: models.StatementLine, by: models.User | None) -> bool:
    """Take up again a credit that was set aside; False if it is not."""
    with transaction.atomic():
        done = models.StatementLine.objects.filter(pk=line.pk, state="set aside").update(state="open", why="")
        if done:
            _note(line, "set aside", "open", by=by)
    return bool(done)


def _take_line(line: models.StatementLine, state: str, *, why: str = "") -> None:
    """Turn an open line into another state, once."""
    if not models.StatementLine.objects.filter(pk=line.pk, state="open").update(state=state, why=why):
        raise Conflict("Somebody dealt with this credit meanwhile. Nothing of yours was saved.")


def _note(line: models.StatementLine, before: str, after: str, *, by: models.User | None, why: str = "") -> None:
    log = Log(by=by)
    log.note(None, line, "state", before, after, why=why)
    log.write()
