"""Two customers, sites or units that are one: joined, with everything needed to take them apart again exactly.

What a merge did is written as a list of steps, in order: `set` (a field of a row, before and after) and `drop` (a whole
row). Undoing walks the list backward.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import IntegrityError, transaction
from django.db.models import ForeignKey, Model
from django.db.models.functions import Now

from fleet import models
from fleet.derived import lookup, refresh
from fleet.loading.history.rows import digest_of
from fleet.loading.installs.units import HANDED_ON
from fleet.log import Log
from fleet.refusals import Refused
from fleet.registry.actions import correct
from fleet.registry.facts.labels import label
from fleet.sheets.columns import in_plain

FACTS = {
    "customer": correct.CUSTOMER,
    "site": ("customer", *correct.SITE),
    "unit": ("system", *correct.UNIT, "removed_on", "removal_reason", "matched_after"),
}
TABLES: dict[str, type[Model]] = {"customer": models.Customer, "site": models.Site, "unit": models.Unit}
_KEYS = {"maker": "maker_key", "model": "model_key", "serial": "serial_key"}
# What makes no difference between two rows that tell the same.
_PASSING = {"load", "with_install", "by", "at", "key"}


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A fact that the two tell differently."""

    field: str
    kept: str
    gone: str


def contradictions(kind: str, keep: Any, gone: Any) -> tuple[Contradiction, ...]:
    """List what the two tell differently; a blank is filled by the other's."""
    found = []
    for field in FACTS[kind]:
        one, other = getattr(keep, field), getattr(gone, field)
        if one not in (None, "") and other not in (None, "") and one != other:
            found.append(Contradiction(field, in_plain(one), in_plain(other)))
    if kind == "site":
        one, other = _use(keep), _use(gone)
        if one and other and one != other:
            found.append(Contradiction("use", one, other))
    return tuple(found)


def _use(site: models.Site) -> str:
    first = site.uses.filter(from_on=None).first()
    return first.use if first else ""


def merge(
    kind: str,
    keep: int,
    gone: int,
    *,
    chosen: Mapping[str, str],
    by: models.User | None,
    on: dt.date,
    why: str = "",
) -> models.Merge:
    """Make two things one; `chosen` says of each contradicting field whether `kept` or `gone` is right."""
    try:
        with transaction.atomic():
            return _merge(kind, keep, gone, chosen=chosen, by=by, on=on, why=why)
    except IntegrityError as wrong:
        raise Refused(f"These two cannot be merged as they are: {wrong}.") from wrong


def _merge(
    kind: str, keep: int, gone: int, *, chosen: Mapping[str, str], by: models.User | None, on: dt.date, why: str
) -> models.Merge:
    if keep == gone:
        raise Refused("Choose two different ones.")
    found: dict[int, Any] = TABLES[kind]._default_manager.select_for_update().in_bulk([keep, gone])
    if len(found) != 2:
        raise Refused("One of the two is no longer on file.")
    left, right = found[keep], found[gone]
    differing = contradictions(kind, left, right)
    open_still = [one.field for one in differing if chosen.get(one.field) not in ("kept", "gone")]
    if open_still:
        raise Refused(f"Choose which is right first: {', '.join(map(label, open_still))}.")
    name, names = str(right), [str(left), str(right)]
    take = {one.field for one in differing if chosen[one.field] == "gone"}
    steps = _Steps()
    touched = _touched(kind, [keep, gone])
    log = Log(by=by)
    facts = _facts(kind, left, right, take)
    _absorb(kind, steps, left, right, take)
    for field, value in facts.items():
        log.note(None, left, field, getattr(left, field), value, why=f"merged with {name}"[:300])
    facts |= {_KEYS[field]: getattr(right, _KEYS[field]) for field in facts.keys() & _KEYS.keys()}
    if facts:
        steps.set_many(left, facts)
    log.write()
    content = {"steps": steps.done, "gone": name, "names": names}
    made = models.Merge.objects.create(kind=kind, kept_id=left.pk, gone_id=gone, content=content, why=why, by=by)
    _index(kind, [left])
    refresh.refresh(sorted(touched | _touched(kind, [keep])), on=on)
    return made


