"""Putting a fact right from a screen: what was seen, what it should be; a change by somebody else meanwhile is told, not lost."""

import datetime as dt
from collections.abc import Callable, Collection, Mapping
from typing import Any

from django.db import transaction
from django.db.models import Model

from fleet import models
from fleet.derived import lookup, refresh
from fleet.elements.edits import Edit
from fleet.facts import matches
from fleet.loading.fact_columns import columns_of
from fleet.loading.installs.units import HANDED_ON
from fleet.loading.loading import Columns
from fleet.log import Log
from fleet.models.facts import facts_of
from fleet.refusals import Conflict, Refused, check
from fleet.registry.facts.labels import said
from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.sheets.columns import ParseError, in_plain

CUSTOMER, SITE, UNIT = (tuple(facts_of(table)) for table in (models.Customer, models.Site, models.Unit))


def customer(pk: int, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str = "") -> None:
    """Correct a customer."""
    with transaction.atomic():
        row = models.Customer.objects.select_for_update().get(pk=pk)
        if facts(row, edits, columns_of(models.Customer, last=on), by=by, why=why):
            lookup.index(customers=[row])


# What of a unit nothing is worked out from.
_SAID_ALONE = {"room", "installer", "notes", "refrigerant", "plate_charge_oz", "plate_amps", "filter_size"}


def site(pk: int, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str = "") -> None:
    """Correct a site; every unit that ever stood there is worked out again."""
    with transaction.atomic():
        row = models.Site.objects.select_for_update().get(pk=pk)
        own = {field: edit for field, edit in edits.items() if field != "use"}
        changed = facts(row, own, columns_of(models.Site, last=on), by=by, why=why)
        if "use" in edits:
            changed |= _correct_use(row, edits["use"], by=by, on=on, why=why)
        if changed:
            lookup.index(sites=[row])
            there = models.Place.objects.filter(system__site=row).order_by("unit_id")
            refresh.refresh(list(there.values_list("unit_id", flat=True).distinct()), on=on)


def unit(pk: int, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str = "") -> None:
    """Correct a unit; what was handed on in an exchange is corrected on the first unit of the line."""
    with transaction.atomic():
        row = models.Unit.objects.select_for_update().get(pk=pk)
        stale = _correct_unit(row, edits, by=by, on=on, why=why)
        if stale:
            refresh.refresh(stale, on=on)


def system(
    pk: int, edits: Mapping[int, Mapping[str, Edit]], *, by: models.User | None, on: dt.date, why: str = ""
) -> None:
    """Correct units of a system, each by its key, all of them or none."""
    with transaction.atomic():
        there = models.Unit.objects.in_service().filter(system=pk, pk__in=edits)
        rows = list(there.select_for_update().order_by("pk"))
        if len(rows) < len(edits):
            raise Refused("A unit that you chose no longer stands in this system. Look at the list again.", "units")
        stale: list[int] = []
        for row in rows:
            try:
                stale += _correct_unit(row, edits[row.pk], by=by, on=on, why=why)
            except Refused as refused:
                named = {field: f"{row.room or row}: {text}" for field, text in refused.faults.items()}
                raise Conflict(named, now=refused.now) if isinstance(refused, Conflict) else Refused(named) from refused
        if stale:
            refresh.refresh(stale, on=on)


def _correct_unit(
    row: models.Unit, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str
) -> list[int]:
    """Correct one unit; the keys of those for which something may have to be worked out again."""
    root = row
    while root.took_over_from_id:
        root = models.Unit.objects.select_for_update().get(pk=root.took_over_from_id)
    match = matches.deciding(row) if "matched_system" in edits else None
    handed = {field: edit for field, edit in edits.items() if field in HANDED_ON}
    if match is not None:
        del handed["matched_system"]
    own = {field: edit for field, edit in edits.items() if field not in HANDED_ON}
    columns = columns_of(models.Unit, last=on)
    changed = facts(row, own, columns, by=by, why=why)
    changed |= facts(root, handed, columns, by=by, why=why)
    if match is not None:
        changed |= still_matched(match, edits["matched_system"], by=by, why=why)
    if changed:
        lookup.index(units=[row])
    worked_out = {field for field, edit in edits.items() if edit.differs} - _SAID_ALONE
    return [root.pk, row.pk] if changed and worked_out else []


def still_matched(row: models.Unit, edit: Edit, *, by: models.User | None, why: str) -> bool:
    """Correct what was answered when an outdoor unit was exchanged, of its system since then; return whether it changed."""
    stored, now = matches.said_of(row), edit.now.strip()
    if not edit.differs or now == stored:
        return False
    if stored != edit.was.strip():
        raise Conflict(_meanwhile(row, "matched_after", stored), "matched_system", now={"matched_system": stored})
    if now not in ("", "yes", "no"):
        raise Refused({"matched_system": "Enter yes, no or nothing."})
    log = Log(by=by)
    log.note(None, row, "matched_after", stored, now, why=why)
    log.write()
    row.matched_after = now or "not known"
    row.save(update_fields=["matched_after"])
    return True


