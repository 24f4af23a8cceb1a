"""What a merge does row by row: a list of steps, in order, by which everything can be taken apart again exactly.

A step is `set` (a field of a row, before and after) or `drop` (a whole row).
"""

from collections.abc import Mapping
from typing import Any

from django.db.models import ForeignKey, Model

from fleet import models
from fleet.derived import refresh
from fleet.loading.history.rows import digest_of
from fleet.loading.installs.units import HANDED_ON
from fleet.refusals import Refused

# What makes no difference between two rows that tell the same.
PASSING = {"load", "with_install", "by", "at", "key"}


class Steps:
    """What was done, so that it can be undone: values are written as Django writes them in files."""

    def __init__(self) -> None:
        self.done: list[list[Any]] = []

    def set(self, row: Any, name: str, value: Any) -> None:
        """Set one field of a row."""
        self.set_many(row, {name: value})

    def set_many(self, row: Any, values: Mapping[str, Any]) -> None:
        """Set fields of a row at once."""
        fields = {name: row._meta.get_field(name) for name in values}
        before = {field.attname: written(row, field) for field in fields.values()}
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=[field.name for field in fields.values()])
        after = {field.attname: written(row, field) for field in fields.values()}
        self.done.append(["set", row._meta.model_name, row.pk, before, after])

    def drop(self, row: Any) -> None:
        """Delete a row."""
        told = {field.attname: written(row, field) for field in row._meta.concrete_fields}
        self.done.append(["drop", row._meta.model_name, row.pk, told, {}])
        type(row)._default_manager.filter(pk=row.pk).delete()


def written(row: Any, field: Any) -> Any:
    value = field.value_from_object(row)
    if value is None or isinstance(field, ForeignKey) or isinstance(value, bool | int | str):
        return value
    return field.value_to_string(row)


def read(table: type[Model], told: Mapping[str, Any]) -> dict[str, Any]:
    fields = {field.attname: field for field in table._meta.concrete_fields}
    return {name: fields[name].to_python(value) if value is not None else None for name, value in told.items()}


def join_sites(steps: Steps, left: models.Site, right: models.Site, take: set[str]) -> None:
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
    move(steps, left, right)


def join_units(steps: Steps, left: models.Unit, right: models.Unit, take: set[str]) -> None:
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
    move(steps, left, right)


def _lines(steps: Steps, left: models.Unit, right: models.Unit) -> None:
    """Let a place in a line of exchanges hold on; two places cannot be one unit's."""
    if left.in_place_of_id == right.pk or right.in_place_of_id == left.pk:
        raise Refused("One of them took the other's place, so they are two.")
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


def _join(steps: Steps, left: Any, right: Any) -> None:
    """Make two rows below the merged ones one: what the kept one has blank is filled."""
    move(steps, left, right)
    facts = {}
    for field in left._meta.concrete_fields:
        value = getattr(right, field.attname)
        if getattr(left, field.attname) in (None, "") and value not in (None, "") and field.name not in PASSING:
            facts[field.attname] = value
    for row in models.HistoryRow.objects.filter(table=right._meta.model_name, object_id=right.pk):
        steps.set(row, "object_id", left.pk)
    steps.drop(right)
    for name, value in facts.items():
        steps.set(left, name, value)


def move(steps: Steps, left: Any, right: Any) -> None:
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
            move(steps, table._default_manager.get(pk=twin), row)
            steps.drop(row)


def _move_told(steps: Steps, row: models.HistoryRow, left: models.Unit) -> None:
    """Move what a file told; told of both, it is one, and a file that tells it again brings nothing new."""
    digest = digest_of(row.reference, left.pk, row.content)
    if models.HistoryRow.objects.filter(digest=digest).exclude(pk=row.pk).exists():
        steps.drop(row)
        return
    steps.set_many(row, {"unit_id": left.pk, "digest": digest})


def _by_content(table: Any, name: str, left: Any) -> dict[tuple[Any, ...], int]:
    return {_content(row, name): row.pk for row in table._default_manager.filter(**{name: left})}


def _content(row: Model, name: str) -> tuple[Any, ...]:
    passing = {name, *PASSING}
    return tuple(
        str(getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if not field.primary_key and field.name not in passing
    )
