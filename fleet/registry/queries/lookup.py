"""The look-up: any words of what a thing is known by, in any order and part, with look-alikes, in a fixed number of queries.

Where nothing has all of the words in it, what is near to them: a letter or two off, or two letters swapped.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from django.db import connection
from django.db.models import Q

from fleet import models
from fleet.elements.named import address, as_it_stands, link
from fleet.elements.pieces import UnitLink
from fleet.models.lookup import LINE
from fleet.rules import near
from fleet.rules.lookalike import folded
from fleet.rules.typed import Kind, kind_of, line_of, phone, words_of

# A trigram is the least that the index of insides can find; shorter texts are looked for at the beginning only.
SHORTEST_INSIDE = 3
LONGEST = 100
# What is looked at for near misses, and how many of them are worth reading.
_MOST_NEAR, _NEAR = 2000, 8
# Fewer digits are part of a phone.
_LEAST_PHONE = 7
# Of so many words at most some may be a unit's own, beside those of its site; so many sites of such words are looked through.
_MOST_WORDS, _MOST_OF_UNIT, _MOST_BESIDE = 5, 2, 100
# What is listed below a customer or site, so that the unit is one click away.
MOST_SITES, MOST_UNITS = 3, 8

_COLUMNS = "e.kind, e.object_id, e.part, e.text, e.folded"


@dataclass(frozen=True, slots=True)
class Place:
    """A site with the units that stand there: the first of them, and how many more there are."""

    pk: int
    name: str
    address: str
    units: tuple[UnitLink, ...]
    more: int


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing that was found: what it was found by, what it is called, and a line that tells it from its like.

    `kind` is customer, site or unit, or agreement or claim; `part` is name, phone, street, line (of all words), serial, number, or of a
    unit beside the words of its site: room, manufacturer, model or kind.
    `gone` says that a unit is no longer there, `near` that it was found as a near miss; `places` are the sites below it.
    """

    kind: str
    object_id: int
    part: str
    text: str
    title: str
    line: str
    gone: bool = False
    near: bool = False
    places: tuple[Place, ...] = ()

    @property
    def found_by(self) -> str:
        """What it was found by, where its title does not show it."""
        if self.part == LINE or self.text == self.title:
            return ""
        return f"{self.part} {self.text}"


@dataclass(frozen=True, slots=True)
class _Entry:
    kind: str
    object_id: int
    part: str
    text: str
    folded: str


def find(text: str, *, limit: int = 20, kinds: Sequence[str] = ()) -> tuple[Hit, ...]:
    """Find what is known by a text: first what is exactly that, then what begins so, then what has all of its words inside.

    With `kinds`, only things of those kinds. What has nothing but near misses gets those, the nearest first.
    """
    text = text[:LONGEST].strip()
    number = phone(text)
    whole = folded(number or text)
    if not whole:
        return ()
    words = (whole,) if len(number) >= _LEAST_PHONE else words_of(text)
    entries = _beginning(whole, kinds, 2 * limit)
    if len(whole) >= SHORTEST_INSIDE:
        entries += _inside(whole, words, kinds, 4 * limit)
    if entries:
        entries.sort(key=lambda entry: _rank(entry, whole, words, text.casefold()))
        return _hits(_once(entries), limit)
    if beside := _on_units(words, kinds):
        return _hits(_once(beside), limit)
    most = min(limit, _NEAR)
    return _hits(_once(_near(whole, words, kinds))[: 3 * most], most, near=True)


def _once(entries: Iterable[_Entry]) -> list[_Entry]:
    """Each thing once, by the first of its texts."""
    first: dict[tuple[str, int], _Entry] = {}
    for entry in entries:
        first.setdefault((entry.kind, entry.object_id), entry)
    return list(first.values())


def _rank(
    entry: _Entry, whole: str, words: Sequence[str], written: str
) -> tuple[bool, bool, bool, int, bool, str, str, int]:
    """Order exact before beginning before inside, a text of its own before a line; of each, whole words first, then as written."""
    own = entry.folded.split()
    begun = sum(not any(one.startswith(word) for one in own) for word in words)
    return (
        entry.folded != whole,
        not entry.folded.startswith(whole),
        entry.part == LINE,
        begun,
        written not in entry.text.casefold(),
        entry.folded,
        entry.kind,
        entry.object_id,
    )


# --------------------------------------------------------------------------------------------------- words of a unit beside


