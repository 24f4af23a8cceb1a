"""The rows of a history file in the order of days: which unit each means, whether it was loaded before, and what it adds."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import Q

from fleet import models
from fleet.derived import failure_answers
from fleet.loading.former import Former, Plate
from fleet.loading.history import facts, match_existing
from fleet.loading.history.facts import Facts
from fleet.loading.history.moves import Moves
from fleet.loading.history.rows import Row, digest_of, staged
from fleet.loading.loading import BATCH, Loading


def apply(loading: Loading) -> None:
    """Apply every row of the stage, a batch at a time."""
    _check_references(loading)
    terms = dict(models.Terms.objects.values_list("code", "pk"))
    former = Former()
    corrected: set[int] = set()
    chunks = loading.stage.in_chunks(
        "SELECT * FROM staged ORDER BY day, place_in_day, serial_key, maker_key, model_key, fingerprint, reference",
        BATCH,
    )
    for chunk in chunks:
        _Batch(list(staged(chunk, loading)), terms, loading, former, corrected).apply()
        loading.log.write()
    for failure in models.Failure.objects.filter(pk__in=corrected).order_by("pk"):
        failure_answers.keep(failure, by=loading.by, on=loading.on)


def _check_references(loading: Loading) -> None:
    """Note rows that bear the same reference and say different things."""
    doubled = loading.stage.select(
        "SELECT reference, MIN(row), MAX(row) FROM staged WHERE reference IS NOT NULL"
        " GROUP BY reference HAVING COUNT(DISTINCT fingerprint) > 1"
    )
    for reference, first, last in doubled:
        loading.problems.note(
            last, "reference", f"a reference of its own; {reference!r} in row {first} tells something else"
        )


class _Batch:
    """A batch of rows, applied one after the other; what nothing else depends on is written at the end."""

    def __init__(
        self, rows: Sequence[Row], terms: dict[str, int], loading: Loading, former: Former, corrected: set[int]
    ) -> None:
        self.rows = rows
        self.corrected = corrected
        self.loading = loading
        self.units: defaultdict[str, list[models.Unit]] = defaultdict(list)
        serials = {row.serial_key for row in rows if row.unit is None}
        by_key = {row.unit for row in rows if row.unit is not None}
        for unit in models.Unit.objects.filter(Q(serial_key__in=serials) | Q(pk__in=by_key)):
            self.units[unit.serial_key].append(unit)
        self.former = self._former(former)
        # Rows loaded before; one of this batch has no row of history yet.
        self.earlier: dict[str, models.HistoryRow | None] = self._earlier()
        self.facts = Facts(terms, loading)
        self.moves = Moves(self.units, loading, former)

    def _former(self, former: Former) -> dict[Plate, models.Unit]:
        """The units of rows that name one by a plate from before a merge; each unit stays one object."""
        missing = {row.plate for row in self.rows if row.unit is None and not self._on_plate(row)}
        by_pk = {unit.pk: unit for units in self.units.values() for unit in units}
        by_plate = {}
        for plate, unit in former.units(missing).items():
            by_plate[plate] = by_pk.setdefault(unit.pk, unit)
            if by_plate[plate] is unit:
                self.units[unit.serial_key].append(unit)
        return by_plate

    def _earlier(self) -> dict[str, models.HistoryRow | None]:
        digests = set()
        for row in self.rows:
            units = self._candidates(row)
            if row.reference or len(units) == 1:
                digests.add(_digest(row, units[0] if units else None))
        return {row.digest: row for row in models.HistoryRow.objects.filter(digest__in=digests)}

    def _candidates(self, row: Row) -> list[models.Unit]:
        """The units that a row may mean."""
        if row.unit is not None:
            return [unit for unit in self.units[row.serial_key] if unit.pk == row.unit]
        if units := self._on_plate(row):
            return units
        return [self.former[row.plate]] if row.plate in self.former else []

    def _on_plate(self, row: Row) -> list[models.Unit]:
        return [
            unit
            for unit in self.units[row.serial_key]
            if row.maker_key in ("", unit.maker_key) and row.model_key in ("", unit.model_key)
        ]

    def apply(self) -> None:
        """Apply the rows in their order, then write what waits."""
        new: list[tuple[models.HistoryRow, Any]] = []
        for row in self.rows:
            unit = self._unit(row)
            if unit is None:
                continue
            digest = _digest(row, unit)
            if digest in self.earlier:
                self._match(row, unit, self.earlier[digest])
                continue
            if row.kind == "failure" and self.facts.is_voided(row, unit):
                self.loading.same(row.number)
                continue
            thing = self._add(row, unit)
            if thing is None:
                continue
            self.earlier[digest] = None
            self.loading.count["added"] += 1
            new.append((self._history_row(row, unit, digest), thing))
        self.facts.write()
        for history_row, thing in new:
            history_row.table, history_row.object_id = thing._meta.model_name, thing.pk
        models.HistoryRow.objects.bulk_create(history_row for history_row, _ in new)
        self._touch([history_row for history_row, _ in new])

    def _unit(self, row: Row) -> models.Unit | None:
        units = self._candidates(row)
        if len(units) == 1:
            return units[0]
        if not units:
            named = " ".join(filter(None, (row.cells.get("maker"), row.cells.get("model"), row.cells.get("serial"))))
            self.loading.problems.note(row.number, "serial", f"a unit on file on that day; {named!r} is not one")
        else:
            choices = ", ".join(sorted(f"{unit.maker} {unit.model}" for unit in units))
            self.loading.problems.note(
                row.number, "maker", f"maker and model, since the serial alone means any of {choices}"
            )
        return None

    def _match(self, row: Row, unit: models.Unit, earlier: models.HistoryRow | None) -> None:
        if (
            earlier is None
            or not row.reference
            or not match_existing.merge(row, unit, earlier, self.moves, self.facts, self.loading)
        ):
            self.loading.same(row.number)
        else:
            self._touch([earlier])
            if earlier.table == "failure" and earlier.object_id is not None:
                self.corrected.add(earlier.object_id)

    def _add(self, row: Row, unit: models.Unit) -> Any:
        """Apply a row that was not loaded before; returns the thing that came of it, or None where it cannot be."""
        if not self.moves.may_be(row, unit):
            return None
        return self.facts.add(row, unit) if row.kind in facts.KINDS else self.moves.add(row, unit)

    def _history_row(self, row: Row, unit: models.Unit, digest: str) -> models.HistoryRow:
        return models.HistoryRow(
            digest=digest, reference=row.reference, content=row.cells, unit=unit, load=self.loading.load
        )

    def _touch(self, rows: Sequence[models.HistoryRow]) -> None:
        """Touch the units of rows; a record of upkeep may count for every unit of its system."""
        stage = self.loading.stage
        stage.touch(row.unit_id for row in rows)
        systems = {row.unit.system_id for row in rows if row.table == "maintenancerecord"}
        stage.touch(models.Unit.objects.filter(system__in=systems).values_list("pk", flat=True))
        sales = [row.object_id for row in rows if row.table == "sale" and row.object_id is not None]
        sites = set(models.Sale.objects.filter(pk__in=sales).values_list("site_id", flat=True))
        stage.touch(models.Place.objects.filter(system__site__in=sites).values_list("unit_id", flat=True))


def _digest(row: Row, unit: models.Unit | None) -> str:
    return digest_of(row.reference, unit.pk if unit else None, row.cells)
