"""Rows of a history file that say something of a unit without moving it: failures, upkeep, registrations, notices, promises."""

from typing import Any

from fleet import models
from fleet.facts.care import care_sheet
from fleet.loading.history.rows import Row
from fleet.loading.loading import Loading

_REPAIR = (
    "component", "cause", "repaired_on", "part_taken_on", "part_number", "new_part_number", "parts_cost", "labor_minutes",
    "technician", "notes",
)  # fmt: skip
_UPKEEP = ("task", "dirt_wheel", "dirt_coil", "not_before", "technician", "labor_minutes", "notes")

# Of each kind: the table it goes to, and the field of each column.
KINDS: dict[str, tuple[Any, dict[str, str]]] = {
    "failure": (models.Failure, {"day": "failed_on"} | {name: name for name in _REPAIR}),
    "maintenance": (models.MaintenanceRecord, {"day": "done_on"} | {name: name for name in _UPKEEP}),
    "skipped": (models.MaintenanceRecord, {"day": "done_on"} | {name: name for name in _UPKEEP}),
    "registered": (models.Registration, {"day": "registered_on", "number": "number", "terms": "terms_id"}),
    "accepted late": (models.Registration, {"day": "accepted_late_on", "number": "number", "terms": "terms_id"}),
    "notified": (models.Notice, {"day": "notified_on", "number": "number", "terms": "terms_id"}),
    "attached": (models.Attachment, {"day": "attached_on", "number": "number", "terms": "terms_id"}),
}
_ALSO: dict[str, dict[str, Any]] = {"skipped": {"skipped": True}, "accepted late": {"accepted_late": True}}


class Facts:
    """What a batch of such rows adds, which waits until it is written all at once."""

    def __init__(self, terms: dict[str, int], loading: Loading) -> None:
        self._terms = terms
        self._loading = loading
        self._waiting: dict[Any, list[Any]] = {}
        # What customers do themselves, by the care sheet in force; asked where the work of a file is another company's.
        self._customers_tasks: set[str] | None = None
        # Few are ever voided: all of them, once a row of the batch asks.
        self._voided: dict[int, list[models.Failure]] | None = None

    def add(self, row: Row, unit: models.Unit) -> Any:
        """Apply a row; returns the thing that is written for it, None where it contradicts what is on file."""
        if row.kind == "attached":
            return self._attach(row, unit)
        table, fields = KINDS[row.kind]
        values = self.values(row, fields)
        if self._loading.done_by and self._is_work(row):
            values.setdefault("technician", self._loading.done_by)
        thing = table(unit=unit, load=self._loading.load, **values, **_ALSO.get(row.kind, {}))
        self._waiting.setdefault(table, []).append(thing)
        return thing

    def _is_work(self, row: Row) -> bool:
        """Whether somebody who does this for a living did it: maintenance but for what customers do themselves, or a repair."""
        if self._customers_tasks is None:
            sheet = care_sheet()
            self._customers_tasks = {task.code for task in sheet.tasks if task.by == "owner"} if sheet else set()
        if row.kind == "maintenance":
            return row.cells.get("task") not in self._customers_tasks
        return row.kind == "failure" and "repaired_on" in row.cells

    def is_voided(self, row: Row, unit: models.Unit) -> bool:
        """Whether somebody voided a failure of which this row says nothing else."""
        if self._voided is None:
            self._voided = {}
            for failure in models.Failure.objects.exclude(voided_on=None):
                self._voided.setdefault(failure.unit_id, []).append(failure)
        values = {"component": ""} | self.values(row, KINDS["failure"][1])
        return any(
            all(getattr(failure, field) == value for field, value in values.items())
            for failure in self._voided.get(unit.pk, ())
        )

    def values(self, row: Row, fields: dict[str, str]) -> dict[str, Any]:
        """What a row says, by field."""
        values = {fields[name]: value for name, value in self._loading.values(row.cells, fields).items()}
        if "terms_id" in values:
            values["terms_id"] = self._terms[values["terms_id"]]
        return values

    def _attach(self, row: Row, unit: models.Unit) -> models.Attachment | None:
        """Promise terms to a unit once; a day or number that comes later fills what came without it."""
        values = self.values(row, KINDS["attached"][1])
        holder: models.Unit | None = unit
        while holder is not None:
            stored = models.Attachment.objects.filter(unit=holder, terms=values["terms_id"]).first()
            if stored is not None:
                before = self._loading.problems.count
                promised = [
                    (column, field, values[field]) for column, field in KINDS["attached"][1].items() if field in values
                ]
                if self._loading.settle(stored, promised, row.number):
                    stored.save(update_fields=["attached_on", "number"])
                return stored if self._loading.problems.count == before else None
            holder = holder.took_over_from
        return models.Attachment.objects.create(unit=unit, load=self._loading.load, **values)

    def write(self) -> None:
        """Write what waits."""
        for table, things in self._waiting.items():
            table.objects.bulk_create(things)
        self._waiting.clear()
