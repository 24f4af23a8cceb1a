"""Swapping two heads of one system: their rooms, where they hang in each other's, or their serials, where the nameplates were
mixed up when they were entered. Swapping them again undoes it.

With the rooms goes what is of the spot; everything else on file stays with each unit. With the serials goes what stands on a
nameplate, and what the manufacturer knows by the serial: registrations. Everything else on file stays with each room.
"""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.derived import lookup, refresh
from fleet.loading.history.rows import digest_of
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.facts import swaps
from fleet.registry.facts.swaps import FIELDS, Swap
from fleet.rules import words

_KEYED = ("maker", "model", "serial")


def swap(one: int, other: int, *, what: str, by: models.User | None, on: dt.date) -> None:
    """Swap the `rooms` or the `serials` of two heads of one system."""
    with transaction.atomic():
        _swap(one, other, what, by=by, on=on, said="swapped with")


def undo(pk: int, *, by: models.User | None, on: dt.date) -> models.Change:
    """Swap two heads back, by the change that says that they were swapped."""
    with transaction.atomic():
        change = models.Change.objects.filter(pk=pk, table="unit", field=swaps.FIELD).first()
        done = None if change is None else swaps.read(change.after)
        if change is None or done is None:
            raise Refused("This swap is no longer on file.")
        list(models.Unit.objects.select_for_update().filter(pk__in=(change.object_id, done.other)))
        if reason := swaps.why_not([change])[pk]:
            raise Conflict(f"Nothing was undone. {reason}")
        _swap(change.object_id, done.other, done.what, by=by, on=on, said="swapped back with")
    return change


def _swap(one: int, other: int, what: str, *, by: models.User | None, on: dt.date, said: str) -> None:
    if what not in FIELDS:
        raise Refused({"what": "Choose what to swap: the rooms or the serials."})
    units = {unit.pk: unit for unit in models.Unit.objects.select_for_update().filter(pk__in=(one, other))}
    if one == other or len(units) != 2:
        raise Refused({"other": "Choose the other head."})
    left, right = units[one], units[other]
    if left.system_id != right.system_id or left.removed_on or right.removed_on or {left.role, right.role} != {"head"}:
        raise Refused({"other": "Choose two heads that are in service in the same system."})
    fields = [name for name in FIELDS[what] if getattr(left, name) != getattr(right, name)]
    if what == "serials" and (left.took_over_from_id or right.took_over_from_id):
        fields = [name for name in fields if name != "manufactured_on"]  # the first of a line has it
    if FIELDS[what][0] not in fields:
        raise Refused({"what": f"Nothing to swap: both have the same {FIELDS[what][0]}, or none."})
    names = {left.pk: str(left), right.pk: str(right)}
    _change_places(left, right, fields, Log(by=by), what, said, names)
    if what == "serials":
        _registrations(left, right)
        _known_to_files(left, right)
    log = Log(by=by)
    for unit, with_unit in ((left, right), (right, left)):
        log.note(None, unit, swaps.FIELD, "", swaps.written(Swap(what, with_unit.pk)))
    log.write()
    lookup.index(units=[left, right])
    there = models.Place.objects.filter(system=left.system_id).values_list("unit_id", flat=True)
    refresh.refresh(sorted({one, other, *there}), on=on)


def _change_places(
    left: models.Unit, right: models.Unit, fields: list[str], log: Log, what: str, said: str, names: dict[int, str]
) -> None:
    """Set each one's facts to the other's; nothing is known by two serials, or stands in two rooms, in between."""
    mine, others = ({name: getattr(unit, name) for name in fields} for unit in (left, right))
    log.set(left, others, why=f"{what} {said} {names[right.pk]}"[:300])
    log.set(right, mine, why=f"{what} {said} {names[left.pk]}"[:300])
    for unit in (left, right):
        for name in set(fields) & {*_KEYED}:
            setattr(unit, f"{name}_key", words.key(getattr(unit, name)))
    aside = {"serial_key": f"\x1f{left.pk}"} if what == "serials" else {"room": f"\x1f{left.pk}"}
    models.Unit.objects.filter(pk=left.pk).update(**aside)
    for unit in (right, left):
        check(unit)
        unit.save()
    log.write()


def _registrations(left: models.Unit, right: models.Unit) -> None:
    """Let registrations, and what files told of them, go with the serials: the manufacturer knows them by those."""
    mine, others = (list(unit.registrations.order_by("pk")) for unit in (left, right))
    with_install = [row.pk for row in (*mine, *others) if row.with_install]
    models.Registration.objects.filter(pk__in=with_install).update(with_install=False)
    told: list[models.HistoryRow] = []
    for rows, unit in ((mine, right), (others, left)):
        pks = [row.pk for row in rows]
        models.Registration.objects.filter(pk__in=pks).update(unit=unit)
        for row in models.HistoryRow.objects.filter(table="registration", object_id__in=pks):
            row.unit = unit
            told.append(row)
    # Both may have been told alike, so neither takes its place while the other still has it.
    for row in told:
        models.HistoryRow.objects.filter(pk=row.pk).update(digest=f"aside {row.pk}")
    for row in told:
        row.digest = digest_of(row.reference, row.unit_id, row.content)
        row.save(update_fields=["unit", "digest"])
    models.Registration.objects.filter(pk__in=with_install).update(with_install=True)


def _known_to_files(left: models.Unit, right: models.Unit) -> None:
    """Let a history file that names either serial bring nothing twice: what it told of one is known of the other too.

    Of a row with a reference the reference says that; swapped back, the other knows it no more.
    """
    rows = models.HistoryRow.objects.filter(reference="").exclude(table__in=("", "registration"))
    for unit, other in ((left, right), (right, left)):
        for told in rows.filter(unit=unit):
            digest = digest_of("", other.pk, told.content)
            known = models.HistoryRow.objects.filter(digest=digest).first()
            if known is None:
                models.HistoryRow.objects.create(
                    digest=digest, content=told.content, unit=other, table="", load=told.load
                )
            elif not known.table and known.unit_id == other.pk:
                known.delete()
