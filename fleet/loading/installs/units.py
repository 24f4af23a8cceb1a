"""The units of an installs file: which unit a row means, and what the row adds to what is on file of it.

A unit is known by maker, model and serial; a row without a serial means the unit of that role and room in that system.
Rows come in the order of systems, those with a serial first, so that the order of the file cannot matter.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

from django.db.models import Model

from fleet import models
from fleet.derived import lookup
from fleet.loading.former import Former
from fleet.loading.installs.merge_rows import merge_rows
from fleet.loading.loading import BATCH, Cells, Loading
from fleet.loading.namesakes import address_of
from fleet.models.facts import facts_of

KNOWN_BY = ("maker", "model", "serial")
_FACTS = facts_of(models.Unit)
# What a unit that came in exchange under warranty has from the first of its line, and what is its own.
HANDED_ON = tuple(name for name, fact in _FACTS.items() if fact.handed_on)
OWN = tuple(name for name in _FACTS if name not in (*KNOWN_BY, *HANDED_ON))
REGISTERED = (
    ("registered_on", "registered_on"),
    ("registration_number", "number"),
    ("registration_accepted_late", "accepted_late"),
)
COLUMNS = (
    *KNOWN_BY,
    *OWN,
    *HANDED_ON,
    *(column for column, _ in REGISTERED),
    "attached",
    "maker_key",
    "model_key",
    "serial_key",
)

Key = tuple[str, str, str]
Spot = tuple[int, str, str]


@dataclass(slots=True, eq=False)
class Row:
    """One row: its number in the file, its cells, the system it names, and whether units may be on file there."""

    number: int
    cells: Cells
    system: int
    fresh: bool

    @property
    def key(self) -> Key:
        """What the unit is known by, folded."""
        return self.cells["maker_key"], self.cells["model_key"], self.cells.get("serial_key", "")

    @property
    def spot(self) -> Spot:
        """Where the unit stands."""
        return self.system, self.cells["role"], self.cells.get("room", "")


def apply(loading: Loading, former: Former) -> None:
    """Apply every unit of the stage, a batch at a time."""
    merge_rows(loading)
    terms = dict(models.Terms.objects.values_list("code", "pk"))
    for rows in _batches(_rows(loading)):
        _Batch(rows, terms, loading, former).apply()
        loading.log.write()


def _rows(loading: Loading) -> Iterator[Row]:
    lines = loading.stage.select(
        f"SELECT row, s.id, s.new, {', '.join(COLUMNS)} FROM staged JOIN system_ids s USING (customer, site, system)"
        " ORDER BY customer, site, system, serial_key IS NULL, maker_key, model_key, serial_key, role, room"
    )
    for number, system, new, *line in lines:
        cells = {column: cell for column, cell in zip(COLUMNS, line, strict=True) if cell is not None}
        yield Row(number, cells, system, bool(new))


def _batches(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """Cut rows into batches between systems, or within one that is far too large."""
    batch: list[Row] = []
    cut = None
    for row in rows:
        if len(batch) >= BATCH and (row.system != batch[-1].system or len(batch) >= 5 * BATCH):
            cut = batch[-1].system
            yield batch
            batch = []
        row.fresh = row.fresh and row.system != cut
        batch.append(row)
    if batch:
        yield batch


@dataclass(slots=True)
class _Stored:
    """What is on file of the units that a batch may mean."""

    by_key: dict[Key, models.Unit] = field(default_factory=dict)
    at: defaultdict[Spot, list[models.Unit]] = field(default_factory=lambda: defaultdict(list))
    systems: defaultdict[int, set[int]] = field(default_factory=lambda: defaultdict(set))
    units: dict[int, models.Unit] = field(default_factory=dict)
    registrations: dict[int, models.Registration] = field(default_factory=dict)
    attached: set[tuple[int, int]] = field(default_factory=set)
    # The keys that a unit had before a merge.
    former: set[Key] = field(default_factory=set)

    def root(self, unit: models.Unit) -> models.Unit:
        """The first unit of a line of exchanges."""
        while unit.took_over_from_id:
            unit = self.units[unit.took_over_from_id]
        return unit


def _stored(rows: Sequence[Row], former: Former) -> _Stored:
    stored = _Stored()
    keys = {row.key for row in rows}
    for unit in models.Unit.objects.filter(serial_key__in={serial for _, _, serial in keys if serial}):
        key = (unit.maker_key, unit.model_key, unit.serial_key)
        if key in keys:
            stored.by_key[key] = stored.units[unit.pk] = unit
    for key, unit in former.units({key for key in keys if key[2]} - stored.by_key.keys()).items():
        stored.by_key[key] = stored.units.setdefault(unit.pk, unit)
        stored.former.add(key)
    by_place = {row.system for row in rows if not row.fresh and row.key not in stored.by_key}
    there = models.Place.objects.filter(system__in=by_place).values_list("unit_id", flat=True) if by_place else ()
    _fetch(set(there), stored)
    while older := {unit.took_over_from_id for unit in stored.units.values() if unit.took_over_from_id} - set(
        stored.units
    ):
        _fetch(older, stored)
    ids = list(stored.units)
    if not ids:
        return stored
    for pk, system in models.Place.objects.filter(unit__in=ids).values_list("unit_id", "system_id"):
        unit = stored.units[pk]
        stored.systems[pk].add(system)
        stored.at[system, unit.role, unit.room].append(unit)
    for registration in models.Registration.objects.filter(unit__in=ids, with_install=True):
        stored.registrations[registration.unit_id] = registration
    stored.attached.update(models.Attachment.objects.filter(unit__in=ids).values_list("unit_id", "terms_id"))
    return stored


def _fetch(ids: set[int], stored: _Stored) -> None:
    missing = ids - set(stored.units)
    if missing:
        stored.units.update((unit.pk, unit) for unit in models.Unit.objects.filter(pk__in=missing))


class _Batch:
    """A batch of rows: each matched to a unit on file or to a new one, its facts settled, then everything written."""

    def __init__(self, rows: Sequence[Row], terms: dict[str, int], loading: Loading, former: Former) -> None:
        self.rows = rows
        self.terms = terms
        self.loading = loading
        self.stored = _stored(rows, former)
        self.new: list[models.Unit] = []
        self.registrations: list[models.Registration] = []
        self.attachments: list[models.Attachment] = []
        self.mended: defaultdict[type, dict[int, Any]] = defaultdict(dict)
        self.fields: defaultdict[type, set[str]] = defaultdict(set)
        # What a row of this batch has settled: another may add to it, not change it.
        self.settled: set[int] = set()
        # Rows with a serial that is on file nowhere, by where they stand: one of them may fill a blank there.
        self.coming: defaultdict[Spot, list[Row]] = defaultdict(list)
        for row in rows:
            if row.key[2] and row.key not in self.stored.by_key:
                self.coming[row.spot].append(row)

    def apply(self) -> None:
        """Apply the rows in their order, then write what they add."""
        for row in self.rows:
            candidates = self._same_key(row) if row.key[2] else self._same_spot(row)
            if len(candidates) > 1:
                expected = "a room of its own for each unit; more than one of this role is here, and any may be meant"
                self.loading.problems.note(row.number, "room", expected)
            elif not candidates:
                self._add(row)
            elif not self._settle(row, candidates[0]):
                self.loading.same(row.number)
        self._write()

    # -- which unit

    def _same_key(self, row: Row) -> list[models.Unit]:
        """The unit with that serial, or else one at that spot whose serial nobody could read."""
        unit = self.stored.by_key.get(row.key)
        if unit is not None:
            return [unit]
        blank = [unit for unit in self.stored.at[row.spot] if not unit.serial_key and unit.removed_on is None]
        blank = _alike(row, blank) or blank
        rivals = self.coming[row.spot]
        if not blank or len(rivals) == 1:
            return blank
        # Of several serials that could fill the blank, those of its model come first; a single one is then the one.
        of_model = [rival for rival in rivals if _alike(rival, blank)] or rivals
        if row not in of_model:
            return []
        return blank if len(of_model) == 1 else [*blank, *blank]

    def _same_spot(self, row: Row) -> list[models.Unit]:
        """The unit of that role in that room: one without a serial and in service before any other."""
        there = self.stored.at[row.spot]
        there = _alike(row, there) or there
        for blank, here in ((True, True), (True, False), (False, True), (False, False)):
            units = [unit for unit in there if (not unit.serial_key, unit.removed_on is None) == (blank, here)]
            if units:
                first = [unit for unit in units if self.stored.root(unit) in units]
                return list({id(self.stored.root(unit)): unit for unit in first or units}.values())
        return []

    # -- the facts of a row

    def _add(self, row: Row) -> None:
        maker, model, serial = row.key
        values = self.loading.values(row.cells, (*KNOWN_BY, *OWN, *HANDED_ON))
        unit = models.Unit(
            system_id=row.system, maker_key=maker, model_key=model, serial_key=serial, load=self.loading.load, **values
        )
        self.new.append(unit)
        self.settled.add(id(unit))
        self.stored.by_key[row.key] = unit
        self.stored.at[row.spot].append(unit)
        self._register(row, unit)
        self._attach(row, unit)

    def _settle(self, row: Row, unit: models.Unit) -> bool:
        """Settle the facts of a row with those on file; returns whether it brought anything new."""
        root = self.stored.root(unit)
        facts = self.loading.values(row.cells, (*OWN, *HANDED_ON))
        if root is not unit:
            # Such a unit was put in on the day of its exchange, which is no other start than that of its line.
            facts = {name: value for name, value in facts.items() if name not in HANDED_ON or value != unit.replaced_on}
        own = [(name, name, facts[name]) for name in OWN if name in facts]
        handed_on = [(name, name, facts[name]) for name in HANDED_ON if name in facts]
        own += self._known_by(row, unit)
        changed = self._settle_system(row, unit)
        if root is unit:
            changed |= self._settle_facts(row, unit, own + handed_on)
        else:
            changed |= self._settle_facts(row, unit, own) | self._settle_facts(row, root, handed_on)
        return changed | self._register(row, root) | self._attach(row, root)

    def _settle_facts(self, row: Row, thing: Any, facts: list[tuple[str, str, Any]]) -> bool:
        """Settle facts of a thing; returns whether any of them changed."""
        fields = self.loading.settle(thing, facts, row.number, final=id(thing) in self.settled)
        self.settled.add(id(thing))
        if fields and isinstance(thing, models.Unit) and fields & set(KNOWN_BY):
            thing.maker_key, thing.model_key, thing.serial_key = row.key[0], row.key[1], row.key[2] or thing.serial_key
            fields |= {"maker_key", "model_key", "serial_key"}
        if fields and not _is_new(thing):
            self.mended[type(thing)][thing.pk] = thing
            self.fields[type(thing)] |= fields
        return bool(fields)

    def _known_by(self, row: Row, unit: models.Unit) -> list[tuple[str, str, Any]]:
        """What the row knows the unit by where it differs; another way of writing it counts only as a correction."""
        if row.key in self.stored.former:
            return []
        stored = (unit.maker_key, unit.model_key, unit.serial_key)
        return [
            (name, name, row.cells[name])
            for name, is_key, was_key in zip(KNOWN_BY, row.key, stored, strict=True)
            if is_key and (is_key != was_key or self.loading.correct)
        ]

    def _settle_system(self, row: Row, unit: models.Unit) -> bool:
        """Compare the system that the row names with every one that the unit, or one before it in its line, stood in."""
        line = [unit]
        while line[-1].took_over_from_id:
            line.append(self.stored.units[line[-1].took_over_from_id])
        if row.system == unit.system_id or any(row.system in self.stored.systems[one.pk] for one in line):
            return False
        (before, was_in), (after, is_in) = _address(unit.system_id), _address(row.system)
        column = ("customer", "site", "system")[
            [one == other for one, other in zip(was_in, is_in, strict=True)].index(False)
        ]
        places = [] if _is_new(unit) else list(models.Place.objects.filter(unit=unit))
        again = id(unit) in self.settled
        if again or not self.loading.correct:
            self.loading.note_contradiction(row.number, column, ", ".join(before), ", ".join(after), final=again)
            return False
        if len(places) > 1:
            expected = f"one of the systems it stood in, such as {', '.join(before)}: where a unit that moved stands is told by its history"
            self.loading.problems.note(row.number, column, expected)
            return False
        models.Place.objects.filter(pk=places[0].pk).update(system=row.system)
        unit.system_id = row.system
        self.mended[models.Unit][unit.pk] = unit
        self.fields[models.Unit].add("system_id")
        self.loading.log_corrected(unit, "system", ", ".join(before), ", ".join(after))
        return True

    def _register(self, row: Row, unit: models.Unit) -> bool:
        values = self.loading.values(row.cells, (column for column, _ in REGISTERED))
        if not values:
            return False
        facts = [(column, name, values[column]) for column, name in REGISTERED if column in values]
        stored = self.stored.registrations.get(_ref(unit))
        if stored is not None:
            return self._settle_facts(row, stored, facts)
        made = models.Registration(unit=unit, with_install=True, load=self.loading.load, **{n: v for _, n, v in facts})
        self.stored.registrations[_ref(unit)] = made
        self.registrations.append(made)
        self.settled.add(id(made))
        return True

    def _attach(self, row: Row, unit: models.Unit) -> bool:
        codes = row.cells.get("attached", "").split(";")
        missing = [code for code in codes if code and (_ref(unit), self.terms[code]) not in self.stored.attached]
        for code in missing:
            self.stored.attached.add((_ref(unit), self.terms[code]))
            made = models.Attachment(unit=unit, terms_id=self.terms[code], load=self.loading.load)
            self.attachments.append(made)
        return bool(missing)

    # -- writing

    def _write(self) -> None:
        loading = self.loading
        extra: list[Any] = [*self.registrations, *self.attachments]
        old = {id(made) for made in extra if not _is_new(made.unit)}
        models.Unit.objects.bulk_create(self.new)
        models.Place.objects.bulk_create(models.Place(unit=unit, system_id=unit.system_id) for unit in self.new)
        models.Registration.objects.bulk_create(self.registrations)
        models.Attachment.objects.bulk_create(self.attachments)
        for table, things in self.mended.items():
            table.objects.bulk_update(things.values(), self.fields[table])  # type: ignore[attr-defined]
        for made in self.registrations:
            if id(made) in old:
                for _, name in REGISTERED:
                    if getattr(made, name) not in (None, ""):
                        loading.log_filled(made, name, getattr(made, name))
        codes = {pk: code for code, pk in self.terms.items()}
        for attachment in self.attachments:
            if id(attachment) in old:
                loading.log_filled(attachment, "terms", codes[attachment.terms_id])
        mended = self.mended[models.Unit]
        lookup.index(units=chain(self.new, mended.values()))
        loading.count["added"] += len(self.new)
        loading.stage.touch(unit.pk for unit in self.new)
        loading.stage.touch(mended)
        loading.stage.touch(made.unit_id for made in extra)
        loading.stage.touch(registration.unit_id for registration in self.mended[models.Registration].values())


def _is_new(thing: Model) -> bool:
    return thing._state.adding


def _ref(unit: models.Unit) -> int:
    """A key for a unit, also while it has none."""
    return -id(unit) if _is_new(unit) else unit.pk


def _alike(row: Row, units: Iterable[models.Unit]) -> list[models.Unit]:
    """Those of the units that are of the row's maker and model."""
    return [unit for unit in units if (unit.maker_key, unit.model_key) == row.key[:2]]


def _address(system: int) -> tuple[tuple[str, str, str], tuple[int, int, int]]:
    """The names of a system and of what it is in, and the keys."""
    row = models.System.objects.select_related("site__customer").get(pk=system)
    return address_of(row), (row.site.customer_id, row.site_id, row.pk)
