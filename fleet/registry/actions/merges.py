"""Two customers, sites or units that are one: joined, with everything needed to take them apart again exactly.

What a merge did is written as a list of steps, in order: `set` (a field of a row, before and after) and `drop` (a whole
row). Undoing walks the list backward.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import IntegrityError, transaction
from django.db.models import Model
from django.db.models.functions import Now

from fleet import models
from fleet.derived import lookup, refresh
from fleet.log import Log
from fleet.refusals import Refused
from fleet.registry.actions import correct
from fleet.registry.actions.merge_rows import Steps, join_sites, join_units, move, read, written
from fleet.registry.facts.labels import label
from fleet.sheets.columns import in_plain

FACTS = {
    "customer": correct.CUSTOMER,
    "site": ("customer", *correct.SITE),
    "unit": ("system", *correct.UNIT, "removed_on", "removal_reason", "matched_after", "in_place_of"),
}
TABLES: dict[str, type[Model]] = {"customer": models.Customer, "site": models.Site, "unit": models.Unit}
_KEYS = {"maker": "maker_key", "model": "model_key", "serial": "serial_key"}


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A fact that the two tell differently."""

    field: str
    kept: str
    gone: str


@dataclass(frozen=True, slots=True)
class SameName:
    """What to do with a site of the customer who goes, where the one who stays has one of the same name.

    `merge` makes the two sites one, `chosen` says of each contradicting fact which is right; else it gets another `name`.
    """

    merge: bool
    chosen: Mapping[str, str]
    name: str = ""


def of_one_name(keep: int, gone: int) -> list[tuple[models.Site, models.Site, tuple[Contradiction, ...]]]:
    """The sites of two customers that have one name: the first's, the second's, and what the two tell differently."""
    mine = {site.name: site for site in models.Site.objects.filter(customer=keep)}
    theirs = models.Site.objects.filter(customer=gone, name__in=mine).order_by("name")
    return [
        (
            mine[site.name],
            site,
            tuple(one for one in contradictions("site", mine[site.name], site) if one.field != "customer"),
        )
        for site in theirs
    ]


def contradictions(kind: str, keep: Any, gone: Any) -> tuple[Contradiction, ...]:
    """List what the two tell differently; a blank is filled by the other's."""
    found = []
    for field in FACTS[kind]:
        one, other = getattr(keep, field), getattr(gone, field)
        if one not in (None, "") and other not in (None, "") and one != other:
            found.append(Contradiction(field, in_plain(one), in_plain(other)))
    if kind == "site":
        one, other = _use(keep), _use(gone)
        if one and other and one != other:
            found.append(Contradiction("use", one, other))
    return tuple(found)


def _use(site: models.Site) -> str:
    first = site.uses.filter(from_on=None).first()
    return first.use if first else ""


def merge(
    kind: str,
    keep: int,
    gone: int,
    *,
    chosen: Mapping[str, str],
    by: models.User | None,
    on: dt.date,
    why: str = "",
    sites: Mapping[int, SameName] | None = None,
) -> models.Merge:
    """Make two things one; `chosen` says of each contradicting field whether `kept` or `gone` is right.

    `sites` says of each site of the customer who goes, by its key, what becomes of it where both have one of its name.
    """
    try:
        with transaction.atomic():
            return _merge(kind, keep, gone, chosen=chosen, by=by, on=on, why=why, sites=sites or {})
    except IntegrityError as wrong:
        raise Refused(f"These two cannot be merged as they are: {wrong}.") from wrong


