"""Promises of our own: made, corrected, called on, released, and each of these taken back."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.actions import correct
from fleet.rules.dates import in_words

FIELDS = ("system_id", "words", "conditions", "made_by", "made_on", "until", "cost_at_most")
_CALLED = {"called_on": None, "called_what": "", "called_cost": None}
_RELEASED = {"released_on": None, "released_why": ""}


def make(site: int, *, facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> models.OwnPromise:
    """Record a promise to the customer whose the site is today."""
    with transaction.atomic():
        place = models.Site.objects.select_for_update().get(pk=site)
        row = models.OwnPromise(
            site=place, customer_id=place.customer_id, **correct.known(facts, FIELDS, of="a promise")
        )
        _checked(row, on=on)
        row.save()
        log = Log(by=by)
        log.note(None, row, "until", None, row.until)
        log.note(None, place, "promise of our own", "", _said(row))
        log.write()
    return row


def change(pk: int, *, was: Mapping[str, Any], facts: Mapping[str, Any], by: models.User | None, on: dt.date) -> bool:
    """Correct a promise; what somebody else changed since it was seen (`was`) is said, not lost. False: nothing changed."""
    with transaction.atomic():
        row = _locked(pk)
        return _set(row, correct.changed(row, was=was, told=correct.known(facts, FIELDS, of="a promise")), by=by, on=on)


def call_on(
    pk: int, *, day: dt.date, what: str, cost: Decimal | None, by: models.User | None, on: dt.date
) -> models.OwnPromise:
    """Record that a promise was called on: what was done, and what it cost."""
    with transaction.atomic():
        row = _standing(pk)
        _day(row, day, on)
        if not what.strip():
            raise Refused("Enter what was done.", "what")
        _set(row, {"called_on": day, "called_what": what.strip(), "called_cost": cost}, by=by, on=on)
    return row


def release(pk: int, *, day: dt.date, why: str, by: models.User | None, on: dt.date) -> models.OwnPromise:
    """Record that the customer released us from a promise, and why."""
    with transaction.atomic():
        row = _standing(pk)
        _day(row, day, on)
        if not why.strip():
            raise Refused("Enter a reason.", "why")
        _set(row, {"released_on": day, "released_why": why.strip()}, by=by, on=on)
    return row


def restore(pk: int, *, by: models.User | None, on: dt.date) -> models.OwnPromise:
    """Take back that a promise was called on or released: it holds as before."""
    with transaction.atomic():
        row = _locked(pk)
        if row.called_on is None and row.released_on is None:
            raise Conflict("Somebody undid this meanwhile. Look at it again below.")
        _set(row, _CALLED | _RELEASED, by=by, on=on)
    return row


def delete(pk: int, *, by: models.User | None, on: dt.date) -> models.Site:
    """Take off a promise that was entered by mistake; the site's log still says it."""
    del on
    with transaction.atomic():
        row = _locked(pk)
        if row.called_on is not None or row.released_on is not None:
            raise Refused("It was called on or released. Undo that first.")
        site = row.site
        log = Log(by=by)
        log.note(None, site, "promise of our own", _said(row), "")
        log.write()
        row.delete()
    return site


def _said(row: models.OwnPromise) -> str:
    return f"{row.words} (until {in_words(row.until)})"


def _locked(pk: int) -> models.OwnPromise:
    return models.OwnPromise.objects.select_for_update().get(pk=pk)


def _standing(pk: int) -> models.OwnPromise:
    row = _locked(pk)
    if row.called_on is not None:
        raise Conflict(f"It was called on already, on {in_words(row.called_on)}.")
    if row.released_on is not None:
        raise Conflict(f"It was released already, on {in_words(row.released_on)}.")
    return row


def _day(row: models.OwnPromise, day: dt.date, on: dt.date) -> None:
    if day > on:
        raise Refused("Enter a day no later than today.", "day")
    if not row.made_on <= day <= row.until:
        raise Refused(f"Enter a day on which it held: {in_words(row.made_on)} to {in_words(row.until)}.", "day")


def _set(row: models.OwnPromise, facts: Mapping[str, Any], *, by: models.User | None, on: dt.date) -> bool:
    moved = {name: value for name, value in facts.items() if getattr(row, name) != value}
    if not moved:
        return False
    log = Log(by=by)
    log.set(row, moved)
    _checked(row, on=on)
    row.save()
    log.write()
    return True


def _checked(row: models.OwnPromise, *, on: dt.date) -> None:
    if row.made_on > on:
        raise Refused("Enter a day no later than today.", "made_on")
    if row.until < row.made_on:
        raise Refused(f"Enter a day no earlier than {in_words(row.made_on)}, when it was made.", "until")
    if row.system_id is not None and not models.System.objects.filter(pk=row.system_id, site=row.site_id).exists():
        raise Refused("Choose a system at this site.", "system_id")
    check(row)