def _absorb(kind: str, steps: "_Steps", left: Any, right: Any, take: set[str]) -> None:
    """Move everything that the second has to the first, and delete the second."""
    match kind:
        case "customer":
            _customers(steps, left, right)
        case "site":
            _sites(steps, left, right, take)
        case _:
            _units(steps, left, right, take)
    for entry in models.LookupEntry.objects.filter(kind=kind, object_id=right.pk):
        steps.drop(entry)
    for table in (models.Change, models.HistoryRow):
        for row in table.objects.filter(table=kind, object_id=right.pk):
            steps.set(row, "object_id", left.pk)
    _clear(kind, right)
    steps.drop(right)


def _touched(kind: str, ids: list[int]) -> set[int]:
    """List the units whose answers may hang on these."""
    if kind == "unit":
        # Maintenance of a unit may count for its whole system.
        systems = models.Place.objects.filter(unit__in=ids).values("system")
        return set(models.Place.objects.filter(system__in=systems).values_list("unit_id", flat=True))
    where = {"site": "system__site__in", "customer": "system__site__customer__in"}[kind]
    return set(models.Place.objects.filter(**{where: ids}).values_list("unit_id", flat=True))


def _index(kind: str, rows: list[Any]) -> None:
    match kind:
        case "customer":
            lookup.index(customers=rows)
        case "site":
            lookup.index(sites=rows)
        case _:
            lookup.index(units=rows)


def _facts(kind: str, left: Any, right: Any, take: set[str]) -> dict[str, Any]:
    """What the first takes from the second: the contradictions so chosen, and what the first had blank."""
    blank = {field for field in FACTS[kind] if getattr(left, field) in (None, "")}
    return {
        field: getattr(right, field)
        for field in FACTS[kind]
        if (field in take or field in blank) and getattr(right, field) not in (None, "")
    }


def _clear(kind: str, gone: Any) -> None:
    """Take away what is only worked out of a unit, which the deleting would take along unsaid."""
    if kind == "unit":
        for relation in gone._meta.related_objects:
            if relation.related_model in refresh.WORKED_OUT:
                relation.related_model._default_manager.filter(**{relation.field.name: gone}).delete()


# ------------------------------------------------------------------------------------------------- of each kind


def _customers(steps: "_Steps", left: models.Customer, right: models.Customer) -> None:
    both = left.sites.filter(name__in=right.sites.values("name")).first()
    if both is not None:
        raise Refused(
            f"Each of them has a site named {both.name}. Merge those two sites first, or give one another name."
        )
    _move(steps, left, right)


def _sites(steps: "_Steps", left: models.Site, right: models.Site, take: set[str]) -> None:
    for use in right.uses.all():
        twin_use = left.uses.filter(from_on=use.from_on).first()
        if twin_use is not None and twin_use.use != use.use:
            steps.drop(twin_use if use.from_on is None and "use" in take else use)
    for sale in right.sales.all():
        twin = left.sales.filter(sold_on=sale.sold_on).first()
        if twin is not None:
            _join(steps, twin, sale)
    for system in right.systems.all():
        twin_system = left.systems.filter(name=system.name).first()
        if twin_system is not None:
            _join(steps, twin_system, system)
    _move(steps, left, right)


def _units(steps: "_Steps", left: models.Unit, right: models.Unit, take: set[str]) -> None:
    same = (left.maker_key, left.model_key) == (right.maker_key, right.model_key)
    if not same and left.serial_key and right.serial_key:
        raise Refused("Two units with serials of their own, of different makers or models, are two.")
    if left.took_over_from_id == right.pk or right.took_over_from_id == left.pk:
        raise Refused("One of them came in exchange for the other, so they are two.")
    _lines(steps, left, right)
    # Where it stood is one story: that of the side chosen.
    for place in (left if "system" in take else right).places.all():
        steps.drop(place)
    if left.registrations.filter(with_install=True).exists():
        for registration in right.registrations.filter(with_install=True):
            steps.set_many(registration, {"with_install": False})
    for attachment in right.attachments.all():
        twin = left.attachments.filter(terms=attachment.terms_id).first()
        if twin is not None:
            _join(steps, twin, attachment)
    for idle in right.idles.all():
        if left.idles.filter(idle_on=idle.idle_on).exists():
            steps.drop(idle)
    _move(steps, left, right)