def facts(
    row: Model,
    edits: Mapping[str, Edit],
    columns: Columns,
    *,
    by: models.User | None,
    why: str,
    together: Callable[[], Mapping[str, str]] = dict,
) -> bool:
    """Set what changed, once all of it can be set, each text read as its column is; return whether anything did.

    `together` looks at the row as it would be, and gives what cannot be, by field.
    """
    unknown = set(edits) - set(columns)
    if unknown:
        raise KeyError(f"not facts of a {row._meta.model_name}: {sorted(unknown)}")
    moved = {field: edit for field, edit in edits.items() if edit.differs}
    stored = {field: in_plain(getattr(row, field)) for field in moved}
    values, faults = _values(moved, columns)
    now = {
        field: text
        for field, text in stored.items()
        if text not in (moved[field].was.strip(), moved[field].now.strip())
    }
    if now:
        raise Conflict(faults | {field: _meanwhile(row, field, text) for field, text in now.items()}, now=now)
    if faults:
        raise Refused(faults)
    new = {field: value for field, value in values.items() if in_plain(getattr(row, field)) != in_plain(value)}
    if not new:
        return False
    log = Log(by=by)
    log.set(row, new, why=why)
    for field in new.keys() & {"maker", "model", "serial"}:
        setattr(row, f"{field}_key", words.key(new[field]))
    if wrong_together := together():
        raise Refused(wrong_together)
    check(row)
    row.save()
    log.write()
    return True


def known(facts: Mapping[str, Any], fields: Collection[str], *, of: str) -> dict[str, Any]:
    """Facts as they are kept, their texts without blanks around; a KeyError for one that is none of these fields, of what `of` names."""
    unknown = set(facts) - set(fields)
    if unknown:
        raise KeyError(f"not facts of {of}: {sorted(unknown)}")
    return {name: value.strip() if isinstance(value, str) else value for name, value in facts.items()}


def changed(row: Model, *, was: Mapping[str, Any], told: Mapping[str, Any]) -> dict[str, Any]:
    """Of the facts told, those that differ from what was seen and from what is on file; a Conflict where both do."""
    moved = {name: value for name, value in told.items() if value not in (was.get(name), getattr(row, name))}
    now = {name: getattr(row, name) for name in moved if getattr(row, name) != was.get(name)}
    if now:
        raise Conflict({name: _meanwhile(row, name, in_plain(value)) for name, value in now.items()}, now=now)
    return moved


def changed_entries(
    *, was: Mapping[Any, Any], told: Mapping[Any, Any], now: Mapping[Any, Any], named: Callable[[Any], str] = str
) -> dict[Any, Any]:
    """The same of values that are a row each, by what each is of; `named` is what a Conflict calls that."""
    moved = {key: value for key, value in told.items() if value not in (was.get(key), now[key])}
    meanwhile = {named(key): now[key] for key in moved if now[key] != was.get(key)}
    if meanwhile:
        say = "Somebody changed this meanwhile; it is now {}."
        faults = {name: say.format(in_plain(value) or "blank") for name, value in meanwhile.items()}
        raise Conflict(faults, now=meanwhile)
    return moved


def _values(edits: Mapping[str, Edit], columns: Columns) -> tuple[dict[str, Any], dict[str, str]]:
    """Read each text as a file's cell of that column would be read."""
    values: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for field, edit in edits.items():
        column = columns[field]
        text = edit.now.strip()
        if not text:
            values[field] = "" if column.value is str else None
            continue
        try:
            plain = column.plain(text)
        except ParseError as expected:
            faults[field] = (
                f"Enter {'a state by its name or its letters, such as Maine or ME' if field == 'region' else expected}."
            )
            continue
        values[field] = column.value(plain)
        if field == "installed_by" and plain.casefold() == "us":
            values[field] = ""
    return values, faults


def _correct_use(row: models.Site, edit: Edit, *, by: models.User | None, on: dt.date, why: str) -> bool:
    """Correct what the site was used for ever since; uses that began on a later day stand."""
    first = row.uses.filter(from_on=None).first()
    stored = first.use if first else ""
    now = edit.now.strip()
    if now == stored:
        return False
    if stored != edit.was.strip():
        raise Conflict(_meanwhile(row, "use", stored), "use", now={"use": stored})
    if now not in ("", *words.USES):
        raise Refused({"use": f"wanted: one of {', '.join(words.USES)}"})
    row.uses.filter(from_on=None).delete()
    if now:
        models.SiteUse.objects.create(site=row, use=now)
    log = Log(by=by)
    log.note(None, row, "use", stored, now, why=why)
    log.write()
    return True


def _meanwhile(row: Model, field: str, now: str) -> str:
    """Who changed a fact since it was seen, and what it is now."""
    changes = models.Change.objects.filter(table=row._meta.model_name, object_id=row.pk, field=field)
    last = changes.select_related("by").order_by("-at", "-pk").first()
    who = str(last.by) if last and last.by else "Somebody"
    is_day = now and field.endswith("_on")
    text = in_words(dt.date.fromisoformat(now)) if is_day else said(field, now) or "blank"
    return f"{who} changed this meanwhile; it is now {text}."
