"""Claims: opened on a payer of a failure, taken from step to step, and what is put right or added beside the steps.

Every change of a claim counts its `version` up by a conditional update, so that of two people at once one is told.
"""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.db import transaction

from fleet import models
from fleet.claims.actions import claim_versions
from fleet.derived import claim_rows, refresh
from fleet.facts import Told, fleet_facts, terms_on_file
from fleet.facts.failures import days_of
from fleet.facts.house import house
from fleet.facts.terms import TermsBook
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.rules import claims as rules
from fleet.rules import money, words
from fleet.rules.claims import Refusal, State, Why
from fleet.rules.dates import in_words
from fleet.rules.wording import claim_steps as step_wording
from fleet.rules.wording import claims as wording
from fleet.rules.wording import money as money_wording
from fleet.rules.wording.deadlines import SAY_WHICH

CHANGEABLE = (
    "reference", "supplier", "kinds", "approved_on", "approval_number", "form_on", "part_back_on", "part_asked_for", "carrier",
)  # fmt: skip
# What nothing is worked out from.
_SAID_ALONE = {"reference", "approval_number", "carrier"}
# The argument that a refusal is about; where it is none of these, the day.
_ABOUT = {
    Why.NO_SUCH_STEP: "to",
    Why.REASON_WANTED: "reason",
    Why.AMOUNT_WANTED: "amount",
    Why.AMOUNT_OUT_OF_PLACE: "amount",
    Why.CORRECTION_WANTED: "payers_correction",
    Why.NOT_AN_AMOUNT: "amount",
    Why.OVER_SPENT: "amount",
    Why.LESS_THAN_ASKED: "amount",
    Why.NOT_LESS_THAN_ASKED: "amount",
    Why.MORE_THAN_THE_REST: "amount",
    Why.NOTHING_PROMISED: "because",
}


# --------------------------------------------------------------------------------------------------------- opening


def open(  # noqa: A001 - the verb of the trade; inside this module nothing opens files
    failure: int,
    terms: int,
    *,
    by: models.User | None,
    on: dt.date,
    kinds: Iterable[str] | None = None,
    supplier: models.Supplier | None = None,
    because: str = "",
) -> models.Claim:
    """Open a claim on the payer of some terms; one that promised nothing for this failure only with a reason."""
    with transaction.atomic():
        row = _failure(failure)
        if row.voided_on is not None:
            raise Refused({"failure": f"This failure was voided: {row.void_reason}."})
        if not row.component:
            raise Refused({"failure": SAY_WHICH})
        told, book = _gathered(row)
        promised = claim_rows.promises(told, row, book, asked=on)
        if terms not in book.codes:
            raise Refused({"terms": "These terms are not on file."})
        paper = book.by_code[book.codes[terms]]
        promise = next((promise for promise in promised if promise.terms_id == terms), None)
        answers = promise.answers if promise else ()
        found = rules.opening((answer.result for answer in answers), reason=because)
        if found:
            raise Refused(_by_field(found))
        name = claim_rows.payer_name(paper)
        if same := row.claims.filter(payer=paper.payer, payer_name=name).first():
            raise Refused(
                {
                    "terms": f"There already is a claim with {name} for this failure: {step_wording.STATES[State(same.state)]}."
                }
            )
        asked = _kinds(kinds) if kinds is not None else (promise.hopeful if promise else ()) or paper.kinds
        claim = models.Claim.objects.create(
            failure=row,
            terms_id=terms,
            payer=paper.payer,
            payer_name=name,
            kinds=";".join(asked),
            supplier=supplier,
            opened_on=on,
            opened_because=because.strip(),
            by=by,
        )
        refresh.refresh_claims_of(row.unit_id, on=on, facts=(told, book))
        claim.refresh_from_db()
    return claim


def forgo(failure: int, terms: int, *, because: str, by: models.User | None, on: dt.date) -> models.Claim:
    """Record that a payer is not asked, and why: a claim opened and withdrawn, so that nothing waits and nobody wonders."""
    if not because.strip():
        raise Refused({"because": "Say why you are not filing this claim."})
    with transaction.atomic():
        claim = open(failure, terms, because=because, by=by, on=on)
        step(claim.pk, version=claim.version, to=State.WITHDRAWN, day=on, reason=because, by=by, on=on)
        claim.refresh_from_db()
    return claim


def _kinds(kinds: Iterable[str]) -> tuple[str, ...]:
    chosen = set(kinds)
    if not chosen or chosen - set(words.KINDS):
        raise Refused({"kinds": "Check at least one kind of cost to claim."})
    return tuple(kind for kind in words.KINDS if kind in chosen)