def _lines(steps: "_Steps", left: models.Unit, right: models.Unit) -> None:
    """Let a place in a line of exchanges hold on; two places cannot be one unit's."""
    if left.took_over_from_id and right.took_over_from_id:
        raise Refused("Each of them came in exchange for another unit.")
    for heir, other in ((left, right), (right, left)):
        if heir.took_over_from_id and any(getattr(other, name) not in (None, "") for name in HANDED_ON):
            words = f"{heir} came in exchange and has its dates from the unit before it, while {other} has dates of its own."
            raise Refused(f"{words} Correct those first.")
    if right.took_over_from_id:
        before, replaced_on = right.took_over_from_id, right.replaced_on
        steps.set_many(right, {"took_over_from_id": None, "replaced_on": None})
        steps.set_many(left, {"took_over_from_id": before, "replaced_on": replaced_on})


def _join(steps: "_Steps", left: Any, right: Any) -> None:
    """Make two rows below the merged ones one: what the kept one has blank is filled."""
    _move(steps, left, right)
    facts = {}
    for field in left._meta.concrete_fields:
        value = getattr(right, field.attname)
        if getattr(left, field.attname) in (None, "") and value not in (None, "") and field.name not in _PASSING:
            facts[field.attname] = value
    for row in models.HistoryRow.objects.filter(table=right._meta.model_name, object_id=right.pk):
        steps.set(row, "object_id", left.pk)
    steps.drop(right)
    for name, value in facts.items():
        steps.set(left, name, value)


def _move(steps: "_Steps", left: Any, right: Any) -> None:
    """Move every row that points at the one to the other; one that tells what the other has too is dropped."""
    for relation in right._meta.related_objects:
        table = relation.related_model
        if table in refresh.WORKED_OUT:
            continue
        name = relation.field.name
        twins = {} if table in (models.Site, models.System, models.Unit) else _by_content(table, name, left)
        for row in table._default_manager.filter(**{name: right}).order_by("pk"):
            if isinstance(row, models.HistoryRow):
                _move_told(steps, row, left)
                continue
            twin = twins.get(_content(row, name))
            if twin is None:
                steps.set(row, relation.field.attname, left.pk)
                continue
            for told in models.HistoryRow.objects.filter(table=table._meta.model_name, object_id=row.pk):
                steps.set(told, "object_id", twin)
            # What hangs on it, as readings and claims on a failure, hangs on the one that stays.
            _move(steps, table._default_manager.get(pk=twin), row)
            steps.drop(row)


def _move_told(steps: "_Steps", row: models.HistoryRow, left: models.Unit) -> None:
    """Move what a file told; told of both, it is one, and a file that tells it again brings nothing new."""
    digest = digest_of(row.reference, left.pk, row.content)
    if models.HistoryRow.objects.filter(digest=digest).exclude(pk=row.pk).exists():
        steps.drop(row)
        return
    steps.set_many(row, {"unit_id": left.pk, "digest": digest})


def _by_content(table: Any, name: str, left: Any) -> dict[tuple[Any, ...], int]:
    return {_content(row, name): row.pk for row in table._default_manager.filter(**{name: left})}


