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
from fleet.loading.install_same import join_same
from fleet.loading.loading import BATCH, Cells, Loading
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


def take(loading: Loading, former: Former) -> None:
    """Take every unit of the stage, a batch at a time."""
    join_same(loading)
    terms = dict(models.Terms.objects.values_list("code", "pk"))
    for rows in _batches(_rows(loading)):
        _Batch(rows, terms, loading, former).take()
        loading.log.write()


def _rows(loading: Loading) -> Iterator[Row]:
    found = loading.stage.find(
        f"SELECT row, s.id, s.new, {', '.join(COLUMNS)} FROM told JOIN system_ids s USING (customer, site, system)"
        " ORDER BY customer, site, system, serial_key IS NULL, maker_key, model_key, serial_key, role, room"
    )
    for number, system, new, *cells in found:
        told = {column: cell for column, cell in zip(COLUMNS, cells, strict=True) if cell is not None}
        yield Row(number, told, system, bool(new))


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
    # The keys by which a unit is found that it had before a merge.
    former: set[Key] = field(default_factory=set)

    def root(self, unit: models.Unit) -> models.Unit:
        """Give the first unit of a line of exchanges."""
        while unit.took_over_from_id:
            unit = self.units[unit.took_over_from_id]
        return unit


def _stored(rows: Sequence[Row], former: Former) -> _Stored:
    found = _Stored()
    keys = {row.key for row in rows}
    for unit in models.Unit.objects.filter(serial_key__in={serial for _, _, serial in keys if serial}):
        key = (unit.maker_key, unit.model_key, unit.serial_key)
        if key in keys:
            found.by_key[key] = found.units[unit.pk] = unit
    for key, unit in former.units({key for key in keys if key[2]} - found.by_key.keys()).items():
        found.by_key[key] = found.units.setdefault(unit.pk, unit)
        found.former.add(key)
    by_place = {row.system for row in rows if not row.fresh and row.key not in found.by_key}
    there = models.Place.objects.filter(system__in=by_place).values_list("unit_id", flat=True) if by_place else ()
    _bring(set(there), found)
    while older := {unit.took_over_from_id for unit in found.units.values() if unit.took_over_from_id} - set(
        found.units
    ):
        _bring(older, found)
    ids = list(found.units)
    if not ids:
        return found
    for pk, system in models.Place.objects.filter(unit__in=ids).values_list("unit_id", "system_id"):
        unit = found.units[pk]
        found.systems[pk].add(system)
        found.at[system, unit.role, unit.room].append(unit)
    for registration in models.Registration.objects.filter(unit__in=ids, with_install=True):
        found.registrations[registration.unit_id] = registration
    found.attached.update(models.Attachment.objects.filter(unit__in=ids).values_list("unit_id", "terms_id"))
    return found


def _bring(ids: set[int], found: _Stored) -> None:
    missing = ids - set(found.units)
    if missing:
        found.units.update((unit.pk, unit) for unit in models.Unit.objects.filter(pk__in=missing))


