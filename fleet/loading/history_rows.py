"""The rows of a history file in the order of days: which unit each means, whether it was told before, and what it brings."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.db.models import Q

from fleet import models
from fleet.derived import failure_answers
from fleet.loading import history_again, history_told, history_where
from fleet.loading.former import Former, Plate
from fleet.loading.history_row import NAMES_THE_UNIT, Row
from fleet.loading.loading import BATCH, Loading


def take(loading: Loading) -> None:
    """Take every row of the stage, a batch at a time."""
    _same_reference(loading)
    terms = dict(models.Terms.objects.values_list("code", "pk"))
    former = Former()
    corrected: set[int] = set()
    chunks = loading.stage.in_chunks(
        "SELECT * FROM told ORDER BY day, place_in_day, serial_key, maker_key, model_key, fingerprint, reference", BATCH
    )
    for chunk in chunks:
        _Batch(list(_rows(chunk, loading)), terms, loading, former, corrected).take()
        loading.log.write()
    for failure in models.Failure.objects.filter(pk__in=corrected).order_by("pk"):
        failure_answers.keep(failure, by=loading.by, on=loading.on)


def _rows(chunk: Sequence[tuple[Any, ...]], loading: Loading) -> Iterator[Row]:
    names = loading.stage.columns
    for _, number, *cells in chunk:
        told = {name: cell for name, cell in zip(names, cells, strict=True) if cell is not None}
        content = {name: cell for name, cell in told.items() if name in loading.columns}
        serial, maker, model = (told.get(name, "") for name in ("serial_key", "maker_key", "model_key"))
        yield Row(number, content, serial, maker, model, int(told["unit"]) if "unit" in told else None)


def _same_reference(loading: Loading) -> None:
    """Note rows that bear the same reference and say different things."""
    again = loading.stage.find(
        "SELECT reference, MIN(row), MAX(row) FROM told WHERE reference IS NOT NULL"
        " GROUP BY reference HAVING COUNT(DISTINCT fingerprint) > 1"
    )
    for reference, first, last in again:
        loading.problems.note(
            last, "reference", f"a reference of its own; {reference!r} in row {first} tells something else"
        )


class _Batch:
    """A batch of rows, taken one after the other; what nothing else depends on is written at the end."""

    def __init__(
        self, rows: Sequence[Row], terms: dict[str, int], loading: Loading, former: Former, corrected: set[int]
    ) -> None:
        self.rows = rows
        self.corrected = corrected
        self.loading = loading
        self.units: defaultdict[str, list[models.Unit]] = defaultdict(list)
        serials = {row.serial_key for row in rows if row.unit is None}
        at_hand = {row.unit for row in rows if row.unit is not None}
        for unit in models.Unit.objects.filter(Q(serial_key__in=serials) | Q(pk__in=at_hand)):
            self.units[unit.serial_key].append(unit)
        self.former = self._former(former)
        self.known = self._known()
        self.told = history_told.Told(terms, loading)
        self.where = history_where.Where(self.units, loading, former)

    def _former(self, former: Former) -> dict[Plate, models.Unit]:
        """Find the units of rows that name one by a plate from before a merge; each unit stays one object."""
        missing = {row.plate for row in self.rows if row.unit is None and not self._on_plate(row)}
        by_pk = {unit.pk: unit for units in self.units.values() for unit in units}
        found = {}
        for plate, unit in former.units(missing).items():
            found[plate] = by_pk.setdefault(unit.pk, unit)
            if found[plate] is unit:
                self.units[unit.serial_key].append(unit)
        return found

    def _known(self) -> dict[str, models.HistoryRow | None]:
        """Find what was told before of these rows; a row of this batch is noted without what came of it."""
        digests = set()
        for row in self.rows:
            found = self._means(row)
            if row.reference or len(found) == 1:
                digests.add(_digest(row, found[0] if found else None))
        return {row.digest: row for row in models.HistoryRow.objects.filter(digest__in=digests)}

    def _means(self, row: Row) -> list[models.Unit]:
        there = self.units[row.serial_key]
        if row.unit is not None:
            return [unit for unit in there if unit.pk == row.unit]
        if found := self._on_plate(row):
            return found
        return [self.former[row.plate]] if row.plate in self.former else []

    def _on_plate(self, row: Row) -> list[models.Unit]:
        there = self.units[row.serial_key]
        return [
            unit for unit in there if row.maker_key in ("", unit.maker_key) and row.model_key in ("", unit.model_key)
        ]

    def take(self) -> None:
        """Take the rows in their order, then write what waits."""
        told: list[tuple[models.HistoryRow, Any]] = []
        for row in self.rows:
            unit = self._unit(row)
            if unit is None:
                continue
            digest = _digest(row, unit)
            if digest in self.known:
                self._again(row, unit, self.known[digest])
                continue
            if row.kind == "failure" and self.told.voided(row, unit):
                self.loading.count["unchanged"] += 1
                continue
            thing = self._new(row, unit)
            if thing is None:
                continue
            self.known[digest] = None
            self.loading.count["added"] += 1
            told.append((self._history_row(row, unit, digest), thing))
        self.told.write()
        for history_row, thing in told:
            history_row.table, history_row.object_id = thing._meta.model_name, thing.pk
        models.HistoryRow.objects.bulk_create(history_row for history_row, _ in told)
        self._touch([history_row for history_row, _ in told])

    def _unit(self, row: Row) -> models.Unit | None:
        found = self._means(row)
        if len(found) == 1:
            return found[0]
        if not found:
            named = " ".join(filter(None, (row.cells.get("maker"), row.cells.get("model"), row.cells.get("serial"))))
            self.loading.problems.note(row.number, "serial", f"a unit on file on that day; {named!r} is not one")
        else:
            choices = ", ".join(sorted(f"{unit.maker} {unit.model}" for unit in found))
            self.loading.problems.note(
                row.number, "maker", f"maker and model, since the serial alone means any of {choices}"
            )
        return None

    def _again(self, row: Row, unit: models.Unit, known: models.HistoryRow | None) -> None:
        if (
            known is None
            or not row.reference
            or not history_again.settle(row, unit, known, self.where, self.told, self.loading)
        ):
            self.loading.count["unchanged"] += 1
        else:
            self._touch([known])
            if known.table == "failure" and known.object_id is not None:
                self.corrected.add(known.object_id)

    def _new(self, row: Row, unit: models.Unit) -> Any:
        """Take a row that was not told before; give the thing that came of it, or None where it cannot be."""
        if not self.where.may_be(row, unit):
            return None
        return self.told.take(row, unit) if row.kind in history_told.KINDS else self.where.take(row, unit)

    def _history_row(self, row: Row, unit: models.Unit, digest: str) -> models.HistoryRow:
        return models.HistoryRow(
            digest=digest, reference=row.reference, content=row.cells, unit=unit, load=self.loading.load
        )

    def _touch(self, told: Sequence[models.HistoryRow]) -> None:
        """Touch the units told of; a record of upkeep may count for every unit of its system."""
        stage = self.loading.stage
        stage.touch(row.unit_id for row in told)
        systems = {row.unit.system_id for row in told if row.table == "maintenancerecord"}
        stage.touch(models.Unit.objects.filter(system__in=systems).values_list("pk", flat=True))
        sales = [row.object_id for row in told if row.table == "sale" and row.object_id is not None]
        sites = set(models.Sale.objects.filter(pk__in=sales).values_list("site_id", flat=True))
        stage.touch(models.Place.objects.filter(system__site__in=sites).values_list("unit_id", flat=True))


def _digest(row: Row, unit: models.Unit | None) -> str:
    return digest_of(row.reference, unit.pk if unit else None, row.cells)


def digest_of(reference: str, unit: int | None, cells: Mapping[str, str]) -> str:
    """Fold what makes two rows the same: the reference, or else the unit and all that is told of it."""
    if reference:
        known_by = ["reference", reference]
    else:
        told = {name: cell for name, cell in cells.items() if name not in NAMES_THE_UNIT}
        known_by = ["row", str(unit or ""), json.dumps(told, sort_keys=True)]
    return hashlib.sha256("\0".join(known_by).encode()).hexdigest()
