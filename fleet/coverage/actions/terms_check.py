"""That somebody held terms against the payer's paper again; and taking that back on the same day."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.refusals import Refused


def again(*, terms: models.Terms, by: models.User, on: dt.date, note: str = "") -> models.TermsCheck:
    """Record a check; the same one sent twice (a second press of the button) is one check."""
    with transaction.atomic():
        same = models.TermsCheck.objects.filter(terms=terms, by=by, checked_on=on, note=note).first()
        if same is not None:
            return same
        check = models.TermsCheck(terms=terms, by=by, checked_on=on, note=note)
        check.full_clean(exclude=["at"])
        check.save()
        return check


def undo(*, check: models.TermsCheck, by: models.User, on: dt.date) -> None:
    """Remove a check that its maker recorded the same day by mistake; that it was there stays on record."""
    if check.by_id != by.pk or check.checked_on != on:
        raise Refused("Only the person who recorded a check can undo it, and only on the same day.")
    if not models.TermsCheck.objects.filter(terms=check.terms_id, pk__lt=check.pk).exists():
        raise Refused("The check that came with the terms stays.")
    with transaction.atomic():
        models.Change.objects.create(
            table="termscheck",
            object_id=check.pk,
            field="checked_on",
            before=f"{check.checked_on.isoformat()} {check.note}".strip(),
            why="taken back",
            by=by,
        )
        check.delete()
