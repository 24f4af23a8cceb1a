"""Putting a fact right from a screen: what was seen, what it should be; a change by somebody else meanwhile is told, not lost."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model

from fleet import models
from fleet.derived import lookup
from fleet.derived import refresh as kept
from fleet.loading.fact_columns import columns_of
from fleet.loading.install_units import HANDED_ON
from fleet.loading.loading import Columns
from fleet.log import Log
from fleet.models.facts import facts_of
from fleet.rules import words
from fleet.sheets.columns import Wanted, in_plain

CUSTOMER, SITE, UNIT = (tuple(facts_of(table)) for table in (models.Customer, models.Site, models.Unit))


@dataclass(frozen=True, slots=True)
class Conflict:
    """A field that somebody else changed since it was seen: what it is now, and who did it."""

    field: str
    now: str
    who: str


class Refused(ValueError):
    """A correction that was not made: a message by field, and what others changed meanwhile. Nothing was changed."""

    def __init__(self, faults: Mapping[str, str], conflicts: tuple[Conflict, ...] = ()) -> None:
        self.faults = dict(faults)
        self.conflicts = conflicts
        super().__init__("; ".join(f"{field}: {text}" for field, text in self.faults.items()))


@dataclass(frozen=True, slots=True)
class Edit:
    """What a field showed when somebody began, and what they want it to be; both as text, blank for nothing."""

    was: str
    now: str


def customer(pk: int, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str = "") -> None:
    """Correct a customer."""
    with transaction.atomic():
        row = models.Customer.objects.select_for_update().get(pk=pk)
        if facts(row, edits, columns_of(models.Customer, last=on), by=by, why=why):
            lookup.index(customers=[row])


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
            kept.refresh(list(there.values_list("unit_id", flat=True).distinct()), on=on)


def unit(pk: int, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str = "") -> None:
    """Correct a unit; what was handed on in an exchange is corrected on the first unit of the line."""
    with transaction.atomic():
        row = root = models.Unit.objects.select_for_update().get(pk=pk)
        while root.took_over_from_id:
            root = models.Unit.objects.select_for_update().get(pk=root.took_over_from_id)
        handed = {field: edit for field, edit in edits.items() if field in HANDED_ON}
        own = {field: edit for field, edit in edits.items() if field not in HANDED_ON}
        columns = columns_of(models.Unit, last=on)
        changed = facts(row, own, columns, by=by, why=why)
        changed |= facts(root, handed, columns, by=by, why=why)
        if changed:
            lookup.index(units=[row])
            kept.refresh([root.pk, row.pk], on=on)


def facts(
    row: Model,
    edits: Mapping[str, Edit],
    columns: Columns,
    *,
    by: models.User | None,
    why: str,
    check: Callable[[], Mapping[str, str]] = dict,
) -> bool:
    """Set what changed, once all of it can be set, each text read as its column is; tell whether anything did.

    `check` looks at the row as it would be, and gives what cannot be, by field.
    """
    unknown = set(edits) - set(columns)
    if unknown:
        raise KeyError(f"not facts of a {row._meta.model_name}: {sorted(unknown)}")
    moved = {field: edit for field, edit in edits.items() if edit.was.strip() != edit.now.strip()}
    conflicts = tuple(
        Conflict(field, in_plain(getattr(row, field)), _last_changed_by(row, field))
        for field, edit in moved.items()
        if in_plain(getattr(row, field)) not in (edit.was.strip(), edit.now.strip())
    )
    values, faults = _values(moved, columns)
    if conflicts:
        faults |= {one.field: f"{one.who} changed this meanwhile; it is now {one.now or 'blank'}" for one in conflicts}
    if faults:
        raise Refused(faults, conflicts)
    log = Log(by=by)
    for field, value in values.items():
        if in_plain(getattr(row, field)) == in_plain(value):
            continue
        log.note(None, row, field, getattr(row, field), value, why=why)
        setattr(row, field, value)
        if field in ("maker", "model", "serial"):
            setattr(row, f"{field}_key", words.key(value))
    if not log:
        return False
    if wrong_together := check():
        raise Refused(wrong_together)
    try:
        # A fact that nobody recorded is no fault.
        row.full_clean(exclude=[field.name for field in row._meta.fields if getattr(row, field.attname) is None])
    except ValidationError as wrong:
        raise Refused({field: " ".join(texts) for field, texts in wrong.message_dict.items()}) from wrong
    row.save()
    log.write()
    return True


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
        except Wanted as wanted:
            faults[field] = f"wanted: {wanted}"
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
        conflict = Conflict("use", stored, _last_changed_by(row, "use"))
        raise Refused({"use": f"{conflict.who} changed this meanwhile; it is now {stored or 'blank'}"}, (conflict,))
    if now not in ("", *words.USES):
        raise Refused({"use": f"wanted: one of {', '.join(words.USES)}"})
    row.uses.filter(from_on=None).delete()
    if now:
        models.SiteUse.objects.create(site=row, use=now)
    log = Log(by=by)
    log.note(None, row, "use", stored, now, why=why)
    log.write()
    return True


def _last_changed_by(row: Model, field: str) -> str:
    found = models.Change.objects.filter(table=row._meta.model_name, object_id=row.pk, field=field)
    last = found.select_related("by").order_by("-at", "-pk").first()
    return str(last.by) if last and last.by else "Somebody"