def _failure(pk: int) -> models.Failure:
    """Hold the unit of a failure, so that what is kept of it is written by one at a time; then read the failure."""
    found = models.Failure.objects.values_list("unit_id", flat=True).filter(pk=pk).first()
    if found is None:
        raise Refused({"failure": "This failure is no longer on file."})
    models.Unit.objects.select_for_update().get(pk=found)
    return models.Failure.objects.with_claims().get(pk=pk)


def _gathered(failure: models.Failure) -> tuple[Told, TermsBook]:
    """The facts of the unit that failed, and the terms on file."""
    book = terms_on_file()
    return fleet_facts(models.Unit.objects.filter(pk=failure.unit_id), book)[failure.unit_id], book


# ----------------------------------------------------------------------------------------------------------- steps


def step(
    pk: int,
    *,
    version: int,
    to: State,
    day: dt.date,
    amount: Decimal | None = None,
    reason: str = "",
    note: str = "",
    last: bool = False,
    payers_correction: bool = False,
    confirmed: bool = False,
    reference: str = "",
    key: uuid.UUID | None = None,
    by: models.User | None,
    on: dt.date,
) -> models.ClaimStep:
    """Let a claim take a step that the table has; the same step sent twice (by its key) is one.

    A credit beyond what was approved is booked only once somebody has `confirmed` it.
    """
    with transaction.atomic():
        failure, row = _held(pk)
        if key is not None and (done := models.ClaimStep.objects.filter(key=key).first()):
            if done.claim_id != pk:
                raise Refused({"key": "This step was already sent for another claim; reload the page."})
            return done
        claim_versions.seen(row, version)
        wanted = rules.Step(to, day, amount, reason.strip(), last, payers_correction)
        told, book = _gathered(failure)
        standing = _standing(row, failure, told, book, on=on)
        faults = _by_field(rules.refusals(standing, wanted, today=on))
        if to is State.FILED and row.filed_on is None and "day" not in faults:
            days = replace(days_of(failure, row), filed_on=day)
            faults |= _by_field(one for one in rules.days_out_of_order(days, today=on) if one.what == "filed_on")
        if faults:
            raise Refused(faults)
        if (more := rules.beyond_approved(standing, wanted)) and not confirmed:
            raise Refused(step_wording.beyond_approved(more, row.approved), "confirmed")
        taken = models.ClaimStep(
            claim=row,
            number=row.steps.count() + 1,
            came_from=row.state,
            asked_for=to,
            went_to=rules.state_after(standing, wanted),
            on=day,
            amount=amount,
            reason=reason.strip()[:500],
            note=note.strip(),
            last=last,
            payers_correction=payers_correction,
            reference=reference.strip()[:120],
            key=key,
            by=by,
        )
        claim_versions.set_by(row, [*row.steps.all(), taken])
        taken.save()
        refresh.refresh_claims_of(failure.unit_id, on=on, facts=(told, book))
    return taken


def take_back(pk: int, *, version: int, why: str, by: models.User | None, on: dt.date) -> str:
    """Take back a claim's latest step, which somebody recorded by mistake; return in words which one it was.

    No step of the table: the claim stands as it did before, what the step said stays readable among the changes, and a
    statement's credit that it booked is open again.
    """
    if not why.strip():
        raise Refused({"why": "Say why you are undoing this step."})
    with transaction.atomic():
        failure, row = _held_as_seen(pk, version)
        steps = list(row.steps.all())
        if not steps:
            raise Refused({"why": "This claim has no step to undo yet."})
        latest = steps.pop()
        log, told = Log(by=by), _told(latest)
        log.note(None, row, "step", told, "", why=why.strip()[:300])
        if line := models.StatementLine.objects.filter(step=latest).first():
            models.StatementLine.objects.filter(pk=line.pk).update(state="open", step=None)
            log.note(None, line, "state", line.state, "open", why=why.strip()[:300])
        claim_versions.set_by(row, steps)
        latest.delete()
        log.write()
        refresh.refresh_claims_of(failure.unit_id, on=on)
    return told


def _told(step: models.ClaimStep) -> str:
    """A claim's step with all its facts, in one line."""
    amount = money_wording.dollars(step.amount) if step.amount is not None else ""
    paper = f"their reference {step.reference}" if step.reference else ""
    who = f"recorded by {step.by}" if step.by else ""
    said = "; ".join(filter(None, (amount, step.reason, step.note, paper, who)))
    what = step_wording.done(State(step.came_from), State(step.asked_for))
    return f"{what} on {in_words(step.on)}{f': {said}' if said else ''}"


def _claim(pk: int) -> models.Claim:
    row = models.Claim.objects.select_related("supplier").filter(pk=pk).first()
    if row is None:
        raise Refused({"claim": "This claim is no longer on file."})
    return row


