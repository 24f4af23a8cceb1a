"""Registering the units of a system: sent or confirmed in one step, accepted late, a missing date filled in, and taken back."""

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import BinaryIO

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct, documents
from fleet.registry.facts.owners import owner_of

# One unit under some terms, by their keys.
Pair = tuple[int, int]
# The dates that a limit may count from, and the fact that a screen fills in for it.
_UNIT_DATES = ("installed_on", "started_on", "purchased_on")


@dataclass(frozen=True, slots=True)
class Proof:
    """The payer's paper that confirms it."""

    file: BinaryIO
    name: str


def register(
    *,
    system: models.System,
    pairs: Collection[Pair],
    registered_on: dt.date,
    number: str = "",
    in_name: str = "",
    proof: Proof | None = None,
    by: models.User,
    on: dt.date,
) -> int:
    """Record that units were registered: with the payer's number it is confirmed, without one it was sent.

    It was made in the owner's name unless another is given, and with the serials as they are now. Return how many registrations
    that wrote; the same one sent twice is one.
    """
    number, in_name = number.strip(), in_name.strip() or owner_of(system.site)[0]
    if registered_on > on:
        raise Refused("Enter a day no later than today.", "registered_on")
    with transaction.atomic():
        rows = [
            models.Registration(
                unit=unit,
                terms=terms,
                registered_on=registered_on,
                number=number,
                in_name=in_name[:200],
                serial=unit.serial,
                serial_key=unit.serial_key,
            )
            for unit, terms in _held(system, pairs)
        ]
        written = _write(rows, by=by, on=on)
        if proof is not None:
            _prove(proof, system, _on_file(rows), by=by)
    return written


def prove(*, system: models.System, registrations: Collection[int], proof: Proof, by: models.User) -> int:
    """Keep the payer's paper that proves registrations on file, whoever recorded them; return for how many it is new."""
    with transaction.atomic():
        units = _locked(system)
        rows = models.Registration.objects.filter(pk__in=registrations, unit__in=units).select_related("unit", "proof")
        if not rows:
            raise Conflict("This registration was taken back meanwhile. Look again.", "proof")
        return _prove(proof, system, list(rows.order_by("pk")), by=by)


def accept_late(
    *, system: models.System, pairs: Collection[Pair], accepted_on: dt.date, told_by: str, by: models.User, on: dt.date
) -> int:
    """Record that the payer accepted registrations late, in writing; return how many."""
    if accepted_on > on:
        raise Refused("Enter a day no later than today.", "accepted_on")
    with transaction.atomic():
        rows = [
            models.Registration(
                unit=unit, terms=terms, accepted_late=True, accepted_late_on=accepted_on, told_by=told_by.strip()
            )
            for unit, terms in _held(system, pairs)
        ]
        return _write(rows, by=by, on=on)


def undo(*, system: models.System, registrations: Collection[int], by: models.User, on: dt.date) -> int:
    """Remove registrations that were recorded here by mistake; that they were there stays on record."""
    with transaction.atomic():
        units = _locked(system)
        rows = list(
            models.Registration.objects.filter(
                pk__in=registrations, unit__in=units, load__isnull=True, with_install=False
            ).select_related("unit", "terms")
        )
        log = Log(by=by)
        for row in rows:
            log.note(None, row.unit, "registration", words(row), "", why="taken back")
        log.write()
        models.Registration.objects.filter(pk__in=[row.pk for row in rows]).delete()
        refresh.refresh({row.unit_id for row in rows}, on=on)
    return len(rows)


def fill_date(
    *, system: models.System, units: Collection[int], date: str, day: dt.date, by: models.User, on: dt.date
) -> int:
    """Fill in the one date that a limit counts from, for each unit or for the house; return for how many units.

    A date that somebody else filled in meanwhile is named, and nothing is changed.
    """
    edit = Edit("", day.isoformat())
    with transaction.atomic():
        chosen = [unit for unit in _locked(system) if unit.pk in set(units)]
        if not chosen:
            raise Refused("None of these units is in this system anymore. Reload the page.", "day")
        try:
            if date == "closed_on":
                for site in {_first_site(unit) for unit in chosen}:
                    correct.site(site, {"closed_on": edit}, by=by, on=on)
            else:
                # Terms that were bought count from the day of the install where no other day is on file.
                field = date if date in _UNIT_DATES else "installed_on"
                for unit in chosen:
                    correct.unit(unit.pk, {field: edit}, by=by, on=on)
        except Refused as refused:
            raise Refused("; ".join(dict.fromkeys(refused.faults.values())), "day") from refused
    return len(chosen)


def put_right(*, system: models.System, registrations: Collection[int], what: str, by: models.User) -> int:
    """Record that the payer has our name (or serial) for registrations by now; return for how many."""
    return _settle(system, registrations, what, by=by, right=True)


def leave_as_is(*, system: models.System, registrations: Collection[int], what: str, by: models.User) -> int:
    """Record that the payer's name (or serial) is as it should be, though ours is another; return for how many."""
    return _settle(system, registrations, what, by=by, right=False)


