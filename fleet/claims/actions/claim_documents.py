"""Photos and papers given for what a payer wants to see."""

import datetime as dt
from typing import BinaryIO

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Refused
from fleet.registry.actions import documents

_LONGEST = 300


def give(
    pk: int,
    *,
    want: str,
    file: BinaryIO | None = None,
    name: str = "",
    document: int | None = None,
    by: models.User,
    on: dt.date,
) -> models.Document:
    """Record that a file, sent now or on file already, is given for what a claim's payer wants, in their words."""
    claim = models.Claim.objects.select_related("failure__unit").filter(pk=pk).first()
    if claim is None:
        raise Refused({"claim": "This claim is no longer on file."})
    want = want.strip()
    if not want:
        raise Refused({"want": "Say what it is given for."})
    if file is None and document is None:
        raise Refused({"file": "Choose a photo or a paper."})
    row = _sent(claim, want, file, name, by=by) if file is not None else _kept(claim, document or 0)
    with transaction.atomic():
        row = models.Document.objects.select_for_update().get(pk=row.pk)
        if row.failure_id not in (None, claim.failure_id):
            raise Refused({"file": "This one is kept for another failure of the unit already."})
        given = [*filter(None, row.given_for.split("\n")), want]
        text = "\n".join(dict.fromkeys(given))
        if len(text) > _LONGEST:
            raise Refused({"want": "This one was given for as much as can be noted of it; give another."})
        log = Log(by=by)
        log.note(None, row, "given_for", row.given_for, text)
        # What proves one payer something about a failure proves it to the others too.
        row.given_for, row.failure = text, claim.failure
        row.claim = row.claim or claim
        row.save(update_fields=["given_for", "failure", "claim"])
        log.write()
    return row


def _sent(claim: models.Claim, want: str, file: BinaryIO, name: str, *, by: models.User) -> models.Document:
    try:
        return documents.add(file=file, name=name, whose=claim.failure.unit, caption=want[:_LONGEST], by=by)
    except Refused as refused:
        raise Refused(str(refused), "file") from refused


def _kept(claim: models.Claim, document: int) -> models.Document:
    row = models.Document.objects.filter(pk=document, unit=claim.failure.unit_id, dropped_on=None).first()
    if row is None:
        raise Refused({"document": "This photo or paper is no longer kept."})
    return row
