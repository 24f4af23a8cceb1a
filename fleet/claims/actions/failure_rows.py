"""What was measured at a failure, and the refrigerant that went in and out: read from text, added and taken off."""

import datetime as dt
import re
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db.models import Model

from fleet import models
from fleet.facts.refrigerant import Charge, charge_of
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.rules import readings
from fleet.rules.readings import Move
from fleet.rules.wording.readings import doubt, slip
from fleet.sheets import columns
from fleet.sheets.columns import ParseError

Told = Mapping[str, str]
Rows = list[models.Reading | models.RefrigerantEntry]
MEASURED = ("reading", "value", "measure", "mode", "fan", "minutes_running", "note")
WEIGHED = ("move", "refrigerant", "ounces", "cylinder", "who", "certificate", "note", "sure")
# Said where an entry is improbable; whoever is sure says so, and it is written.
SURE = "Correct it, or check the box if it is right."
_MOVES = (Move.RECOVERED, Move.ADDED)
_TOO_LARGE = 10**20  # of what is below it a row says that it is too large
_PLACES = Decimal("0.001")
_THOUSANDS = re.compile(r"-?[1-9]\d{0,2}(,\d{3})+(\.\d*)?")


def read(
    failure: models.Failure, measured: Sequence[Told], weighed: Sequence[Told], *, by: models.User | None, on: dt.date
) -> tuple[Rows, dict[str, str]]:
    """Read rows as they were written, of the day of the repair or else of the failure; a row left blank is none."""
    rows: Rows = []
    faults: dict[str, str] = {}
    day = failure.repaired_on or failure.failed_on or on
    for number, told in enumerate(measured):
        if _any(told, "value", "reading"):
            told = _usual_measure(told)
            row = models.Reading(unit_id=failure.unit_id, on=failure.failed_on or on, by=by)
            _fill(row, told, reading_columns(told), f"measured-{number}", rows, faults)
    charge: Charge | None = None
    for number, told in enumerate(weighed):
        if _any(told, "ounces", "move"):
            entry = models.RefrigerantEntry(system_id=failure.unit.system_id, on=day, by=by)
            charge = charge or charge_of(failure.unit.system_id)
            _fill(entry, told, ENTRY, f"weighed-{number}", rows, faults, charge)
    return rows, faults


def _any(told: Told, *names: str) -> bool:
    return any(told.get(name, "").strip() for name in names)


def _usual_measure(told: Told) -> dict[str, str]:
    """A reading's facts, with its first measure where nobody said which."""
    measures = readings.READINGS.get(told.get("reading", "").strip())
    return {**told, "measure": told.get("measure", "").strip() or (measures[0].unit if measures else "")}


def _fill(
    row: models.Reading | models.RefrigerantEntry,
    told: Told,
    known: Mapping[str, columns.Column],
    prefix: str,
    rows: Rows,
    faults: dict[str, str],
    charge: Charge | None = None,
) -> None:
    wrong: dict[str, str] = {}
    for name, column in known.items():
        text = told.get(name, "").strip()
        if not text:
            if name in _NEEDED:
                wrong[name] = f"wanted: {_NEEDED[name]}"
            continue
        try:
            setattr(row, name, column.value(column.plain(text)))
        except ParseError as wanted:
            wrong[name] = f"wanted: {wanted}"
    if not wrong:
        wrong = _refused(row)
    if (
        not wrong
        and isinstance(row, models.RefrigerantEntry)
        and not told.get("sure")
        and (asked := doubts_of(row, charge))
    ):
        wrong = {"sure": asked}
    faults |= {f"{prefix}-{name}": text for name, text in wrong.items()}
    if not wrong:
        rows.append(row)


_NEEDED = {
    "reading": "what was measured",
    "value": "a number",
    "ounces": "ounces",
    "move": "recovered or added",
    "refrigerant": "which refrigerant",
    "who": "who handled it",
}


def _refused(row: Model) -> dict[str, str]:
    try:
        check(row, whole="value" if isinstance(row, models.Reading) else "ounces")
    except Refused as refused:
        return refused.faults
    return {}


def reading_columns(told: Told) -> dict[str, columns.Column]:
    """The columns that read a reading: its value must lie within what its measure can be, else it is a slip."""
    measures = {measure.unit: measure for measure in readings.READINGS.get(told.get("reading", "").strip(), ())}
    found = measures.get(told.get("measure", "").strip()) or next(iter(measures.values()), None)
    short = columns.text(20)
    return {
        "reading": columns.choice(readings.READINGS),
        "measure": columns.choice(measures) if measures else columns.text(12),
        "value": _number(found),
        "mode": short,
        "fan": short,
        "minutes_running": columns.whole(10_000),
        "note": columns.text(300),
    }


def _pointed(cell: str) -> str:
    """A number with a point, as a keypad without one wrote it: a comma stands for it, unless it sets off thousands."""
    text = cell.replace("\u2212", "-")
    return text.replace(",", "") if _THOUSANDS.fullmatch(text) else text.replace(",", ".")


def _number(measure: readings.Measure | None) -> columns.Column:
    def plain(cell: str) -> str:
        try:
            value = Decimal(_pointed(cell))
        except InvalidOperation:
            value = Decimal("NaN")
        # In this order: beyond some thirty digits nothing can be cut to three places.
        if not value.is_finite() or abs(value) >= _TOO_LARGE or value != value.quantize(_PLACES):
            raise ParseError(f"a number with at most three places, not {cell[:40]!r}")
        if measure is not None and not measure.least <= value <= measure.most:
            raise ParseError(slip(measure, cell))
        return str(value)

    return columns.Column(plain, Decimal)


def doubts_of(row: models.RefrigerantEntry, charge: Charge | None = None) -> str:
    """What is improbable about an entry, to be said before it is written; blank where nothing is."""
    charge = charge or charge_of(row.system_id)
    pounds = row.ounces / readings.OUNCES_A_POUND
    found = readings.doubts(row.refrigerant, pounds, system=charge.refrigerant, full_charge=charge.pounds)
    weight = f"{row.ounces.normalize():f} oz"
    said = [doubt(one, refrigerant=row.refrigerant, system=charge.refrigerant, weight=weight) for one in found]
    return " ".join([*said, SURE]) if said else ""


def _weight() -> columns.Column:
    ounces = columns.decimal(7, 2)
    return columns.Column(lambda cell: ounces.plain(_pointed(cell)), ounces.value)


ENTRY = {
    "move": columns.choice(_MOVES),
    "refrigerant": columns.text(30),
    "ounces": _weight(),
    "cylinder": columns.text(60),
    "who": columns.text(120),
    "certificate": columns.text(60),
    "note": columns.text(300),
}


def add(failure: models.Failure, rows: Rows) -> bool:
    """Write rows of a failure that is on file; return whether there were any."""
    for row in rows:
        row.failure = failure
        row.write_up = failure.write_up
        row.save()
    return bool(rows)


def take_off(
    failure: models.Failure,
    readings_off: Collection[int],
    entries_off: Collection[int],
    *,
    by: models.User | None,
    why: str,
) -> bool:
    """Take off rows that were wrong; what they said stays in the log of the failure."""
    gone: list[tuple[str, Any]] = [
        *(("reading", row) for row in failure.readings.filter(pk__in=readings_off)),
        *(("refrigerant", row) for row in failure.refrigerant_entries.filter(pk__in=entries_off)),
    ]
    log = Log(by=by)
    for name, row in gone:
        log.note(None, failure, name, str(row), "", why=why)
        row.delete()
    log.write()
    return bool(gone)