def _settle(system: models.System, registrations: Collection[int], what: str, *, by: models.User, right: bool) -> int:
    with transaction.atomic():
        units = _locked(system)
        rows = models.Registration.objects.select_related("unit").filter(pk__in=registrations, unit__in=units)
        owner, log = owner_of(system.site)[0], Log(by=by)
        done = 0
        for row in rows.order_by("pk"):
            ours = owner if what == "name" else row.unit.serial
            if (row.in_name if what == "name" else row.serial) == ours:
                continue  # somebody put it right meanwhile
            if what == "name":
                facts = {"in_name": ours} if right else {"fine_name": ours}
            else:
                facts = {"serial": ours} if right else {"fine_serial_key": row.unit.serial_key}
            log.set(row, facts, why="the payer has it so now" if right else "as it should be")
            if "serial" in facts:
                row.serial_key = row.unit.serial_key
            row.save(update_fields=["in_name", "serial", "serial_key", "fine_name", "fine_serial_key"])
            done += 1
        log.write()
    return done


def remind(*, system: models.System, terms: models.Terms, way: str, by: models.User, on: dt.date) -> models.Reminder:
    """Record that the owner was asked to register today; twice in the same way on a day is once."""
    with transaction.atomic():
        reminder, made = models.Reminder.objects.get_or_create(
            system=system, terms=terms, reminded_on=on, way=way, defaults={"by": by}
        )
        if made:
            log = Log(by=by)
            log.note(None, system, "reminder", "", f"{terms.code}: {way}, {on.isoformat()}")
            log.write()
    return reminder


def words(row: models.Registration) -> str:
    """Write a registration as the log keeps it."""
    code = row.terms.code if row.terms else "every maker's terms"
    if row.accepted_late:
        who = f" by {row.told_by}" if row.told_by else ""
        return f"{code}: accepted late on {row.accepted_late_on or 'a day not recorded'}{who}"
    number = f", number {row.number}" if row.number else ""
    return f"{code}: registered on {row.registered_on or 'a day not recorded'}{number}"


def _locked(system: models.System) -> list[models.Unit]:
    """Hold the units of the system, so that of two people the second sees what the first recorded."""
    return list(models.Unit.objects.select_for_update().in_service().filter(system=system).order_by("pk"))


def _held(system: models.System, pairs: Iterable[Pair]) -> list[tuple[models.Unit, models.Terms]]:
    """The chosen units and terms, all of which must still be held; raises Refused."""
    chosen = set(pairs)
    units = {unit.pk: unit for unit in _locked(system)}
    rows = models.HoldingRow.objects.filter(unit__in=units).select_related("terms").order_by("unit_id", "terms_id")
    held = [(units[row.unit_id], row.terms) for row in rows if (row.unit_id, row.terms_id) in chosen]
    if not chosen:
        raise Refused("Choose at least one unit.", "units")
    if len(held) != len(chosen):
        raise Refused("Some of these units no longer have these terms. Reload the page and choose again.", "units")
    return held


def _write(rows: list[models.Registration], *, by: models.User, on: dt.date) -> int:
    known = {_same(row) for row in models.Registration.objects.filter(unit__in={row.unit_id for row in rows})}
    new = [row for row in rows if _same(row) not in known]
    log = Log(by=by)
    for row in new:
        row.full_clean(exclude=["accepted_late", "load", "proof", "registered_on", "accepted_late_on"])
        log.note(None, row.unit, "registration", "", words(row))
    models.Registration.objects.bulk_create(new)
    log.write()
    refresh.refresh({row.unit_id for row in new}, on=on)
    return len(new)


def _same(row: models.Registration) -> tuple[object, ...]:
    return (
        row.unit_id,
        row.terms_id,
        row.registered_on,
        row.number,
        row.accepted_late,
        row.accepted_late_on,
        row.told_by,
    )


def _on_file(rows: Iterable[models.Registration]) -> list[models.Registration]:
    """The rows on file for these registrations: written now, or when the same was sent before."""
    keys = {_same(row) for row in rows}
    stored = models.Registration.objects.filter(unit__in={unit for unit, *_ in keys}).select_related("unit", "proof")
    return [row for row in stored.order_by("pk") if _same(row) in keys]


def _prove(proof: Proof, system: models.System, rows: Collection[models.Registration], *, by: models.User) -> int:
    """Let one paper stand on each registration that it proves; it is kept with the papers of their site."""
    number = next((row.number for row in rows if row.number), "")
    caption = f"Registration {number}, {system.name}" if number else f"Registration, {system.name}"
    try:
        paper = documents.add(
            file=proof.file, name=proof.name, whose=system.site, caption=caption, proves_registration=True, by=by
        )
    except Refused as refused:
        raise Refused(str(refused), "proof") from refused
    new = [row for row in rows if row.proof_id != paper.pk]
    log = Log(by=by)
    for row in new:
        log.note(None, row.unit, "proof of registration", row.proof or "", paper)
    models.Registration.objects.filter(pk__in=[row.pk for row in new]).update(proof=paper)
    log.write()
    return len(new)


def _first_site(unit: models.Unit) -> int:
    """The site where a unit, or the first of its line of exchanges, was put in: its closing day counts."""
    root = unit.first_of_line()
    first = root.places.select_related("system").first()
    return (first.system if first else root.system).site_id