def _content(row: Model, name: str) -> tuple[Any, ...]:
    passing = {name, *_PASSING}
    return tuple(
        str(getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if not field.primary_key and field.name not in passing
    )


# ------------------------------------------------------------------------------------------------- steps


class _Steps:
    """What was done, so that it can be undone: values are written as Django writes them in files."""

    def __init__(self) -> None:
        self.done: list[list[Any]] = []

    def set(self, row: Any, name: str, value: Any) -> None:
        """Set one field of a row."""
        self.set_many(row, {name: value})

    def set_many(self, row: Any, values: Mapping[str, Any]) -> None:
        """Set fields of a row at once."""
        fields = {name: row._meta.get_field(name) for name in values}
        before = {field.attname: _written(row, field) for field in fields.values()}
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=[field.name for field in fields.values()])
        after = {field.attname: _written(row, field) for field in fields.values()}
        self.done.append(["set", row._meta.model_name, row.pk, before, after])

    def drop(self, row: Any) -> None:
        """Delete a row."""
        told = {field.attname: _written(row, field) for field in row._meta.concrete_fields}
        self.done.append(["drop", row._meta.model_name, row.pk, told, {}])
        type(row)._default_manager.filter(pk=row.pk).delete()


def _written(row: Any, field: Any) -> Any:
    value = field.value_from_object(row)
    if value is None or isinstance(field, ForeignKey) or isinstance(value, bool | int | str):
        return value
    return field.value_to_string(row)


def _read(table: type[Model], told: Mapping[str, Any]) -> dict[str, Any]:
    fields = {field.attname: field for field in table._meta.concrete_fields}
    return {name: fields[name].to_python(value) if value is not None else None for name, value in told.items()}


# ------------------------------------------------------------------------------------------------- undoing


def undo(pk: int, *, by: models.User | None, on: dt.date) -> None:
    """Take two things apart again, exactly as they were; what was put on file since stays with the one that was kept."""
    try:
        with transaction.atomic():
            _undo(models.Merge.objects.select_for_update().get(pk=pk), by=by, on=on)
    except IntegrityError as wrong:
        raise Refused(f"Something entered since is in the way: {wrong}.") from wrong


def _undo(merge: models.Merge, *, by: models.User | None, on: dt.date) -> None:
    if merge.undone_at is not None:
        raise Refused("This merge was already undone.")
    table: Any = TABLES[merge.kind]
    left = table.objects.select_for_update().filter(pk=merge.kept_id).first()
    if left is None:
        raise Refused("The one that stayed has been merged since. Undo that merge first.")
    touched = _touched(merge.kind, [merge.kept_id])
    log = Log(by=by)
    for what, name, row_pk, before, after in reversed(merge.content["steps"]):
        model: Any = apps.get_model("fleet", name)
        if what == "drop":
            model.objects.bulk_create(_as_it_comes_back(model(**_read(model, before))))
            continue
        row = model.objects.filter(pk=row_pk).first()
        if row is None:
            continue  # gone since, by somebody's own doing
        now = {field: _written(row, _field(model, field)) for field in after}
        if now != after:
            differing = ", ".join(label(field) for field in after if now[field] != after[field])
            raise Refused(f"{differing} of {row} changed since the merge. Correct it back first.")
        values = _read(model, before)
        if row_pk == left.pk and name == merge.kind:
            for field, value in values.items():
                if not field.endswith("_key"):
                    log.note(None, left, field.removesuffix("_id"), getattr(row, field), value, why="merge undone")
        model.objects.filter(pk=row_pk).update(**values)
    log.write()
    merge.undone_at, merge.undone_by = Now(), by
    merge.save(update_fields=["undone_at", "undone_by"])
    both = [merge.kept_id, merge.gone_id]
    _index(merge.kind, list(table.objects.filter(pk__in=both)))
    refresh.refresh(sorted(touched | _touched(merge.kind, both)), on=on)


def _as_it_comes_back(row: Any) -> list[Any]:
    """A deleted row to restore; of a write-up undone since, only failures come back, and those voided."""
    pk = getattr(row, "write_up_id", None)
    gone = None if pk is None else models.WriteUp.objects.exclude(taken_back_on=None).filter(pk=pk).first()
    if gone is None:
        return [row]
    if not isinstance(row, models.Failure):
        return []
    if row.voided_on is None:
        row.voided_on, row.void_reason = gone.taken_back_on, gone.taken_back_why
    return [row]


def _field(model: type[Model], attname: str) -> Any:
    return next(field for field in model._meta.concrete_fields if field.attname == attname)