def _on_units(words: Sequence[str], kinds: Sequence[str]) -> list[_Entry]:
    """Units of which one or two words say the room, manufacturer, model or kind, and all others find the site: `petrov kitchen`."""
    if (kinds and "unit" not in kinds) or not 2 <= len(words) <= _MOST_WORDS:
        return []
    for count in range(1, min(_MOST_OF_UNIT, len(words) - 1) + 1):
        of_site: dict[int, list[tuple[str, ...]]] = {}
        for chosen in combinations(range(len(words)), count):
            rest = [word for at, word in enumerate(words) if at not in chosen]
            if not any(len(word) >= SHORTEST_INSIDE for word in rest):
                continue
            for line in _inside("".join(rest), rest, ("site",), _MOST_BESIDE):
                if line.part == LINE:
                    of_site.setdefault(line.object_id, []).append(tuple(words[at] for at in chosen))
        units = models.Unit.objects.in_service().filter(system__site__in=of_site).select_related("system")
        found = [entry for unit in units if (entry := _said_of(unit, of_site[unit.system.site_id]))]
        if found:
            return sorted(found, key=lambda entry: (entry.text, entry.object_id))
    return []


def _said_of(unit: models.Unit, asked: Iterable[tuple[str, ...]]) -> _Entry | None:
    """The first thing that some words say of a unit, where each of them begins a word of what it is; None where they do not."""
    lines = [(part, text, f"{line_of(text)} {folded(text)}") for part, text in (
        ("room", unit.room), ("manufacturer", unit.maker), ("model", unit.model), ("kind", f"{unit.style} {unit.role}".strip()),
    )]  # fmt: skip
    for words in asked:
        where = [next((one for one in lines if f" {word}" in one[2]), None) for word in words]
        if where[0] is not None and None not in where:
            part, text, line = where[0]
            return _Entry("unit", unit.pk, part, text, line)
    return None


# ------------------------------------------------------------------------------------------------------------ near misses


def _near(whole: str, words: Sequence[str], kinds: Sequence[str]) -> list[_Entry]:
    """Find what every word is in or near to, or the whole of it is near to; the nearest first."""
    groups = [[(word,), *near.left_alone(word)] for word in words]
    groups = [group for group in groups if len(group[0][0]) >= SHORTEST_INSIDE]
    ways = [[(whole,), *near.left_alone(whole)]] if near.allowed(whole) else []
    alternatives = [found for found in (groups, ways) if found and any(len(group) > 1 for group in found)]
    if not alternatives:
        return []
    entries = _select(*_with_pieces(alternatives, kinds), _MOST_NEAR)
    off = [(least, entry) for entry in entries if (least := _off(entry, whole, words)) is not None]
    return [
        entry
        for _, entry in sorted(off, key=lambda one: (one[0], one[1].part == LINE, one[1].folded, one[1].object_id))
    ]


def _off(entry: _Entry, whole: str, words: Sequence[str]) -> int | None:
    """By how many letters a text is off; None where it is not near."""
    joined = entry.folded.replace(" ", "")
    off = near.edits(whole, joined, near.allowed(whole)) if entry.part != LINE else near.allowed(whole) + 1
    if off <= near.allowed(whole):
        return off
    own = words_of(entry.text) if entry.part != LINE else entry.folded.split()
    total = 0
    for word in words:
        most = near.allowed(word)
        least = 0 if word in entry.folded else min((near.edits(word, one, most) for one in own), default=most + 1)
        if least > most:
            return None
        total += least
    return total


Group = Sequence[Sequence[str]]


def _with_pieces(alternatives: Sequence[Sequence[Group]], kinds: Sequence[str]) -> tuple[str, list[str]]:
    """Entries that have, of some alternative, for each word all pieces of one way in which it may be off."""
    sqlite = connection.vendor == "sqlite"
    values: list[str] = []

    def piece(text: str) -> str:
        if sqlite:
            return f'"{text}"'
        values.append(f"%{text}%")
        return "e.folded LIKE %s"

    matched = " OR ".join(f"({' AND '.join(_either(group, piece) for group in groups)})" for groups in alternatives)
    if sqlite:
        source = "FROM fleet_lookup_trigrams t JOIN fleet_lookupentry e ON e.id = t.rowid WHERE t.folded MATCH %s"
        return source + _of(kinds), [matched, *kinds]
    return f"FROM fleet_lookupentry e WHERE ({matched}){_of(kinds)}", [*values, *kinds]


def _either(group: Group, piece: Callable[[str], str]) -> str:
    return f"({' OR '.join('(' + ' AND '.join(piece(text) for text in way) + ')' for way in group)})"


# --------------------------------------------------------------------------------------------------------------- searches


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


def _hits(entries: Sequence[_Entry], limit: int, *, near: bool = False) -> tuple[Hit, ...]:
    told = {("unit", row.pk): row for row in _of_kind("unit", entries)}
    told |= {("site", row.pk): row for row in _of_kind("site", entries)}
    told |= {("customer", row.pk): row for row in _of_kind("customer", entries)}
    # A customer's sites stand below the customer, whose name or phone is in their lines as well.
    below = {row.pk for row in told.values() if row.customer and ("customer", row.customer) in told}
    hits = [
        Hit(entry.kind, entry.object_id, entry.part, entry.text, *told[key].said, near=near)
        for entry in entries
        if (key := (entry.kind, entry.object_id)) in told and not (entry.part == LINE and entry.object_id in below)
    ]
    return tuple(hits[:limit])


