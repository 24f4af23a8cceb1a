"""The look-up: whatever part of a serial, a name, a phone or a street somebody gives, with look-alikes, in a fixed number of queries."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import connection

from fleet import models
from fleet.rules.lookalike import folded

# A trigram is the least that the index of insides can find; shorter texts are looked for at the beginning only.
SHORTEST_INSIDE = 3
LONGEST = 100

_COLUMNS = "e.kind, e.object_id, e.part, e.text, e.folded"


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing that was found: what it was found by, what it is called, and a line that tells it from its like.

    `kind` is customer, site or unit; `part` is name, phone, street or serial; `gone` says that a unit is no longer there.
    """

    kind: str
    object_id: int
    part: str
    text: str
    title: str
    line: str
    gone: bool = False


@dataclass(frozen=True, slots=True)
class _Entry:
    kind: str
    object_id: int
    part: str
    text: str
    folded: str


def find(text: str, *, limit: int = 20, kinds: Sequence[str] = ()) -> tuple[Hit, ...]:
    """Find what is known by a text: first what is exactly that, then what begins so, then what has it inside.

    With `kinds`, only things of those kinds.
    """
    text = text[:LONGEST].strip()
    whole = folded(text)
    if not whole:
        return ()
    entries = _beginning(whole, kinds, 2 * limit)
    if len(whole) >= SHORTEST_INSIDE:
        entries += _inside(whole, [folded(word) for word in text.split()], kinds, 4 * limit)
    entries.sort(key=lambda entry: _rank(entry, whole, text.casefold()))
    first: dict[tuple[str, int], _Entry] = {}
    for entry in entries:
        first.setdefault((entry.kind, entry.object_id), entry)
    return _hits(list(first.values())[:limit])


def _rank(entry: _Entry, whole: str, written: str) -> tuple[bool, bool, bool, str, str, int]:
    """Order exact before beginning before inside; of each, what needs no look-alikes first; then by text."""
    return (
        entry.folded != whole,
        not entry.folded.startswith(whole),
        written not in entry.text.casefold(),
        entry.folded,
        entry.kind,
        entry.object_id,
    )


def _beginning(whole: str, kinds: Sequence[str], limit: int) -> list[_Entry]:
    """Find texts that begin so, in the order of the index: the exact ones come first."""
    if connection.vendor == "sqlite":
        condition, order, values = "e.folded >= %s AND e.folded < %s", "e.folded", [whole, whole + "\U0010ffff"]
    else:
        condition, order, values = "e.folded LIKE %s", "e.folded USING ~<~", [whole + "%"]
    where = f"WHERE {condition}{_of(kinds)}"
    return _select(f"FROM fleet_lookupentry e {where} ORDER BY {order}", [*values, *kinds], limit)


def _inside(whole: str, parts: Sequence[str], kinds: Sequence[str], limit: int) -> list[_Entry]:
    """Find texts that have every word of it inside, wherever; what is too short for the index is checked on what it finds."""
    long = [part for part in parts if len(part) >= SHORTEST_INSIDE] or [whole]
    short = [part for part in parts if len(part) < SHORTEST_INSIDE] if long != [whole] else []
    if connection.vendor == "sqlite":
        source = "FROM fleet_lookup_trigrams t JOIN fleet_lookupentry e ON e.id = t.rowid WHERE t.folded MATCH %s"
        values = [" AND ".join(f'"{part}"' for part in long)]
    else:
        source = "FROM fleet_lookupentry e WHERE " + " AND ".join(["e.folded LIKE %s"] * len(long))
        values = [f"%{part}%" for part in long]
    source += " AND e.folded LIKE %s" * len(short) + _of(kinds)
    return _select(source, [*values, *(f"%{part}%" for part in short), *kinds], limit)


def _of(kinds: Sequence[str]) -> str:
    return f" AND e.kind IN ({', '.join(['%s'] * len(kinds))})" if kinds else ""


def _select(source: str, values: Sequence[str], limit: int) -> list[_Entry]:
    # What is folded has letters and digits only, so nothing in it means anything to LIKE or MATCH.
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {_COLUMNS} {source} LIMIT %s", [*values, limit])
        return [_Entry(*row) for row in cursor.fetchall()]


def _hits(entries: Sequence[_Entry]) -> tuple[Hit, ...]:
    told = {("unit", row.pk): row for row in _of_kind("unit", entries)}
    told |= {("site", row.pk): row for row in _of_kind("site", entries)}
    told |= {("customer", row.pk): row for row in _of_kind("customer", entries)}
    return tuple(
        Hit(entry.kind, entry.object_id, entry.part, entry.text, *told[key].said)
        for entry in entries
        if (key := (entry.kind, entry.object_id)) in told
    )


@dataclass(frozen=True, slots=True)
class _Told:
    pk: int
    said: tuple[str, str, bool]


def _of_kind(kind: str, entries: Iterable[_Entry]) -> list[_Told]:
    ids = [entry.object_id for entry in entries if entry.kind == kind]
    if kind == "unit":
        units = models.Unit.objects.filter(pk__in=ids).select_related("system__site__customer")
        return [_Told(unit.pk, _unit(unit)) for unit in units]
    if kind == "site":
        sites = models.Site.objects.filter(pk__in=ids).select_related("customer")
        return [_Told(site.pk, (site.name, _line(site.customer.name, site.street, site.city), False)) for site in sites]
    customers = models.Customer.objects.filter(pk__in=ids).prefetch_related("sites")
    return [_Told(row.pk, (row.name, _line(row.phone, *_places(row)), False)) for row in customers]


def _unit(unit: models.Unit) -> tuple[str, str, bool]:
    site = unit.system.site
    line = _line(f"{unit.maker} {unit.model}", unit.room, unit.removal_reason, site.name, site.customer.name)
    return unit.serial or unit.room, line, unit.removed_on is not None


def _places(customer: models.Customer) -> list[str]:
    names = sorted(site.street or site.name for site in customer.sites.all())
    return names if len(names) <= 2 else [*names[:2], f"and {len(names) - 2} more"]


def _line(*parts: str) -> str:
    return ", ".join(part for part in parts if part)
