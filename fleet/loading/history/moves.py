"""Rows of a history file that change which unit is where: moved, exchanged, removed, idle, and houses that are sold."""

import datetime as dt
from collections.abc import MutableMapping
from typing import Any

from django.db.models import Q

from fleet import models
from fleet.derived import lookup
from fleet.loading.former import Former
from fleet.loading.history.rows import Row
from fleet.loading.installs.units import HANDED_ON
from fleet.loading.loading import Loading
from fleet.loading.presence import possible_days
from fleet.models.facts import facts_of
from fleet.rules import words

# A unit that takes another's place stands as that one did.
_SAME_PLACE = tuple(name for name, fact in facts_of(models.Unit).items() if fact.stays)


class Moves:
    """Applies such rows one by one, each on what those before it left."""

    def __init__(self, units: MutableMapping[str, list[models.Unit]], loading: Loading, former: Former) -> None:
        self._former = former
        self._units = units
        self._loading = loading

    def add(self, row: Row, unit: models.Unit) -> Any:
        """Apply a row; returns the thing that it made or changed, None where it cannot be."""
        match row.kind:
            case "moved":
                return self._moved(row, unit)
            case "exchanged":
                return self._exchanged(row, unit)
            case "removed":
                return self._gone(row, unit, "removed")
            case "idle":
                return self._idle(row, unit)
            case "back in use":
                return self._back(row, unit)
            case _:
                return self._sold(row, unit)

    def may_be(self, row: Row, unit: models.Unit) -> bool:
        """Whether the unit was there on that day to have this happen to it; if not, why is noted."""
        expected = possible_days(unit, row.kind, row.day)
        return self._impossible(row, "day", expected) if expected else True

    def _impossible(self, row: Row, column: str, expected: str) -> bool:
        self._loading.problems.note(row.number, column, expected)
        return False

    # -- moved

    def _moved(self, row: Row, unit: models.Unit) -> models.Place | None:
        place = _place_on(unit, row.day)
        if place is None or place.joined_on == row.day:
            self._impossible(row, "day", "a day after it came to where it stands, and no other move on that day")
            return None
        system = self.destination(row, place.system)
        if system is None:
            return None
        if system.pk == place.system_id:
            self._impossible(row, "to_system", f"another system than {system.name!r}, where it stands already")
            return None
        left_on = place.left_on
        if left_on is None and unit.removed_on is None and not self._is_distinct(row, unit, system):
            return None
        place.left_on = row.day
        place.save(update_fields=["left_on"])
        made = models.Place.objects.create(unit=unit, system=system, joined_on=row.day, left_on=left_on)
        if left_on is None:
            self.set_system(unit, system)
        return made

    def destination(self, row: Row, here: models.System) -> models.System | None:
        """The system that a row names, made where its site has none of that name; a blank one has the name of the last."""
        site = self._site(row, here.site) if "to_site" in row.cells else here.site
        if site is None:
            return None
        name = row.cells.get("to_system", here.name)
        stored = models.System.objects.filter(site=site, name=name).first()
        return stored or models.System.objects.create(site=site, name=name, load=self._loading.load)

    def _site(self, row: Row, here: models.Site) -> models.Site | None:
        name = row.cells["to_site"]
        named = models.Site.objects.filter(name=name)
        known_as = (here.customer_id, name)
        sites = list(named.filter(customer=here.customer_id)) or list(named[:2])
        sites = sites or self._former.sites({known_as}).get(known_as, [])
        if len(sites) != 1:
            expected = "a site of the same customer" + (
                ", or one whose name no other has" if sites else " or another one on file"
            )
            self._impossible(row, "to_site", f"{expected}; {name!r} is not")
            return None
        return sites[0]

    def _is_distinct(self, row: Row, unit: models.Unit, system: models.System) -> bool:
        """Whether a unit without a serial can be told from those where it goes, which its room alone does."""
        if unit.serial_key or not models.Unit.objects.taken_for(unit, system.pk).exists():
            return True
        expected = f"a system where no other {unit.role} without a serial stands in {unit.room!r}, or first a serial or another room for one of them"
        return self._impossible(row, "to_system", expected)

    def set_system(self, unit: models.Unit, system: models.System) -> None:
        """Write where a unit is now."""
        self._loading.log.note(self._loading.load, unit, "system", unit.system_id, system.pk)
        unit.system = system
        unit.save(update_fields=["system"])

    # -- gone

    def _gone(self, row: Row, unit: models.Unit, how: str) -> models.Unit | None:
        later = _later(unit, row.day)
        if later:
            self._impossible(row, "day", f"a day after all that is on file of it; {later}")
            return None
        self._loading.log.note(self._loading.load, unit, "removed_on", None, row.day)
        unit.removed_on, unit.removal_reason = row.day, how
        unit.save(update_fields=["removed_on", "removal_reason"])
        return unit

    def _exchanged(self, row: Row, unit: models.Unit) -> models.Unit | None:
        """Take a unit out of service and put the new one in its place.

        Under warranty the new one takes over and its own dates stay blank; a bought one was put in that day, by us.
        """
        warranty = row.cells["under_warranty"] == "yes"
        serial, model = row.cells.get("new_serial", ""), row.cells.get("new_model", unit.model)
        if warranty and not serial and not unit.room:
            self._impossible(
                row, "new_serial", "the new serial; without one the old unit's room would name it, which is blank"
            )
            return None
        known = self._on_file(unit.maker_key, model, serial) if serial else None
        if known is not None and (
            known.pk == unit.pk or known.took_over_from_id or (known.removed_on or row.day) < row.day
        ):
            self._impossible(row, "new_serial", f"a unit that could take its place on that day; {serial!r} could not")
            return None
        still_matched = row.cells.get("still_matched", "")
        if still_matched and unit.role != "outdoor":
            self._impossible(row, "still_matched", f"nothing for a {unit.role}; an outdoor unit is asked about")
            return None
        if self._gone(row, unit, "exchanged") is None:
            return None
        if still_matched:
            unit.matched_after = still_matched
            unit.save(update_fields=["matched_after"])
        if known is not None:
            return self._take_over(row, unit, known) if warranty else self._in_place(known, unit)
        if not serial and not warranty:
            return unit
        return self._install(row, unit, model, serial, warranty=warranty)

    def _install(self, row: Row, unit: models.Unit, model: str, serial: str, *, warranty: bool) -> models.Unit:
        began: dict[str, Any] = {"installed_on": row.day, "installed_by": "us", "in_place_of": unit}
        if warranty:
            began = {"took_over_from": unit, "replaced_on": row.day}
        made = models.Unit.objects.create(
            system_id=unit.system_id,
            maker=unit.maker,
            model=model,
            serial=serial,
            maker_key=unit.maker_key,
            model_key=words.key(model),
            serial_key=words.key(serial),
            load=self._loading.load,
            **{name: getattr(unit, name) for name in _SAME_PLACE},
            **began,
        )
        models.Place.objects.create(unit=made, system_id=made.system_id, joined_on=row.day if warranty else None)
        self._units[made.serial_key].append(made)
        self._loading.stage.touch([made.pk])
        lookup.index(units=[made])
        return made

    def _in_place(self, known: models.Unit, unit: models.Unit) -> models.Unit:
        """Let a unit that was bought and is on file already stand in the place of the one that went."""
        if known.in_place_of_id is None:
            self._loading.log.note(self._loading.load, known, "in_place_of", None, unit)
            known.in_place_of = unit
            known.save(update_fields=["in_place_of"])
        return known

    def _on_file(self, maker_key: str, model: str, serial: str) -> models.Unit | None:
        key = (maker_key, words.key(model), words.key(serial))
        for unit in self._units.get(key[2], ()):
            if (unit.maker_key, unit.model_key, unit.serial_key) == key:
                return unit
        return models.Unit.objects.filter(maker_key=key[0], model_key=key[1], serial_key=key[2]).first()

    def _take_over(self, row: Row, unit: models.Unit, heir: models.Unit) -> models.Unit | None:
        """Let a unit that is on file already take over: the facts of its start go to the first of its line."""
        earlier = _earlier(heir, row.day)
        if earlier:
            self._impossible(row, "day", f"a day before anything on file of {heir.serial}; {earlier}")
            return None
        root = unit.first_of_line()
        facts = {name: getattr(heir, name) for name in HANDED_ON}
        before = self._loading.problems.count
        handed_on = [(name, name, value) for name, value in facts.items() if value not in (None, "", row.day)]
        if fields := self._loading.settle(root, handed_on, row.number):
            root.save(update_fields=fields)
        if self._loading.problems.count > before:
            return None
        blank = models.Unit()
        for name, value in facts.items():
            if value not in (None, ""):
                self._loading.log.note(self._loading.load, heir, name, value, None, why="taken over in exchange")
            setattr(heir, name, getattr(blank, name))
        heir.took_over_from, heir.replaced_on = unit, row.day
        heir.save()
        models.Place.objects.filter(unit=heir, joined_on=None).update(joined_on=row.day)
        self._loading.stage.touch([root.pk, heir.pk])
        return heir

    # -- idle

    def _idle(self, row: Row, unit: models.Unit) -> models.Idle | None:
        over = Q(back_on=None) | Q(back_on__gt=row.day) | Q(idle_on__gte=row.day)
        for other in models.Idle.objects.filter(over, unit=unit):
            self._impossible(
                row, "day", f"a day on which it was in use and after which it was not idle again; {_idle_words(other)}"
            )
            return None
        return models.Idle.objects.create(unit=unit, idle_on=row.day)

    def _back(self, row: Row, unit: models.Unit) -> models.Idle | None:
        idle = models.Idle.objects.filter(unit=unit, back_on=None, idle_on__lte=row.day).first()
        if idle is None:
            self._impossible(row, "day", "a day on which it was idle; none is on file for that day")
            return None
        self._loading.log.note(self._loading.load, idle, "back_on", None, row.day)
        idle.back_on = row.day
        idle.save(update_fields=["back_on"])
        return idle

    # -- sold

    def _sold(self, row: Row, unit: models.Unit) -> models.Sale:
        place = _place_on(unit, row.day) or unit.places.select_related("system").first()
        system = place.system if place else unit.system
        sale, _ = models.Sale.objects.get_or_create(site_id=system.site_id, sold_on=row.day)
        return sale


