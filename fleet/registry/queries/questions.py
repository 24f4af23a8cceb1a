"""What to ask back about a unit that is entered, corrected or exchanged: each thing that is odd beside what is on file."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from django.db.models import Min

from fleet import models
from fleet.elements.edits import Edit
from fleet.models.facts import facts_of
from fleet.registry.pages.new_install import Told
from fleet.registry.queries import namesakes, new_install
from fleet.rules import plausible, words
from fleet.rules.dates import written
from fleet.rules.lookalike import folded
from fleet.rules.plausible import Oddity
from fleet.sheets.columns import in_plain

_DAYS = ("purchased_on", "installed_on", "started_on")
_HANDED_ON = {name for name, fact in facts_of(models.Unit).items() if fact.handed_on}
_FACTS = (*_DAYS, "role", "room", "maker", "model", "serial")
Names = Collection[tuple[str, str]]


def of_install(told: Told, there: Iterable[models.Unit]) -> dict[int | None, tuple[Oddity, ...]]:
    """What is odd of a new install, by the row of the unit (None: the days, which hold for all); `there` is in its system."""
    names = _names()
    rooms = [unit.room for unit in there if unit.role == "head"]
    found: dict[int | None, tuple[Oddity, ...]] = {None: tuple(plausible.days(_days(told.system)))}
    for number, cells in told.units.items():
        odd = (
            *plausible.names(cells["maker"], cells["model"], names),
            *plausible.same_room(cells["role"], cells["room"], rooms),
        )
        found[number] = odd
        if cells["role"] == "head":
            rooms.append(cells["room"])
    return found


def of_days(cells: Mapping[str, str]) -> tuple[Oddity, ...]:
    """What is odd of the days of an install alone, while it is written."""
    return tuple(plausible.days(_days(cells)))


def of_names(cells: Mapping[str, str]) -> tuple[Oddity, ...]:
    """What is odd of a unit's manufacturer and model alone, while its row is written."""
    return tuple(plausible.names(cells["maker"], cells["model"], _names()))


def of_correction(pk: int, edits: Mapping[str, Edit]) -> tuple[Oddity, ...]:
    """What a correction of a unit would make odd; what was odd before is not asked again."""
    unit = models.Unit.objects.select_related("system").get(pk=pk)
    root = unit.first_of_line()
    before = {name: in_plain(getattr(root if name in _HANDED_ON else unit, name)) for name in _FACTS}
    after = before | {name: edit.now.strip() for name, edit in edits.items() if name in _FACTS and edit.differs}
    if after == before:
        return ()
    registered = root.registrations.aggregate(first=Min("registered_on"))["first"]
    others = models.Unit.objects.in_service().filter(system=unit.system_id, role="head").exclude(pk=pk)
    rooms = list(others.values_list("room", flat=True)) if unit.removed_on is None else []
    names = _names(but=unit)
    known = set(_of(before, names, rooms, registered))
    found = [one for one in _of(after, names, rooms, registered) if one not in known]
    if words.key(after["serial"]) != unit.serial_key:
        found += _alike(after["maker"], after["model"], after["serial"], but=pk)
    return tuple(found)


def of_customer(pk: int, edits: Mapping[str, Edit]) -> tuple[Oddity, ...]:
    """What a correction of a customer would make odd: a name that somebody else on file has."""
    edit = edits.get("name")
    name = edit.now.strip() if edit is not None and edit.differs else ""
    others = namesakes.of_name(name, but=pk) if name else ()
    if not others:
        return ()
    text = (
        f"{name} is already on file ({'; '.join(one.words for one in others)}). If they are one customer, merge them."
    )
    return (Oddity("name", text, f"This is another {name}", f"name:{name}"),)


def of_exchange(pk: int, told: Mapping[str, str]) -> tuple[Oddity, ...]:
    """What is odd of the unit that came for another: its model, or a serial that looks like one on file."""
    unit = models.Unit.objects.get(pk=pk)
    model, serial = told.get("new_model", "").strip() or unit.model, told.get("new_serial", "").strip()
    odd = [
        one._replace(field="new_model") for one in plausible.names(unit.maker, model, _names()) if one.field == "model"
    ]
    odd += [one._replace(field="new_serial") for one in _alike(unit.maker, model, serial, but=None)]
    return tuple(odd)


def of_registration(units: Iterable[int], registered_on: dt.date) -> tuple[Oddity, ...]:
    """What is odd of a day on which some units were registered: that one of them was bought only later."""
    bought = {root.purchased_on for root in _roots(units)}
    days = sorted(day for day in bought if day is not None)
    found = (plausible.days({"purchased_on": day, "registered_on": registered_on}) for day in days)
    return tuple(dict.fromkeys(one for odd in found for one in odd))


def of_filled(units: Iterable[int], name: str, text: str) -> tuple[Oddity, ...]:
    """What filling in one blank fact of some units would make odd."""
    found = (one for unit in sorted(set(units)) for one in of_correction(unit, {name: Edit("", text)}))
    return tuple(dict.fromkeys(found))


def _roots(units: Iterable[int]) -> list[models.Unit]:
    """Units by their keys, or the first of the line that one came from in exchange."""
    found = []
    for unit in models.Unit.objects.filter(pk__in=set(units)).order_by("pk"):
        root = unit
        while root.took_over_from is not None:
            root = root.took_over_from
        found.append(root)
    return found


def _of(facts: Mapping[str, str], names: Names, rooms: Iterable[str], registered: dt.date | None) -> Iterator[Oddity]:
    yield from plausible.days(_days(facts) | {"registered_on": registered})
    yield from plausible.names(facts["maker"], facts["model"], names)
    yield from plausible.same_room(facts["role"], facts["room"], rooms)


def _days(facts: Mapping[str, str]) -> dict[str, dt.date | None]:
    # What is no day is refused by whoever takes it.
    return {name: written(facts.get(name, "")) for name in _DAYS}


def _names(*, but: models.Unit | None = None) -> Names:
    """Makers with their models on file, and the makers of terms; not those that only one unit has."""
    known = new_install.suggestions()
    pairs = {(one.maker, one.model) for one in known.models} | {(maker, "") for maker in known.makers}
    if but is None:
        return pairs
    others = models.Unit.objects.exclude(pk=but.pk).filter(maker_key=but.maker_key)
    makers = set(models.Terms.objects.filter(payer="maker").values_list("maker", flat=True))
    if not others.exists() and but.maker_key not in map(words.key, makers):
        return {(maker, model) for maker, model in pairs if words.key(maker) != but.maker_key}
    if not others.filter(model_key=but.model_key).exists():
        mine = (but.maker_key, but.model_key)
        return {(maker, model) for maker, model in pairs if (words.key(maker), words.key(model)) != mine}
    return pairs


def _alike(maker: str, model: str, serial: str, *, but: int | None) -> Iterator[Oddity]:
    """The units on file whose serial looks like this one though it is another."""
    found = new_install.known([(maker, model, serial)]).get(folded(serial), ()) if folded(serial) else ()
    others: list[Any] = [one for one in found if one.pk != but and not one.same]
    if others:
        one = others[0]
        text = f"A serial that looks like this one is on file: {one.serial}, {one.what}, in {one.where}."
        yield Oddity("serial", text, f"{serial} is another unit", f"serial:{words.key(serial)}")
