"""Undoing an import: what it brought goes, and what it filled or changed on file is as it was; or nothing happens, and why.

What an import did stands on file: each row that it added bears its load, each fact that it filled or changed is in the change log
with it. So nothing more is kept for undoing. What somebody recorded since on top of it stands in the way, and is named.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager
from itertools import islice
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.log import Log
from fleet.office.actions import import_undo_history
from fleet.office.actions.import_course import put_off
from fleet.office.actions.import_undo_facts import Undoing
from fleet.refusals import Conflict, Refused
from fleet.registry.actions.undoing import called

NAMED = 5
CHUNK = 1_000

# What each kind of import adds, from the inside out, as it is taken away.
_ADDS: dict[str, tuple[Any, ...]] = {
    "installs": (models.Attachment, models.Registration, models.Unit, models.System, models.Site, models.Customer),
    "history": (models.Failure, models.MaintenanceRecord, models.Registration, models.Notice, models.Attachment),
    "agreements": (models.Agreement,),
}


def ask(*, imported: models.Import, why: str, by: models.User) -> models.Job:
    """Have an import undone in the background; `why` goes into the change log."""
    if not why.strip():
        raise Refused("Say why this import is undone.", "why")
    with transaction.atomic():
        row = models.Import.objects.select_for_update(of=("self",)).select_related("job").get(pk=imported.pk)
        if row.state != "taken" or row.load_id is None:
            raise Conflict("Somebody undid this import meanwhile, or it brought nothing.")
        if is_under_way(row):
            raise Conflict("It is being undone already.")
        row.report = {name: value for name, value in row.report.items() if name != "in_the_way"}
        row.save(update_fields=["report"])
        return put_off("undo_import", row, by=by, why=why.strip()[:300])


def is_under_way(row: models.Import) -> bool:
    """Whether an import that was taken is being undone."""
    return row.job is not None and row.job.name == "undo_import" and row.job.state in ("waiting", "running")


def undo(
    *,
    imported: int,
    why: str,
    whose: int,
    on: dt.date,
    finishing: Callable[[], AbstractContextManager[None]] = transaction.atomic,
) -> None:
    """Undo an import whole, or record what stands in the way and change nothing else."""
    try:
        with finishing():
            row = models.Import.objects.select_for_update().filter(pk=imported, state="taken").first()
            if row is None or row.load is None:
                raise Refused("Somebody undid this import meanwhile.")
            _undo(row, row.load, why=why, by=models.User.objects.get(pk=whose), on=on)
            row.state = "undone"
            row.save(update_fields=["state"])
    except Refused as refused:
        with finishing():
            row = models.Import.objects.get(pk=imported)
            row.report = row.report | {"in_the_way": str(refused)}
            row.save(update_fields=["report"])


def _undo(row: models.Import, load: models.Load, *, why: str, by: models.User | None, on: dt.date) -> None:
    undoing = Undoing(load, _ADDS[load.kind], Log(by=by))
    if load.kind == "history":
        import_undo_history.check(load)
    undoing.change_back(skipped=import_undo_history.TOLD_BY_ROWS if load.kind == "history" else frozenset())
    _refuse_if_any(_in_the_way(undoing))
    touched = undoing.near()
    if load.kind == "history":
        touched |= import_undo_history.units(load)
        import_undo_history.forget_facts(load)
    counts = undoing.remove()
    if load.kind == "history":
        import_undo_history.undo_moves(load, why=why, by=by, on=on)
    if load.done_by:  # nobody is known as another company by what was undone
        load.done_by = ""
        load.save(update_fields=["done_by"])
    undoing.log.note(None, load, "import", f"{row.name}: {_counted(counts) or 'facts alone'}", "", why=why)
    undoing.log.write()
    there = models.Unit.objects.filter(pk__in=touched) if len(touched) < CHUNK else models.Unit.objects.all()
    refresh.refresh([pk for pk in there.order_by("pk").values_list("pk", flat=True) if pk in touched], on=on)


def _in_the_way(undoing: Undoing) -> Iterator[str]:
    for table in undoing.tables:
        for field, rows in undoing.rows_on(table):
            if number := rows.count():
                first = getattr(rows.select_related(field).order_by("pk")[0], field)
                yield f"{called(rows, number)} on {first}{' and others' if number > 1 else ''}"
    yield from undoing.changed_since()
    yield from undoing.merged_since()


def _refuse_if_any(reasons: Iterable[str]) -> None:
    """Refuse, naming the first reasons."""
    all_reasons = iter(dict.fromkeys(reasons))
    if named := list(islice(all_reasons, NAMED)):
        more = sum(1 for _ in all_reasons)
        rest = f"; and {more:,} more" if more else ""
        raise Refused(f"Later records depend on this import: {'; '.join(named)}{rest}. Undo or delete those first.")


def _counted(counts: dict[str, int]) -> str:
    return ", ".join(f"{number:,} {name}{'' if number == 1 else 's'}" for name, number in counts.items() if number)
