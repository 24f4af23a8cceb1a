"""The change log: which fact changed, from what to what, by whom, with which load."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Model

from fleet import models
from fleet.sheets.columns import in_plain

CHUNK = 500


class Log:
    """Gathers changes and writes them many at a time."""

    def __init__(self, *, by: models.User | None) -> None:
        self.by = by
        self._noted: list[models.Change] = []

    def note(
        self, load: models.Load | None, thing: Model, field: str, before: Any, after: Any, *, why: str = ""
    ) -> None:
        """Note that a field of a thing on file changed."""
        change = models.Change(object_id=thing.pk, field=field, why=why, by=self.by, load=load)
        change.table = thing._meta.model_name or ""
        change.before, change.after = in_plain(before), in_plain(after)
        self._noted.append(change)

    def set(self, row: Model, facts: Mapping[str, Any], *, why: str = "") -> None:
        """Set facts of a row on file and note each; checking and saving it are the caller's."""
        for name, value in facts.items():
            self.note(None, row, name, getattr(row, name), value, why=why)
            setattr(row, name, value)

    def __bool__(self) -> bool:
        return bool(self._noted)

    def write(self) -> None:
        """Write what was noted."""
        models.Change.objects.bulk_create(self._noted, batch_size=CHUNK)
        self._noted.clear()