def _held(pk: int) -> tuple[models.Failure, models.Claim]:
    """Hold a claim by the unit of its failure, and read both."""
    failure = _failure(_claim(pk).failure_id)
    return failure, next(claim for claim in failure.claims.all() if claim.pk == pk)


def _held_as_seen(pk: int, version: int) -> tuple[models.Failure, models.Claim]:
    """Hold a claim that nobody has changed since somebody saw it; or raise Conflict."""
    failure, row = _held(pk)
    claim_versions.seen(row, version)
    return failure, row


def _standing(row: models.Claim, failure: models.Failure, told: Told, book: TermsBook, *, on: dt.date) -> rules.Claim:
    """A claim as the rules see it, with the most that may be asked and what other payers credited for the failure."""
    promised = claim_rows.promises(told, failure, book, asked=on)
    job, expected = claim_rows.credits_of(failure, promised, book, house())
    others = (other.credited for other in failure.claims.all() if other.pk != row.pk)
    return rules.Claim(
        state=State(row.state),
        failed_on=failure.failed_on,
        last_step_on=row.last_step_on,
        asked=row.asked,
        approved=row.approved,
        credited=row.credited,
        most=money.most(job, *expected.values()),
        elsewhere=sum(others, rules.ZERO),
    )


# --------------------------------------------------------------------------------------------- beside the steps


def change(
    pk: int, *, version: int, edits: Mapping[str, Any], by: models.User | None, on: dt.date, why: str = ""
) -> models.Claim:
    """Put right or add what a claim has beside its steps; days in order, each change on record."""
    if unknown := set(edits) - set(CHANGEABLE):
        raise KeyError(f"not to be changed on a claim: {sorted(unknown)}")
    with transaction.atomic():
        row = _claim(pk)
        claim_versions.seen(row, version)
        values = _values(edits)
        moved = {name: value for name, value in values.items() if getattr(row, name) != value}
        if not moved:
            return row
        # What nothing is worked out from needs the claim alone: of two at once, its version tells one.
        failure = _failure(row.failure_id) if set(moved) - _SAID_ALONE else None
        log = Log(by=by)
        log.set(row, moved, why=why)
        if failure is not None:
            refused = rules.days_out_of_order(days_of(failure, row), today=on)
            faults = {one.what: wording.refusal(one) for one in refused if one.what in moved or one.other in moved}
            if faults:
                raise Refused({_at(what, moved): text for what, text in faults.items()})
        claim_versions.set_to(row, moved)
        log.write()
        if failure is not None:
            refresh.refresh_claims_of(failure.unit_id, on=on)
            row.refresh_from_db()
    return row


def _values(edits: Mapping[str, Any]) -> dict[str, Any]:
    values = dict(edits)
    for name in _SAID_ALONE & set(values):
        values[name] = values[name].strip()[:120]
    if "kinds" in values:
        values["kinds"] = ";".join(_kinds(values["kinds"]))
    return values


def _at(what: str, moved: Mapping[str, Any]) -> str:
    """The field at which a sentence about days is shown: one that was changed."""
    return what if what in moved else next(name for name in moved if name.endswith("_on"))


def dismiss_deadline(
    pk: int, *, version: int, kind: str, why: str, by: models.User | None, on: dt.date
) -> models.ClockNote:
    """Note why a clock of a claim counts no more: the payer let it go, or it was missed and this is why."""
    if not why.strip():
        raise Refused({"why": "Say why this deadline no longer applies."})
    with transaction.atomic():
        failure, row = _held_as_seen(pk, version)
        if row.clock_notes.filter(kind=kind).exists():
            raise Refused({"kind": "This deadline was already dismissed."})
        note = models.ClockNote(claim=row, kind=kind, why=why.strip()[:300], on=on, by=by)
        check(note, exclude=("claim", "by", "at"))
        claim_versions.set_to(row, {})
        note.save()
        refresh.refresh_claims_of(failure.unit_id, on=on)
    return note


def restore_deadline(pk: int, *, version: int, kind: str, by: models.User | None, on: dt.date) -> None:
    """Let a clock count again that somebody had let go."""
    with transaction.atomic():
        failure, row = _held_as_seen(pk, version)
        note = row.clock_notes.filter(kind=kind).first()
        if note is None:
            return
        log = Log(by=by)
        log.note(None, row, f"{kind} counts no more", note.why, "")
        claim_versions.set_to(row, {})
        note.delete()
        log.write()
        refresh.refresh_claims_of(failure.unit_id, on=on)


def _by_field(found: Iterable[Refusal]) -> dict[str, str]:
    faults: dict[str, str] = {}
    for one in found:
        field = _ABOUT.get(one.why, "day")
        faults[field] = " ".join(filter(None, (faults.get(field), wording.refusal(one))))
    return faults