@dataclass(frozen=True, slots=True)
class _Told:
    pk: int
    said: tuple[str, str, bool]
    customer: int = 0  # of a site


def _of_kind(kind: str, entries: Iterable[_Entry]) -> list[_Told]:
    ids = [entry.object_id for entry in entries if entry.kind == kind]
    if kind == "unit":
        units = models.Unit.objects.filter(pk__in=ids).select_related("system__site__customer")
        return [_Told(unit.pk, _unit(unit)) for unit in units]
    if kind == "site":
        sites = models.Site.objects.filter(pk__in=ids).select_related("customer")
        return [
            _Told(site.pk, (site.name, _line(site.customer.name, site.street, site.city), False), site.customer_id)
            for site in sites
        ]
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


# ---------------------------------------------------------------------------------------------- what stands there, numbers


def with_places(hits: Sequence[Hit]) -> tuple[Hit, ...]:
    """The same, each customer and site with what stands there; of a customer the first few sites."""
    shown = {kind: [hit.object_id for hit in hits if hit.kind == kind] for kind in ("customer", "site")}
    of_customers: dict[int, list[models.Site]] = {}
    sites = {site.pk: site for site in models.Site.objects.filter(pk__in=shown["site"])}
    for site in models.Site.objects.filter(customer__in=shown["customer"]).order_by("street", "name"):
        of_customers.setdefault(site.customer_id, []).append(site)
    wanted = [*sites, *(site.pk for found in of_customers.values() for site in found[:MOST_SITES])]
    units: dict[int, list[models.Unit]] = {}
    for unit in models.Unit.objects.in_service().filter(system__site__in=wanted).select_related("system"):
        units.setdefault(unit.system.site_id, []).append(unit)
    found: dict[tuple[str, int], tuple[Place, ...]]
    found = {("site", pk): (_place(site, units.get(pk, [])),) for pk, site in sites.items()}
    for pk, some in of_customers.items():
        found["customer", pk] = tuple(_place(site, units.get(site.pk, [])) for site in some[:MOST_SITES])
    return tuple(replace(hit, places=found.get((hit.kind, hit.object_id), ())) for hit in hits)


def _place(site: models.Site, units: list[models.Unit]) -> Place:
    units.sort(key=lambda unit: (unit.system.name, *as_it_stands(unit)))
    links = tuple(link(unit) for unit in units[:MOST_UNITS])
    return Place(site.pk, site.name, address(site), links, len(units) - len(links))


def page_of(hit: Hit) -> tuple[str, int] | None:
    """The page where the units of what was found are listed, by its name and key; None for a customer of several sites."""
    if hit.kind != "customer":
        return hit.kind, hit.object_id
    sites = list(models.Site.objects.filter(customer=hit.object_id).values_list("pk", flat=True)[:2])
    return None if len(sites) > 1 else ("site", sites[0]) if sites else ("customer", hit.object_id)


_CLAIM = re.compile(r"(?:claim|#)[\s#]*(\d{1,9})", re.IGNORECASE)


def numbered(text: str, *, kinds: Sequence[str], limit: int = 5) -> tuple[Hit, ...]:
    """The agreements and claims, of these kinds, whose number has a text in it; a claim by our own number as well."""
    text = text[:LONGEST].strip()
    if kind_of(text) is Kind.NAME or len(folded(text)) < SHORTEST_INSIDE and not _CLAIM.fullmatch(text):
        return ()
    hits: list[Hit] = []
    if "agreement" in kinds:
        found = models.Agreement.objects.filter(reference__icontains=text).select_related("site__customer")
        hits += [
            Hit(
                "agreement",
                row.pk,
                "number",
                row.reference,
                row.reference,
                _line(row.site.customer.name, row.site.street),
            )
            for row in found.order_by("reference", "pk")[:limit]
        ]
    if "claim" in kinds:
        ours = _CLAIM.fullmatch(text)
        asked = Q(reference__icontains=text) if len(folded(text)) >= SHORTEST_INSIDE else Q(pk=None)
        named = asked | Q(pk=int(ours[1])) if ours else asked
        claims = models.Claim.objects.filter(named).select_related("failure__unit__system__site__customer")
        hits += [_claim(row) for row in claims.order_by("pk")[:limit]]
    return tuple(hits)


def _claim(row: models.Claim) -> Hit:
    unit = row.failure.unit
    line = _line(
        row.payer_name, f"{row.failure.component} of {unit.serial or unit.model}", unit.system.site.customer.name
    )
    return Hit("claim", row.pk, "number", row.reference, f"Claim {row.pk}", line)