def _merge(
    kind: str,
    keep: int,
    gone: int,
    *,
    chosen: Mapping[str, str],
    by: models.User | None,
    on: dt.date,
    why: str,
    sites: Mapping[int, SameName],
) -> models.Merge:
    if keep == gone:
        raise Refused("Choose two different ones.")
    found: dict[int, Any] = TABLES[kind]._default_manager.select_for_update().in_bulk([keep, gone])
    if len(found) != 2:
        raise Refused("One of the two is no longer on file.")
    left, right = found[keep], found[gone]
    differing = contradictions(kind, left, right)
    open_still = [one.field for one in differing if chosen.get(one.field) not in ("kept", "gone")]
    if open_still:
        raise Refused(f"Choose which is right first: {', '.join(map(label, open_still))}.")
    name, names = str(right), [str(left), str(right)]
    take = {one.field for one in differing if chosen[one.field] == "gone"}
    steps = Steps()
    touched = _touched(kind, [keep, gone])
    log = Log(by=by)
    if kind == "customer":
        _sites_of_one_name(steps, left, right, sites, log)
    facts = _facts(kind, left, right, take)
    _absorb(kind, steps, left, right, take)
    for field, value in facts.items():
        log.note(None, left, field, getattr(left, field), value, why=f"merged with {name}"[:300])
    facts |= {_KEYS[field]: getattr(right, _KEYS[field]) for field in facts.keys() & _KEYS.keys()}
    if facts:
        steps.set_many(left, facts)
    log.write()
    content = {"steps": steps.done, "gone": name, "names": names}
    made = models.Merge.objects.create(kind=kind, kept_id=left.pk, gone_id=gone, content=content, why=why, by=by)
    _index(kind, [left])
    lookup.index(sites=_sites_in(made))
    refresh.refresh(sorted(touched | _touched(kind, [keep])), on=on)
    return made


def _absorb(kind: str, steps: Steps, left: Any, right: Any, take: set[str]) -> None:
    """Move everything that the second has to the first, and delete the second."""
    match kind:
        case "customer":
            move(steps, left, right)
        case "site":
            join_sites(steps, left, right, take)
        case _:
            join_units(steps, left, right, take)
    for entry in models.LookupEntry.objects.filter(kind=kind, object_id=right.pk):
        steps.drop(entry)
    for table in (models.Change, models.HistoryRow):
        for row in table.objects.filter(table=kind, object_id=right.pk):
            steps.set(row, "object_id", left.pk)
    _clear(kind, right)
    steps.drop(right)


def _touched(kind: str, ids: list[int]) -> set[int]:
    """List the units whose answers may hang on these."""
    if kind == "unit":
        # Maintenance of a unit may count for its whole system.
        systems = models.Place.objects.filter(unit__in=ids).values("system")
        return set(models.Place.objects.filter(system__in=systems).values_list("unit_id", flat=True))
    where = {"site": "system__site__in", "customer": "system__site__customer__in"}[kind]
    return set(models.Place.objects.filter(**{where: ids}).values_list("unit_id", flat=True))


def _index(kind: str, rows: list[Any]) -> None:
    match kind:
        case "customer":
            lookup.index(customers=rows)
        case "site":
            lookup.index(sites=rows)
        case _:
            lookup.index(units=rows)


def _facts(kind: str, left: Any, right: Any, take: set[str]) -> dict[str, Any]:
    """What the first takes from the second: the contradictions so chosen, and what the first had blank."""
    blank = {field for field in FACTS[kind] if getattr(left, field) in (None, "")}
    return {
        field: getattr(right, field)
        for field in FACTS[kind]
        if (field in take or field in blank) and getattr(right, field) not in (None, "")
    }


def _clear(kind: str, gone: Any) -> None:
    """Take away what is only worked out of a unit, which the deleting would take along unsaid."""
    if kind == "unit":
        for relation in gone._meta.related_objects:
            if relation.related_model in refresh.WORKED_OUT:
                relation.related_model._default_manager.filter(**{relation.field.name: gone}).delete()


# ------------------------------------------------------------------------------------------------- sites of one name


def _sites_of_one_name(
    steps: Steps, left: models.Customer, right: models.Customer, sites: Mapping[int, SameName], log: Log
) -> None:
    """Make one of two sites of one name, or give the second another, so that the two customers can be one."""
    why = f"merged with {right}"[:300]
    for mine, theirs, differing in of_one_name(left.pk, right.pk):
        choice = sites.get(theirs.pk)
        if choice is None:
            raise Refused(f"Each of them has a site named {mine}. Choose whether they are one site or two.")
        if not choice.merge:
            _rename(steps, theirs, choice.name, left, right, log, why=why)
            continue
        open_still = [one.field for one in differing if choice.chosen.get(one.field) not in ("kept", "gone")]
        if open_still:
            raise Refused(f"Choose which is right of the site {mine}: {', '.join(map(label, open_still))}.")
        take = {one.field for one in differing if choice.chosen[one.field] == "gone"}
        facts = _facts("site", mine, theirs, take)
        _absorb("site", steps, mine, theirs, take)
        for name, value in facts.items():
            log.note(None, mine, name, getattr(mine, name), value, why=why)
        if facts:
            steps.set_many(mine, facts)


