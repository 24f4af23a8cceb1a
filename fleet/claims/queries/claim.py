"""One claim: where it stands, what its payer wants, its clocks, what should come and why, what was done and what may be."""

import datetime as dt
from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal

from django.db.models import Q

from fleet import models
from fleet.claims.pages import claims as pages
from fleet.claims.queries.claims import results, stands
from fleet.derived import claim_rows
from fleet.facts import Told, fleet_facts, terms_on_file
from fleet.facts.house import house
from fleet.rules import money, wants
from fleet.rules.claims import OVER, STEPS, ZERO, Need, State
from fleet.rules.clocks import Clock, ClockKind, urgency
from fleet.rules.dates import in_words
from fleet.rules.terms import Terms
from fleet.rules.wants import Evidence
from fleet.rules.wording import claim_steps
from fleet.rules.wording.changes import value as in_log
from fleet.rules.wording.claims import clock as clock_words
from fleet.rules.wording.money import credit as credit_words
from fleet.rules.wording.money import credit_line, dollars
from fleet.rules.wording.names import lower
from fleet.sheets.columns import in_plain

# What records that a clock was met; filing is a step.
_DONE_BY = {ClockKind.APPROVAL: "approved_on", ClockKind.FORM: "form_on", ClockKind.PART_BACK: "part_back_on"}
# The steps that the payer takes, mostly by a letter that has a number.
_PAYERS = (State.ASKED_FOR_MORE, State.APPROVED, State.PART_APPROVED, State.DENIED, State.CREDITED)
_OWN = frozenset({Evidence.OUR_INVOICE, Evidence.SUPPLIERS_INVOICE, Evidence.TICKET, Evidence.OLD_PART_PHOTO})
_CLOCK_NAMES = {
    ClockKind.APPROVAL.value: "prior approval",
    ClockKind.FORM.value: "the claim form",
    ClockKind.FILE.value: "filing",
    ClockKind.PART_BACK.value: "returning the old part",
}
_NAMES = {
    "reference": "their number",
    "supplier": "the supplier",
    "kinds": "the kinds of cost",
    "approved_on": "the day prior approval was received",
    "approval_number": "the approval number",
    "form_on": "the day the claim form was filled out",
    "part_back_on": "the day the old part was returned",
    "part_asked_for": "whether they want the old part",
    "carrier": "the carrier of the old part",
}


def page(pk: int, *, on: dt.date) -> pages.ClaimPage | None:
    """Show one claim; None if there is none."""
    failures = models.Failure.objects.with_claims().prefetch_related("claims__by", "claims__clock_notes__by")
    failure = failures.filter(claims=pk).first()
    if failure is None:
        return None
    row = next(claim for claim in failure.claims.all() if claim.pk == pk)
    unit = models.Unit.objects.select_related("system__site__customer").get(pk=failure.unit_id)
    book = terms_on_file()
    told = fleet_facts([unit], book)[unit.pk]
    terms = book.by_code[book.codes[row.terms_id]]
    promised = claim_rows.promises(told, failure, book, asked=on) if failure.voided_on is None else ()
    promise = next((one for one in promised if one.terms_id == row.terms_id), None)
    job, expected = claim_rows.credits_of(failure, promised, book, house())
    credit = expected[pk]
    of_any = Q(claim=row) | Q(failure=failure) | Q(unit=unit)
    documents = list(models.Document.objects.filter(of_any, dropped_on=None).order_by("pk"))
    site = unit.system.site
    spent = money.costs(job)
    return pages.ClaimPage(
        pk=row.pk,
        version=row.version,
        state=row.state,
        state_words=claim_steps.STATES[State(row.state)],
        over=State(row.state) in OVER,
        stands=stands(row, on=on),
        waits_on=claim_steps.waits_on(State(row.state)),
        payer=row.payer,
        payer_name=row.payer_name,
        terms_pk=row.terms_id,
        terms_title=terms.title,
        component=failure.component,
        failed_on=failure.failed_on,
        failure_pk=failure.pk,
        failure_voided=failure.void_reason if failure.voided_on else "",
        unit_pk=unit.pk,
        unit=f"{unit.maker} {unit.model}",
        serial=unit.serial or unit.room,
        site_pk=site.pk,
        site=site.name,
        customer_pk=site.customer_id,
        customer=site.customer.name,
        phone=site.customer.phone,
        opened_on=row.opened_on,
        opened_by=str(row.by or ""),
        because=row.opened_because,
        supplier_name=row.supplier.name if row.supplier else "",
        supplier_note=_supplier_note(row, terms),
        results=results(promise, failure) if promise else (),
        known=_known(row),
        asks_whether_part=claim_rows.rules_of(terms, row.supplier).old_part == "return if asked",
        clocks=tuple(_clocks(failure, row, terms, on=on)),
        wants=tuple(_wants(told, failure, row, terms, documents)),
        credit=tuple(credit_line(line) for line in credit.lines),
        credit_total=credit_words(credit),
        spent=tuple((kind, amount) for kind, amount in spent.items() if amount),
        spent_total=money.cost(job),
        most=money.most(job, *expected.values()),
        elsewhere=sum((other.credited for other in failure.claims.all() if other.pk != pk), ZERO),
        steps=tuple(_steps(row)),
        offers=tuple(_offers(row, credit)),
        documents=tuple(
            (one.pk, one.caption or one.name, one.kind == "photo") for one in documents if _given(one, row)
        ),
        others=tuple(
            (other.pk, other.payer_name, claim_steps.STATES[State(other.state)])
            for other in failure.claims.all()
            if other.pk != pk
        ),
        changes=tuple(_changes(row)),
    )


