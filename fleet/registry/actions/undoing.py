"""What every way of undoing needs: a reason, what hangs on a thing, and how a thing and its history leave the file.

What hangs on a thing are the rows that point at it. Those that are only worked out from facts do not count, nor do labels: where
their unit leaves the file, they are blank again.
"""

from collections.abc import Collection, Iterator
from typing import Any

from django.db.models import Model, QuerySet

from fleet import models
from fleet.derived import apart, refresh
from fleet.log import Log
from fleet.refusals import Refused

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
    "ownpromise": "promise of our own",
    "unitreport": "report from the site",
}


# As much of a reason as the log of changes holds.
_LONGEST_REASON = 300


def reason(why: str) -> str:
    """The reason why something is undone, as the log keeps it; refused where nobody gave one."""
    if not why.strip():
        raise Refused({"why": "Say why this is undone, in a few words."})
    return why.strip()[:_LONGEST_REASON]


def rows_on(table: type[Model], keys: Collection[int]) -> Iterator[tuple[str, QuerySet[Any]]]:
    """Find what points at rows of a table, by their keys: of each other table, with the field by which it does."""
    for relation in table._meta.related_objects:
        other: Any = relation.related_model
        if other not in (*refresh.WORKED_OUT, models.Label):
            yield relation.field.name, other.objects.filter(**{f"{relation.field.name}__in": keys})


def is_free(thing: Model) -> bool:
    """Whether nothing points at a thing."""
    return not any(found.exists() for _, found in rows_on(type(thing), [thing.pk]))


def called(found: QuerySet[Any], number: int) -> str:
    """The number of rows, with the name that people have for those of their table."""
    name = _CALLED.get(found.model._meta.model_name or "", str(found.model._meta.verbose_name))
    return f"{number} {name}{'' if number == 1 else 's'}"


def loosen(units: Collection[int], log: Log, *, why: str) -> None:
    """Let the labels of units that leave the file be blank again, as the log says of each label."""
    for label in models.Label.objects.select_related("unit").filter(unit__in=units):
        log.note(None, label, "unit", label.unit, "", why=why)
    models.Label.objects.filter(unit__in=units).update(unit=None)


def drop(thing: Model) -> None:
    """Delete a thing that nothing hangs on, with what the look-up found it by."""
    models.LookupEntry.objects.filter(kind=thing._meta.model_name, object_id=thing.pk).delete()
    thing.delete()
    apart.keep(apart.told_apart())


def forget(rows: QuerySet[models.HistoryRow]) -> None:
    """Let rows of history no longer apply: one of a file stays known, so that the file brings nothing back; others go."""
    for row in rows.select_related("load"):
        if row.load is not None and row.load.digest:
            row.table, row.object_id = "", None
            row.save(update_fields=["table", "object_id"])
        else:
            row.delete()