class _Batch:
    """A batch of rows: each matched to a unit on file or to a new one, what they tell settled, then everything written."""

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
        self.said: set[int] = set()
        # Rows with a serial that is on file nowhere, by where they stand: one of them may fill a blank there.
        self.coming: defaultdict[Spot, list[Row]] = defaultdict(list)
        for row in rows:
            if row.key[2] and row.key not in self.stored.by_key:
                self.coming[row.spot].append(row)

    def take(self) -> None:
        """Take the rows in their order and write what they bring."""
        for row in self.rows:
            candidates = self._same_key(row) if row.key[2] else self._same_spot(row)
            if len(candidates) > 1:
                wanted = "a room of its own for each unit; more than one of this role is here, and any may be meant"
                self.loading.problems.note(row.number, "room", wanted)
            elif not candidates:
                self._add(row)
            elif not self._settle(row, candidates[0]):
                self.loading.count["unchanged"] += 1
        self._write()

    # -- which unit

    def _same_key(self, row: Row) -> list[models.Unit]:
        """Find the unit with that serial, or else one at that spot whose serial nobody could read."""
        found = self.stored.by_key.get(row.key)
        if found is not None:
            return [found]
        blank = [unit for unit in self.stored.at[row.spot] if not unit.serial_key and unit.gone_on is None]
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
        """Find the unit of that role in that room: one without a serial and in service before any other."""
        there = self.stored.at[row.spot]
        there = _alike(row, there) or there
        for blank, here in ((True, True), (True, False), (False, True), (False, False)):
            found = [unit for unit in there if (not unit.serial_key, unit.gone_on is None) == (blank, here)]
            if found:
                first = [unit for unit in found if self.stored.root(unit) in found]
                return list({id(self.stored.root(unit)): unit for unit in first or found}.values())
        return []

    # -- what the row tells of it

    def _add(self, row: Row) -> None:
        maker, model, serial = row.key
        values = self.loading.values(row.cells, (*KNOWN_BY, *OWN, *HANDED_ON))
        unit = models.Unit(
            system_id=row.system, maker_key=maker, model_key=model, serial_key=serial, load=self.loading.load, **values
        )
        self.new.append(unit)
        self.said.add(id(unit))
        self.stored.by_key[row.key] = unit
        self.stored.at[row.spot].append(unit)
        self._register(row, unit)
        self._attach(row, unit)

    def _settle(self, row: Row, unit: models.Unit) -> bool:
        """Settle what the row tells of a unit; tell whether it brought anything new."""
        root = self.stored.root(unit)
        told = self.loading.values(row.cells, (*OWN, *HANDED_ON))
        if root is not unit:
            # Such a unit was put in on the day of its exchange, which is no other start than that of its line.
            told = {name: value for name, value in told.items() if name not in HANDED_ON or value != unit.came_on}
        own = [(name, name, told[name]) for name in OWN if name in told]
        handed_on = [(name, name, told[name]) for name in HANDED_ON if name in told]
        own += self._known_by(row, unit)
        changed = self._stands(row, unit)
        if root is unit:
            changed |= self._hold(row, unit, own + handed_on)
        else:
            changed |= self._hold(row, unit, own) | self._hold(row, root, handed_on)
        return changed | self._register(row, root) | self._attach(row, root)

    def _hold(self, row: Row, thing: Any, told: list[tuple[str, str, Any]]) -> bool:
        """Settle facts of a thing; what one row of a batch has said of it another may add to, not change."""
        fields = self.loading.settle(thing, told, row.number, final=id(thing) in self.said)
        self.said.add(id(thing))
        if fields and isinstance(thing, models.Unit) and fields & set(KNOWN_BY):
            thing.maker_key, thing.model_key, thing.serial_key = row.key[0], row.key[1], row.key[2] or thing.serial_key
            fields |= {"maker_key", "model_key", "serial_key"}
        if fields and not _is_new(thing):
            self.mended[type(thing)][thing.pk] = thing
            self.fields[type(thing)] |= fields
        return bool(fields)

    def _known_by(self, row: Row, unit: models.Unit) -> list[tuple[str, str, Any]]:
        """Give what the row knows the unit by where it differs; another way of writing it is only taken as a correction."""
        if row.key in self.stored.former:
            return []
        stored = (unit.maker_key, unit.model_key, unit.serial_key)
        return [
            (name, name, row.cells[name])
            for name, is_key, was_key in zip(KNOWN_BY, row.key, stored, strict=True)
            if is_key and (is_key != was_key or self.loading.correct)
        ]

    def _stands(self, row: Row, unit: models.Unit) -> bool:
        """Hold the system that the row names against every one that the unit, or one before it in its line, stood in."""
        line = [unit]
        while line[-1].took_over_from_id:
            line.append(self.stored.units[line[-1].took_over_from_id])
        if row.system == unit.system_id or any(row.system in self.stored.systems[one.pk] for one in line):
            return False
        before, after = _address(unit.system_id), _address(row.system)
        column = ("customer", "site", "system")[
            [one == other for one, other in zip(before, after, strict=True)].index(False)
        ]
        places = [] if _is_new(unit) else list(models.Place.objects.filter(unit=unit))
        again = id(unit) in self.said
        if again or not self.loading.correct:
            self.loading.contradiction(row.number, column, ", ".join(before), ", ".join(after), final=again)
            return False
        if len(places) > 1:
            wanted = f"one of the systems it stood in, such as {', '.join(before)}: where a unit that moved stands is told by its history"
            self.loading.problems.note(row.number, column, wanted)
            return False
        models.Place.objects.filter(pk=places[0].pk).update(system=row.system)
        unit.system_id = row.system
        self.mended[models.Unit][unit.pk] = unit
        self.fields[models.Unit].add("system_id")
        self.loading.change(unit, "system", ", ".join(before), ", ".join(after))
        return True

    def _register(self, row: Row, unit: models.Unit) -> bool:
        values = self.loading.values(row.cells, (column for column, _ in REGISTERED))
        if not values:
            return False
        told = [(column, name, values[column]) for column, name in REGISTERED if column in values]
        stored = self.stored.registrations.get(_ref(unit))
        if stored is not None:
            return self._hold(row, stored, told)
        made = models.Registration(unit=unit, with_install=True, load=self.loading.load, **{n: v for _, n, v in told})
        self.stored.registrations[_ref(unit)] = made
        self.registrations.append(made)
        self.said.add(id(made))
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
        told: list[Any] = [*self.registrations, *self.attachments]
        old = {id(made) for made in told if not _is_new(made.unit)}
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
                        loading.fill(made, name, getattr(made, name))
        codes = {pk: code for code, pk in self.terms.items()}
        for attachment in self.attachments:
            if id(attachment) in old:
                loading.fill(attachment, "terms", codes[attachment.terms_id])
        mended = self.mended[models.Unit]
        lookup.index(units=chain(self.new, mended.values()))
        loading.count["added"] += len(self.new)
        loading.stage.touch(unit.pk for unit in self.new)
        loading.stage.touch(mended)
        loading.stage.touch(made.unit_id for made in told)
        loading.stage.touch(registration.unit_id for registration in self.mended[models.Registration].values())


def _is_new(thing: Model) -> bool:
    return thing._state.adding


def _ref(unit: models.Unit) -> int:
    """Give a key for a unit, also while it has none."""
    return -id(unit) if _is_new(unit) else unit.pk


def _alike(row: Row, units: Iterable[models.Unit]) -> list[models.Unit]:
    """Leave the units of the row's maker and model."""
    return [unit for unit in units if (unit.maker_key, unit.model_key) == row.key[:2]]


def _address(system: int) -> tuple[str, str, str]:
    found = models.System.objects.select_related("site__customer").get(pk=system)
    return found.site.customer.name, found.site.name, found.name