def _place_on(unit: models.Unit, day: dt.date) -> models.Place | None:
    return (
        unit.places.filter(Q(joined_on=None) | Q(joined_on__lte=day), Q(left_on=None) | Q(left_on__gt=day))
        .select_related("system__site")
        .first()
    )


def _later(unit: models.Unit, day: dt.date) -> str:
    """What is on file of a unit that is later than a day, in words; blank if nothing is."""
    if place := unit.places.filter(joined_on__gte=day).exclude(joined_on=unit.replaced_on).first():
        return f"it moved on {place.joined_on}"
    if failure := unit.failures.filter(failed_on__gt=day, voided_on=None).first():
        return _failed(failure)
    if record := unit.records.filter(done_on__gt=day).first():
        return f"it was looked after on {record.done_on}"
    if idle := unit.idles.filter(Q(idle_on__gt=day) | Q(back_on__gt=day)).first():
        return _idle_words(idle)
    return ""


def _earlier(unit: models.Unit, day: dt.date) -> str:
    """What is on file of a unit that is earlier than a day, in words; blank if nothing is."""
    if failure := unit.failures.filter(failed_on__lt=day, voided_on=None).first():
        return _failed(failure)
    if record := unit.records.filter(done_on__lt=day).first():
        return f"it was looked after on {record.done_on}"
    if place := unit.places.filter(joined_on__lte=day).first():
        return f"it moved on {place.joined_on}"
    return ""


def _failed(failure: models.Failure) -> str:
    what = f"its {failure.component}" if failure.component else "something of it"
    return f"{what} failed on {failure.failed_on}"


def _idle_words(idle: models.Idle) -> str:
    return f"it was idle from {idle.idle_on}" + (f" to {idle.back_on}" if idle.back_on else "")
