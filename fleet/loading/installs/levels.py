"""The levels above the unit in an installs file: customers, their sites, the systems there.

Every row of one customer, site or system must agree; a blank takes the others' value. So each level is applied once, from
what all of its rows say together.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fleet import models
from fleet.derived import lookup
from fleet.loading.former import Former, SiteName
from fleet.loading.loading import BATCH, Loading
from fleet.loading.namesakes import by_name, key_of, name_of
from fleet.models.facts import facts_of

_CUSTOMER_FACTS, _SITE_FACTS = (
    tuple(name for name, fact in facts_of(table).items() if fact.in_files and name != "name")
    for table in (models.Customer, models.Site)
)


@dataclass(frozen=True, slots=True)
class Level:
    """One level: the columns that name it, within the level above, and those that tell of it."""

    name: str
    within: tuple[str, ...]
    facts: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The columns that name it."""
        return (*self.within, self.name)


LEVELS = (
    Level("customer", (), _CUSTOMER_FACTS),
    Level("site", ("customer",), (*_SITE_FACTS, "use")),
    Level("system", ("customer", "site"), ()),
)


@dataclass(slots=True)
class _Entry:
    """What all rows of one customer, site or system say together, and the first row that says so."""

    names: tuple[str, ...]
    above: int  # the key of what it stands in; 0 for a customer
    row: int
    facts: dict[str, Any]


def apply_level(level: Level, loading: Loading, former: Former) -> None:
    """Apply a level: match or make each thing of it, and remember in the stage which it is and whether it is new."""
    stage, names = loading.stage, ", ".join(level.names)
    stage.run(f"CREATE TABLE {level.name}_ids ({names}, id INTEGER, new INTEGER, PRIMARY KEY ({names})) WITHOUT ROWID")
    facts = "".join(f", MIN({fact}), MAX({fact})" for fact in level.facts)
    above = f"JOIN {level.within[-1]}_ids a USING ({', '.join(level.within)})" if level.within else ""
    grouped = f"SELECT {names}, {'MIN(a.id)' if above else '0'}, MIN(row){facts} FROM staged {above} GROUP BY {names} ORDER BY {names}"
    store = {"customer": _customers, "site": _sites, "system": _systems}[level.name]
    for chunk in stage.in_chunks(grouped, BATCH):
        entries = [_entry(level, line, loading) for line in chunk]
        stage.run_many(
            f"INSERT INTO {level.name}_ids VALUES ({', '.join('?' * len(level.names))}, ?, ?)",
            ((*one.names, pk, new) for one, (pk, new) in zip(entries, store(entries, loading, former), strict=True)),
        )
        loading.log.write()


def _entry(level: Level, line: Sequence[Any], loading: Loading) -> _Entry:
    width = len(level.names)
    names, (above, row), extremes = line[:width], line[width : width + 2], line[width + 2 :]
    least = dict(zip(level.facts, extremes[::2], strict=True))
    for fact, most in zip(level.facts, extremes[1::2], strict=True):
        if most != least[fact]:
            _disagree(level, names, fact, loading)
    return _Entry(tuple(names), above, row, loading.values(least, level.facts))


def _disagree(level: Level, names: Sequence[str], fact: str, loading: Loading) -> None:
    same = " AND ".join(f"{name} = ?" for name in level.names)
    values = loading.stage.select(
        f"SELECT {fact}, MIN(row) FROM staged WHERE {same} AND {fact} IS NOT NULL GROUP BY {fact} ORDER BY MIN(row)",
        names,
    )
    (first, first_row), (other, other_row) = list(values)[:2]
    expected = f"one {fact} for the whole {level.name} {name_of(names[-1])!r}: row {first_row} says {first!r}, this one {other!r}"
    loading.problems.note(other_row, fact, expected)


def _customers(entries: Sequence[_Entry], loading: Loading, former: Former) -> list[tuple[int, bool]]:
    """Match customers by name; where several have it, the text is marked with the key of the one that is meant."""
    texts = [one.names[0] for one in entries]
    by_pk = models.Customer.objects.in_bulk({key for text in texts if (key := key_of(text))})
    stored = {text: by_pk[key] for text in texts if (key := key_of(text))}
    # Two names may mean one customer: the name from before a merge, and the one now.
    for name, (row, *_) in by_name([text for text in texts if key_of(text) is None], former).items():
        stored[name] = by_pk.setdefault(row.pk, row)
    rows = [stored.get(text) or models.Customer(name=name_of(text)) for text in texts]
    return _store(models.Customer, rows, entries, _CUSTOMER_FACTS, loading)


