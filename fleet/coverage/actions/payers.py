"""Recording what a payer itself said, taking that back, and settling where it differs from the terms on file."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Refused


def record(
    *,
    unit: models.Unit,
    terms: models.Terms,
    kind: str,
    component: str,
    said_on: dt.date,
    who: str,
    covered: bool,
    last_on: dt.date | None,
    note: str,
    by: models.User,
    on: dt.date,
) -> models.PayerWord:
    """Record what was said; the same sent twice (a second press of the button) is one."""
    if said_on > on:
        raise Refused("Enter a day no later than today.")
    if last_on is not None and not covered:
        raise Refused("Leave the last day blank if it is not covered.")
    values = {
        "unit": unit,
        "terms": terms,
        "kind": kind,
        "component": component,
        "said_on": said_on,
        "who": who,
        "covered": covered,
        "last_on": last_on,
        "note": note,
        "by": by,
    }
    with transaction.atomic():
        same = models.PayerWord.objects.filter(**values, settled_on=None).first()
        if same is not None:
            return same
        word = models.PayerWord(**values)
        word.full_clean(exclude=["last_on", "settled_on"])
        word.save()
        return word


def settle(*, word: models.PayerWord, how: str, by: models.User, on: dt.date) -> None:
    """Record how a difference was settled."""
    _set_settled(word, on, how, by=by)


def reopen(*, word: models.PayerWord, by: models.User) -> None:
    """Let a difference stand again that was taken for settled."""
    _set_settled(word, None, "", by=by)


def undo(*, word: models.PayerWord, by: models.User) -> None:
    """Remove what was recorded by mistake; that it was there stays on record."""
    if word.by_id != by.pk:
        raise Refused("Only the person who recorded it can remove it.")
    with transaction.atomic():
        log = Log(by=by)
        log.note(None, word, "who", f"{word.said_on.isoformat()} {word.who}", None, why="taken back")
        log.write()
        word.delete()


def _set_settled(word: models.PayerWord, day: dt.date | None, how: str, *, by: models.User) -> None:
    with transaction.atomic():
        row = models.PayerWord.objects.select_for_update().get(pk=word.pk)
        if (row.settled_on is None) is (day is None):
            return
        log = Log(by=by)
        log.note(None, row, "settled_how", row.settled_how, how)
        log.write()
        row.settled_on, row.settled_how = day, how
        row.save()
