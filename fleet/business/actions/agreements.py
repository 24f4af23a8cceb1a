"""Agreements: made, changed, renewed, ended and taken up again, each on somebody's word."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from fleet import models
from fleet.facts.agreements import agreement_of
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.actions import correct
from fleet.rules.dates import in_words

FIELDS = (
    "reference", "start_on", "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing",
    "renews", "rise_percent", "notes",
)  # fmt: skip


# What decides which days a bill is for: a bill that was sent stands for its days. Prices change those still planned alone.
_FIXED_BY_BILLS = ("start_on", "months", "billing")
# What is said where a constraint of this name is broken.
_KNOWN_BY = {
    "agreement_known_by_reference": "This site already has an agreement with this reference.",
    "agreement_known_by_start": "This site already has an agreement from this day. Give this one a reference.",
}


def make(site: int, *, facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> models.Agreement:
    """Make an agreement for a site; the same one twice is refused by what it is known by."""
    del on
    with transaction.atomic():
        row = models.Agreement(site_id=site, **correct.known(facts, FIELDS, of="an agreement"))
        _check(row)
        row.save()
        log = Log(by=by)
        log.note(None, row, "start_on", None, row.start_on)
        log.write()
    return row


def change(pk: int, *, was: Mapping[str, Any], facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Change what was agreed; what somebody else changed since it was seen (`was`) is said, not lost. False: nothing changed."""
    del on
    with transaction.atomic():
        row = _locked(pk)
        moved = correct.changed(row, was=was, told=correct.known(facts, FIELDS, of="an agreement"))
        if fixed := [name for name in _FIXED_BY_BILLS if name in moved] if row.bills.exists() else ():
            raise Refused(
                dict.fromkeys(fixed, "Bills were sent, so this stays. End this agreement and make a new one.")
            )
        return _set(row, moved, by=by)


def renew(pk: int, *, seen: int, by: models.User | None, on: dt.date) -> models.Agreement:
    """Agree one more term; `seen` is how many terms were agreed when asked.

    Terms that began by themselves meanwhile are agreed ones, so the next is counted from them.
    """
    with transaction.atomic():
        row = _locked(pk)
        if row.ended_on is not None:
            raise Refused({"": f"It ended on {in_words(row.ended_on)}. Resume it first."})
        if row.renews == "no":
            raise Refused({"": "It does not renew, as agreed. Change that first, or make a new agreement."})
        agreed = agreement_of(row).agreed_terms(on)
        if seen != agreed:
            raise Conflict("Somebody renewed it meanwhile. Look at it again below.")
        _set(row, {"terms_agreed": agreed + 1}, by=by)
    return row


def unrenew(pk: int, *, seen: int, by: models.User | None, on: dt.date) -> models.Agreement:
    """Take back the renewal that was agreed last, while its term has not begun."""
    with transaction.atomic():
        row = _locked(pk)
        if row.terms_agreed != seen:
            raise Conflict("Somebody changed it meanwhile. Look at it again below.")
        if not agreement_of(row).may_unrenew(on):
            raise Refused({"": "The last renewal has begun. End the agreement with a day and a reason instead."})
        _set(row, {"terms_agreed": row.terms_agreed - 1}, by=by)
    return row


def end(pk: int, *, day: dt.date, why: str, by: models.User | None, on: dt.date) -> models.Agreement:
    """End an agreement: from that day nothing of it holds. The day may lie ahead."""
    del on
    with transaction.atomic():
        row = _locked(pk)
        if row.ended_on is not None:
            raise Refused({"": f"It was already ended, on {in_words(row.ended_on)}: {row.ended_why}"})
        if not why.strip():
            raise Refused({"why": "Enter a reason."})
        if day < row.start_on:
            raise Refused({"day": f"Enter a day no earlier than its first day, {in_words(row.start_on)}."})
        _set(row, {"ended_on": day, "ended_why": why.strip()}, by=by)
    return row


def resume(pk: int, *, by: models.User | None, on: dt.date) -> models.Agreement:
    """Take an ended agreement up again, as if it had not been ended."""
    del on
    with transaction.atomic():
        row = _locked(pk)
        if row.ended_on is None:
            raise Refused({"": "It was not ended, so there is nothing to resume."})
        if models.AgreementRefund.objects.filter(agreement=row).exists():
            raise Refused({"": "What to give back was decided. Undo that decision first."})
        _set(row, {"ended_on": None, "ended_why": ""}, by=by)
    return row


def _locked(pk: int) -> models.Agreement:
    return models.Agreement.objects.select_for_update().get(pk=pk)


def _set(row: models.Agreement, facts: Mapping[str, Any], *, by: models.User | None) -> bool:
    moved = {name: value for name, value in facts.items() if getattr(row, name) != value}
    if not moved:
        return False
    log = Log(by=by)
    log.set(row, moved)
    _check(row)
    row.save(update_fields=list(moved))
    log.write()
    return True


def _check(row: models.Agreement) -> None:
    try:
        check(row)
    except Refused as refused:
        faults = refused.faults
        for name, text in _KNOWN_BY.items():
            faults = {field: text if name in sentence else sentence for field, sentence in faults.items()}
        raise Refused(faults) from refused