def on_file(pk: int) -> tuple[tuple[int, str], ...]:
    """List the photos and papers of a claim's unit, to choose from for what its payer wants."""
    found = models.Document.objects.filter(unit__failures__claims=pk, dropped_on=None)
    return tuple((one.pk, one.caption or one.name) for one in found.order_by("-at", "-pk"))


def _supplier_note(row: models.Claim, terms: Terms) -> str:
    """Whether a supplier's own clocks and fee hold in place of the paper's, in a sentence; blank without a supplier."""
    if row.supplier is None:
        return ""
    own = claim_rows.rules_of(terms, row.supplier) != terms.claims
    return (
        "Its own deadlines and fee apply to this claim."
        if own
        else "It has no deadlines of its own; the payer's terms apply."
    )


def _known(row: models.Claim) -> pages.Known:
    return pages.Known(
        reference=row.reference,
        supplier=row.supplier_id,
        kinds=claim_rows.kinds_of(row),
        approved_on=row.approved_on,
        approval_number=row.approval_number,
        form_on=row.form_on,
        part_back_on=row.part_back_on,
        part_asked_for=row.part_asked_for,
        carrier=row.carrier,
    )


# ---------------------------------------------------------------------------------------------------------- clocks


def _clocks(failure: models.Failure, row: models.Claim, terms: Terms, *, on: dt.date) -> Iterator[pages.ClockLine]:
    notes = {note.kind: note for note in row.clock_notes.all()}
    found = claim_rows.clocks_of(failure, row, terms, asked=on, noted=True)
    for clock in sorted(found, key=lambda clock: _urgency(clock, notes, on)):
        note = notes.get(clock.kind)
        yield pages.ClockLine(
            kind=clock.kind.value,
            words=clock_words(clock, asked=on),
            state=clock.state.value,
            open=clock.open and note is None,
            day_field=_DONE_BY.get(clock.kind, ""),
            note=note.why if note else "",
            noted=_noted(note) if note else "",
        )


def _urgency(clock: Clock, notes: Collection[str], on: dt.date) -> tuple[bool, tuple[int, int]]:
    return clock.kind in notes, urgency(clock, on)


def _noted(note: models.ClockNote) -> str:
    return f"{note.by or 'Somebody'}, {in_words(note.on)}"


# ----------------------------------------------------------------------------------------------------------- wants


def _given(one: models.Document, row: models.Claim) -> bool:
    return one.claim_id == row.pk or one.failure_id == row.failure_id


def _wants(
    told: Told, failure: models.Failure, row: models.Claim, terms: Terms, documents: Sequence[models.Document]
) -> Iterator[pages.WantLine]:
    given: dict[str, list[tuple[int, str]]] = {}
    for one in documents:
        if _given(one, row):
            for text in filter(None, one.given_for.split("\n")):
                given.setdefault(text.casefold(), []).append((one.pk, one.caption or one.name))
    found = wants.wanted(
        claim_rows.rules_of(terms, row.supplier),
        component=failure.component,
        kinds=claim_rows.kinds_of(row),
        on_file=_evidence(told, failure, row, terms, documents),
        given=given,
        registered_by=terms.registration.by if terms.registration else "either",
    )
    for want in found:
        yield pages.WantLine(
            want.text, want.there, want.who.value, want.asked_by_payer, tuple(given.get(want.text.casefold(), ()))
        )


def _evidence(
    told: Told, failure: models.Failure, row: models.Claim, terms: Terms, documents: Sequence[models.Document]
) -> frozenset[Evidence]:
    """The evidence on file for a claim; a photo shows what its caption says."""
    holding = next((one for one in told.holdings if one.terms.code == terms.code), None)
    photos = [one for one in documents if one.kind == "photo"]
    there = {
        Evidence.SERIAL: bool(told.row.serial),
        Evidence.START: bool(told.unit.started_on or told.unit.installed_on),
        Evidence.REPAIR: failure.repaired_on is not None,
        Evidence.CAUSE: failure.cause not in ("", "not known"),
        Evidence.NEW_PART_NUMBER: bool(failure.new_part_number),
        Evidence.OLD_PART_NUMBER: bool(failure.part_number),
        Evidence.APPROVAL: row.approved_on is not None,
        Evidence.REGISTRATION: bool(holding and holding.registration_number),
        Evidence.CONFIRMATION: any(one.proves_registration for one in documents),
        Evidence.PHOTO: any(_given(one, row) for one in photos),
        Evidence.READINGS: models.Reading.objects.filter(failure=failure).exists(),
        Evidence.FAULT_CODE: bool(failure.fault_code),
        Evidence.REFRIGERANT: bool(failure.refrigerant_entries.all()),
        Evidence.MAINTENANCE: bool(told.unit.maintained_on),
    }
    # A caption says what a photo or paper shows. The nameplate stays what it is; an invoice or a part is this failure's own.
    of_unit = (wants.means(one.caption) for one in documents)
    of_this = (wants.means(one.caption) for one in documents if _given(one, row))
    captioned = [
        *(found for found in of_unit if found in (Evidence.NAMEPLATE, Evidence.PURCHASE)),
        *(found for found in of_this if found in _OWN),
    ]
    return frozenset([*(evidence for evidence, is_there in there.items() if is_there), *filter(None, captioned)])