def _sites(entries: Sequence[_Entry], loading: Loading, former: Former) -> list[tuple[int, bool]]:
    within = {one.above for one in entries}
    stored = {
        (row.customer_id, row.name): row
        for row in models.Site.objects.filter(customer__in=within, name__in={one.names[1] for one in entries})
    }
    _known_before(entries, stored, loading, former)
    sites = [
        stored.get((one.above, one.names[1])) or models.Site(customer_id=one.above, name=one.names[1])
        for one in entries
    ]
    stored_as = _store(models.Site, sites, entries, _SITE_FACTS, loading)
    _uses(sites, stored_as, entries, loading)
    return stored_as


def _known_before(
    entries: Sequence[_Entry], stored: dict[SiteName, models.Site], loading: Loading, former: Former
) -> None:
    """Match the sites that a file knows by a name from before a merge, or by a former owner.

    A site that the file names by both is one object, so that what it says of either is compared with the other.
    """
    missing = {(one.above, one.names[1]): one for one in entries if (one.above, one.names[1]) not in stored}
    by_pk = {row.pk: row for row in stored.values()}
    for known_as, sites in former.sites(missing).items():
        if len(sites) > 1:
            choices = " or ".join(sorted(f"{site} of {site.customer}" for site in sites))
            expected = f"the name that the site has now; {known_as[1]!r} was that of {choices}"
            loading.problems.note(missing[known_as].row, "site", expected)
        stored[known_as] = by_pk.setdefault(sites[0].pk, sites[0])


def _systems(entries: Sequence[_Entry], loading: Loading, _: Former) -> list[tuple[int, bool]]:
    stored = {
        (row.site_id, row.name): row for row in models.System.objects.filter(site__in={one.above for one in entries})
    }
    rows = [
        stored.setdefault((one.above, one.names[2]), models.System(site_id=one.above, name=one.names[2]))
        for one in entries
    ]
    return _store(models.System, rows, entries, (), loading)


def _store(
    table: Any, rows: Sequence[Any], entries: Sequence[_Entry], facts: tuple[str, ...], loading: Loading
) -> list[tuple[int, bool]]:
    """Store what is new or changed of a level; returns each thing's key and whether it is new."""
    new = [row.pk is None for row in rows]
    changed = [
        loading.settle(row, [(fact, fact, one.facts[fact]) for fact in facts if fact in one.facts], one.row)
        for row, one in zip(rows, entries, strict=True)
    ]
    # A file may name one thing in two ways: by a house's former owner and by the one now.
    added = _once(row for row, is_new in zip(rows, new, strict=True) if is_new)
    mended = _once(row for row, is_new, differs in zip(rows, new, changed, strict=True) if differs and not is_new)
    for row in added:
        row.load = loading.load
    table.objects.bulk_create(added)
    loading.count[str(table._meta.model_name)] += len(added)
    if mended:
        table.objects.bulk_update(mended, facts, batch_size=100)
    if table is models.Customer:
        lookup.index(customers=[*added, *mended])
    elif table is models.Site:
        lookup.index(sites=[*added, *mended])
        _touch((row.pk for row in mended), loading)
    return [(row.pk, is_new) for row, is_new in zip(rows, new, strict=True)]


def _once(rows: Iterable[Any]) -> list[Any]:
    return list({id(row): row for row in rows}.values())


def _uses(
    sites: Sequence[models.Site], stored_as: Sequence[tuple[int, bool]], entries: Sequence[_Entry], loading: Loading
) -> None:
    """Store what sites are used for, ever since: a use from a day on is recorded elsewhere."""
    stored = {
        use.site_id: use
        for use in models.SiteUse.objects.filter(site__in=[pk for pk, new in stored_as if not new], from_on=None)
    }
    added, filled, corrected = [], [], []
    for site, (pk, new), one in zip(sites, stored_as, entries, strict=True):
        if "use" not in one.facts:
            continue
        use = stored.get(pk)
        if use is not None:
            if loading.settle(use, [("use", "use", one.facts["use"])], one.row) and use.pk:
                corrected.append(use)
            continue
        added.append(models.SiteUse(site=site, use=one.facts["use"]))
        stored[pk] = added[-1]
        if not new:
            filled.append(added[-1])
    models.SiteUse.objects.bulk_create(added)
    for use in filled:
        loading.log_filled(use, "use", use.use)
    models.SiteUse.objects.bulk_update(_once(corrected), ["use"], batch_size=100)
    _touch((use.site_id for use in (*filled, *corrected)), loading)


def _touch(sites: Iterable[int], loading: Loading) -> None:
    """Touch every unit that stands or stood at these sites."""
    units = models.Place.objects.filter(system__site__in=list(sites)).values_list("unit_id", flat=True)
    loading.stage.touch(units)
