"""What hangs on a thing on file: the rows that point at it. Those that are only worked out from facts do not count."""

from collections.abc import Collection, Iterator
from typing import Any

from django.db.models import Model, QuerySet

from fleet.derived import refresh

# What a person calls such rows; any other is called what its table is.
_CALLED = {
    "maintenancerecord": "record of maintenance",
    "historyrow": "entry in the history",
    "payerword": "payer's word",
    "document": "photo or paper",
    "unit": "unit put in since",
    "system": "system put in since",
    "site": "site put in since",
    "place": "move",
    "idle": "time out of use",
    "writeup": "write-up",
    "bookedtask": "booked task",
    "call": "call",
    "callstep": "step of a call",
    "callvisit": "visit for a call",
    "refrigerantentry": "entry of refrigerant",
    "registration": "registration recorded since",
    "attachment": "promise recorded since",
    "notice": "notice to a payer",
}


def rows_on(table: type[Model], keys: Collection[int]) -> Iterator[tuple[str, QuerySet[Any]]]:
    """Find what points at rows of a table, by their keys: of each other table, with the field by which it does."""
    for relation in table._meta.related_objects:
        other: Any = relation.related_model
        if other not in refresh.WORKED_OUT:
            yield relation.field.name, other.objects.filter(**{f"{relation.field.name}__in": keys})


def is_free(thing: Model) -> bool:
    """Whether nothing points at a thing."""
    return not any(found.exists() for _, found in rows_on(type(thing), [thing.pk]))


def called(found: QuerySet[Any], number: int) -> str:
    """The number of rows, with the name that people have for those of their table."""
    name = _CALLED.get(found.model._meta.model_name or "", str(found.model._meta.verbose_name))
    return f"{number} {name}{'' if number == 1 else 's'}"