# ----------------------------------------------------------------------------------------------------------- steps


def _steps(row: models.Claim) -> Iterator[pages.StepLine]:
    for step in row.steps.select_related("by"):
        yield pages.StepLine(
            number=step.number,
            on=step.on,
            words=claim_steps.done(State(step.came_from), State(step.asked_for)),
            amount=step.amount,
            reason=step.reason,
            note=step.note,
            reference=step.reference,
            by=str(step.by or ""),
        )


def _offers(row: models.Claim, credit: money.Credit) -> Iterator[pages.Offer]:
    """List exactly the steps that the table has from here."""
    state = State(row.state)
    for to, needs in STEPS[state].items():
        for_the_rest = state is State.PART_APPROVED and to is State.FILED
        suggested = _suggested(row, credit, to) if Need.AMOUNT in needs or for_the_rest else None
        yield _offer(state, to, needs, suggested)


def _offer(state: State, to: State, needs: Collection[Need], amount: Decimal | None) -> pages.Offer:
    return pages.Offer(
        to=to.value,
        title=claim_steps.to_do(state, to),
        amount_label=claim_steps.amount_label(to),
        reason_label=claim_steps.reason_label(state, to),
        amount=amount,
        wants_amount=Need.AMOUNT in needs,
        may_say_amount=Need.AMOUNT in needs or to is State.FILED,
        wants_reason=Need.REASON in needs,
        may_say_reason=Need.REASON in needs or to is State.CREDITED,
        may_be_last=to is State.CREDITED,
        is_payers=to in _PAYERS or state is State.CREDITED,
        wants_correction=Need.CORRECTION in needs,
    )


def _suggested(row: models.Claim, credit: money.Credit, to: State) -> Decimal | None:
    """Fill in the amount that is likely: what should come, what was asked for, what is still out."""
    if to is State.FILED and row.state == State.PART_APPROVED:
        found = row.asked - row.approved
    elif to is State.FILED:
        found = credit.total if credit.total > 0 else credit.possible
    elif to is State.APPROVED:
        found = row.asked
    elif to is State.CREDITED:
        found = row.approved - row.credited
    else:
        return None
    return found if found > 0 else None


def _changes(row: models.Claim) -> Iterator[pages.ChangeLine]:
    """The changes made beside the steps, newest first, in words."""
    found = models.Change.objects.filter(table="claim", object_id=row.pk).select_related("by")
    for change in found.order_by("-pk")[:50]:
        if change.field not in _NAMES:
            yield pages.ChangeLine(change.pk, _change(change))
            continue
        holds = in_plain(getattr(row, change.field)) == change.after
        yield pages.ChangeLine(change.pk, _change(change), holds, "" if holds else "It was changed again since.")


def _change(change: models.Change) -> str:
    who = change.by or "Somebody"
    if change.field == "step":
        return f"{who} undid a step: {change.before}. Why: {change.why}"
    if change.field.endswith(" counts no more"):
        clock = change.field.removesuffix(" counts no more")
        return f"{who} restored the deadline for {_CLOCK_NAMES.get(clock, clock)} (dismissed before: {change.before})"
    what = _NAMES.get(change.field, change.field)
    after = in_log(change.after).replace(";", ", ") or "blank"
    before = f" (before: {in_log(change.before).replace(';', ', ')})" if change.before else ""
    return f"{who} set {what} to {after}{before}"


def offer(state: str, to: str) -> pages.Offer | None:
    """Describe a step that is not offered from here, so that what somebody typed for it can be shown; None: there is none such."""
    if to not in {str(known) for known in State}:
        return None
    came_from = next((State(before) for before, into in STEPS.items() if State(to) in into), None)
    if came_from is None:
        return None
    return _offer(came_from, State(to), STEPS[came_from][State(to)], None)


def taken(step: models.ClaimStep) -> str:
    """Which step was recorded, and what it leads to, in a sentence."""
    done = claim_steps.done(State(step.came_from), State(step.asked_for))
    amount = f" {dollars(step.amount)}" if step.amount is not None else ""
    more = "; more is still to come" if step.asked_for == State.CREDITED and step.went_to != State.CREDITED else ""
    return f"Recorded: {lower(done)}{amount}{more}."
