"""A system's refrigerant ledger: what was put in or taken out, by whom; added, put right and taken off."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction

from fleet import models
from fleet.claims.actions import failure_rows
from fleet.derived import refresh
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.registry.actions import correct as correcting
from fleet.rules.readings import Move
from fleet.sheets import columns
from fleet.sheets.columns import Column, ParseError

FIELDS = ("on", "move", "ounces", "refrigerant", "cylinder", "who", "certificate", "note")
_NEEDED = {
    "on": "the day",
    "move": "charged, added or recovered",
    "ounces": "the weight in ounces",
    "refrigerant": "which refrigerant",
    "who": "who handled it",
}

_SOMETHING = "wanted: a weight above 0"


def columns_on(on: dt.date) -> dict[str, Column]:
    """The column that reads each fact of an entry; no day may be later than `on`."""
    known = failure_rows.ENTRY | {"on": columns.day(last=on), "move": columns.choice(Move)}
    return {name: known[name] for name in FIELDS}


def add(
    system: int, facts: Mapping[str, str], *, sure: bool = False, by: models.User | None, on: dt.date
) -> models.RefrigerantEntry:
    """Enter what was put into a system or taken out of it; what is improbable is asked about first, unless somebody is `sure`."""
    with transaction.atomic():
        row = models.RefrigerantEntry(system=models.System.objects.select_for_update().get(pk=system), by=by)
        faults = {name: f"wanted: {what}" for name, what in _NEEDED.items() if not facts.get(name, "").strip()}
        for name, column in columns_on(on).items():
            if text := facts.get(name, "").strip():
                try:
                    setattr(row, name, column.value(column.plain(text)))
                except ParseError as wanted:
                    faults[name] = f"wanted: {wanted}"
        if not faults and row.ounces <= 0:
            faults["ounces"] = _SOMETHING
        if faults:
            raise Refused(faults)
        check(row, whole="ounces")
        _ask(row, sure=sure)
        row.save()
        log = Log(by=by)
        log.note(None, row, "ounces", None, row.ounces, why=str(row))
        log.write()
    return row


def correct(
    pk: int, edits: Mapping[str, Edit], *, sure: bool = False, by: models.User | None, on: dt.date, why: str = ""
) -> models.RefrigerantEntry:
    """Put an entry right; what somebody else changed meanwhile is told, not lost."""
    with transaction.atomic():
        row = models.RefrigerantEntry.objects.select_for_update().get(pk=pk)
        missing = {
            name: f"wanted: {_NEEDED[name]}" for name in edits if name in _NEEDED and not edits[name].now.strip()
        }
        if missing:
            raise Refused(missing)
        together = lambda: {} if row.ounces > 0 else {"ounces": _SOMETHING}  # noqa: E731 - looks at the row as it will be
        if correcting.facts(row, edits, columns_on(on), by=by, why=why, together=together):
            if {
                name
                for name in ("ounces", "refrigerant", "move")
                if edits.get(name) and edits[name].was != edits[name].now
            }:
                _ask(row, sure=sure)
            _follow(row, on=on)
    return row


def _ask(row: models.RefrigerantEntry, *, sure: bool) -> None:
    if not sure and (asked := failure_rows.doubts_of(row)):
        raise Refused({"sure": asked})


def take_off(pk: int, *, why: str, by: models.User | None, on: dt.date) -> None:
    """Take off an entry that should not stand there; what it said stays in the log."""
    if not why.strip():
        raise Refused({"why": "Say why it is removed."})
    with transaction.atomic():
        row = models.RefrigerantEntry.objects.select_for_update().get(pk=pk)
        log = Log(by=by)
        log.note(None, row.system, "refrigerant", f"{row.on}: {row}, {row.who}", "", why=why.strip()[:300])
        log.write()
        row.delete()
        _follow(row, on=on)


def _follow(row: models.RefrigerantEntry, *, on: dt.date) -> None:
    """What a claim may bring hangs on the weight that a repair took."""
    if row.failure_id is not None:
        refresh.refresh([models.Failure.objects.values_list("unit_id", flat=True).get(pk=row.failure_id)], on=on)