def _rename(
    steps: Steps, site: models.Site, name: str, left: models.Customer, right: models.Customer, log: Log, *, why: str
) -> None:
    name = name.strip()
    if not name or len(name) > 200:
        raise Refused(f"Enter another name for the site {site}, of at most 200 characters.")
    if models.Site.objects.filter(customer__in=(left, right), name=name).exists():
        raise Refused(f"There already is a site named {name}. Enter another name for the site {site}.")
    log.note(None, site, "name", site.name, name, why=why)
    steps.set(site, "name", name)


def _sites_in(merge: models.Merge) -> list[models.Site]:
    """The sites that a merge of customers changed, as far as they are on file."""
    pks = {pk for _, name, pk, *_ in merge.content["steps"] if name == "site"} if merge.kind == "customer" else ()
    return list(models.Site.objects.filter(pk__in=pks))


# ------------------------------------------------------------------------------------------------- undoing


def undo(pk: int, *, by: models.User | None, on: dt.date) -> None:
    """Take two things apart again, exactly as they were; what was put on file since stays with the one that was kept."""
    try:
        with transaction.atomic():
            _undo(models.Merge.objects.select_for_update().get(pk=pk), by=by, on=on)
    except IntegrityError as wrong:
        raise Refused(f"Something entered since is in the way: {wrong}.") from wrong


def _undo(merge: models.Merge, *, by: models.User | None, on: dt.date) -> None:
    if merge.undone_at is not None:
        raise Refused("This merge was already undone.")
    table: Any = TABLES[merge.kind]
    left = table.objects.select_for_update().filter(pk=merge.kept_id).first()
    if left is None:
        raise Refused("The one that stayed has been merged since. Undo that merge first.")
    touched = _touched(merge.kind, [merge.kept_id])
    log = Log(by=by)
    for what, name, row_pk, before, after in reversed(merge.content["steps"]):
        model: Any = apps.get_model("fleet", name)
        if what == "drop":
            model.objects.bulk_create(_as_it_comes_back(model(**read(model, before))))
            continue
        row = model.objects.filter(pk=row_pk).first()
        if row is None:
            continue  # gone since, by somebody's own doing
        now = {field: written(row, _field(model, field)) for field in after}
        if now != after:
            differing = ", ".join(label(field) for field in after if now[field] != after[field])
            raise Refused(f"{differing} of {row} changed since the merge. Correct it back first.")
        values = read(model, before)
        if (name == merge.kind and row_pk == left.pk) or (name == "site" and merge.kind == "customer"):
            for fact, value in values.items():
                if not fact.endswith("_key") and (name, fact) != ("site", "customer_id"):
                    log.note(None, row, fact.removesuffix("_id"), getattr(row, fact), value, why="merge undone")
        model.objects.filter(pk=row_pk).update(**values)
    log.write()
    merge.undone_at, merge.undone_by = Now(), by
    merge.save(update_fields=["undone_at", "undone_by"])
    both = [merge.kept_id, merge.gone_id]
    _index(merge.kind, list(table.objects.filter(pk__in=both)))
    lookup.index(sites=_sites_in(merge))
    refresh.refresh(sorted(touched | _touched(merge.kind, both)), on=on)


def _as_it_comes_back(row: Any) -> list[Any]:
    """A deleted row to restore; of a write-up undone since, only failures come back, and those voided."""
    pk = getattr(row, "write_up_id", None)
    gone = None if pk is None else models.WriteUp.objects.exclude(taken_back_on=None).filter(pk=pk).first()
    if gone is None:
        return [row]
    if not isinstance(row, models.Failure):
        return []
    if row.voided_on is None:
        row.voided_on, row.void_reason = gone.taken_back_on, gone.taken_back_why
    return [row]


def _field(model: type[Model], attname: str) -> Any:
    return next(field for field in model._meta.concrete_fields if field.attname == attname)
