"""Undoing a whole install that was just saved on a screen, as long as nothing else hangs on it.

A merge walks its own steps backward and an event is undone kind by kind; an install is found again by its load, whose rows go
whole or not at all.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import transaction
from django.db.models import Model, QuerySet

from fleet import models
from fleet.derived import apart, lookup, refresh
from fleet.log import Log
from fleet.refusals import Refused
from fleet.registry.actions import documents
from fleet.registry.actions.undoing import called, loosen, rows_on
from fleet.registry.facts.labels import label
from fleet.sheets.columns import in_plain

# From the inside out, as they are taken away.
_LEVELS: tuple[Any, ...] = (models.Unit, models.System, models.Site, models.Customer)


@dataclass(frozen=True, slots=True)
class Taken:
    """What was undone, and the site where it was: None where the site came with the install and went with it."""

    units: int
    system: str
    site: int | None


def saved_on_screen(load: int) -> QuerySet[models.Load]:
    """Find a load, if it is of an install that somebody typed: a file has a digest, and rows given by a program have nobody."""
    return models.Load.objects.filter(pk=load, kind="installs", digest="", by__isnull=False)


def undo_install(load: int, *, by: models.User | None, on: dt.date) -> Taken:
    """Delete everything that one save brought, and blank again what it filled; or raise Refused."""
    with transaction.atomic():
        found = saved_on_screen(load).select_for_update().first()
        if found is None:
            raise Refused("Only an install that was saved on this screen can be undone here.")
        made = _Made(found)
        if not made.units:
            raise Refused("This install was already undone.")
        if reasons := dict.fromkeys(made.hanging()):
            raise Refused("; ".join(reasons))
        system = made.units[0].system
        site = None if system.site_id in made.keys(models.Site) else system.site
        _note(made, system, site, by=by)
        touched = made.fill_back(by=by)
        made.remove()
        refresh.refresh(_near(touched, site), on=on)
    return Taken(len(made.units), system.name, site.pk if site else None)


class _Made:
    """What one load brought: things that are new, registrations, promises and photos of theirs, and blanks filled elsewhere."""

    def __init__(self, load: models.Load) -> None:
        self.load = load
        self.by_table: dict[Any, list[Any]] = {
            table: list(table.objects.select_for_update().filter(load=load).order_by("pk"))
            for table in (*_LEVELS, models.Registration, models.Attachment, models.Document)
        }
        self.units: list[models.Unit] = self.by_table[models.Unit]
        self.filled = list(models.Change.objects.filter(load=load).order_by("pk"))

    def keys(self, table: Any) -> list[int]:
        """The keys of what is new of a table."""
        return [row.pk for row in self.by_table[table]]

    def hanging(self) -> Iterator[str]:
        """What came since and depends on the load, in words."""
        for table in _LEVELS:
            yield from self._rows_on(table)
        for told in self.by_table[models.Registration]:
            if told.proof_id is not None:
                yield f"the proof of the registration of {told.unit}"
        yield from self._changes()
        yield from self._merges()
        for change in self.filled:
            row = self._filled_in(change)
            if row is not None and in_plain(getattr(row, change.field)) != change.after:
                yield f"{_field(change)} of {row}, which this filled, was changed since"

    def _rows_on(self, table: Any) -> Iterator[str]:
        for field, found in rows_on(table, self.keys(table)):
            if found.model is models.Place:
                # The place where a unit was put in is part of its being there.
                found = found.exclude(unit__in=self.keys(models.Unit), joined_on=None)
            elif found.model is models.SiteUse:
                found = found.exclude(from_on=None)
            elif found.model is models.UnitReport:
                # That a unit was found on site came with it.
                found = found.exclude(kind="found", unit__in=self.keys(models.Unit))
            elif found.model in self.by_table:
                found = found.exclude(load=self.load)
            if number := found.count():
                on = getattr(found.select_related(field)[0], field)
                yield f"{called(found, number)} on {on}{' and others' if number > 1 else ''}"

    def _changes(self) -> Iterator[str]:
        """Facts that were put right since. That a registration was recorded and taken back is no fact that still stands."""
        uses = list(models.SiteUse.objects.filter(site__in=self.keys(models.Site)).select_related("site"))
        for table, rows in (*self.by_table.items(), (models.SiteUse, uses)):
            # What a site is used for has rows of its own.
            facts = {"use", *(field.name for field in table._meta.concrete_fields)}
            changes = models.Change.objects.filter(
                table=table._meta.model_name, object_id__in=[row.pk for row in rows], field__in=facts
            )
            named = {row.pk: row for row in rows}
            for change in changes.exclude(load=self.load).select_related("by").order_by("pk"):
                who = str(change.by) if change.by else "the command line"
                yield f"{_field(change)} of {named[change.object_id]} was changed since, by {who}"

    def _merges(self) -> Iterator[str]:
        for merge in models.Merge.objects.filter(undone_at=None, at__gte=self.load.at):
            table = apps.get_model("fleet", merge.kind)
            dropped = any(
                what == "drop" and before.get("load_id") == self.load.pk
                for what, _, _, before, _ in merge.content["steps"]
            )
            if dropped or merge.kept_id in self.keys(table):
                yield f"the merge with {merge.content['gone']}, which must be undone first"

    def _filled_in(self, change: models.Change) -> Any:
        """The older row in which a change filled a blank; None for a row that the load itself added."""
        row = apps.get_model("fleet", change.table).objects.filter(pk=change.object_id).first()
        return None if row is None or getattr(row, "load_id", None) == self.load.pk else row

    def fill_back(self, *, by: models.User | None) -> set[int]:
        """Blank again what was filled; return the units whose answers that bears on."""
        log, touched = Log(by=by), {row.unit_id for row in self.by_table[models.Registration]}
        touched |= {row.unit_id for row in self.by_table[models.Attachment]}
        renamed: defaultdict[str, list[Any]] = defaultdict(list)
        for change in self.filled:
            row = self._filled_in(change)
            if row is None:
                continue
            log.note(None, row, change.field, change.after, "", why="install undone")
            touched |= _bears_on(row)
            if isinstance(row, models.SiteUse):
                row.delete()
                continue
            names = [change.field]
            if change.field in ("maker", "model", "serial"):
                names.append(f"{change.field}_key")
            for name in names:
                setattr(row, name, None if row._meta.get_field(name).null else "")
            row.save(update_fields=names)
            renamed[change.table].append(row)
        log.write()
        lookup.index(customers=renamed["customer"], sites=renamed["site"], units=renamed["unit"])
        return touched

    def remove(self) -> None:
        """Take away what is new, from the inside out."""
        documents.delete(self.by_table[models.Document])
        for table in (models.Attachment, models.Registration, *_LEVELS):
            keys = self.keys(table)
            models.LookupEntry.objects.filter(kind=table._meta.model_name, object_id__in=keys).delete()
            table.objects.filter(pk__in=keys).delete()
        apart.keep(apart.told_apart())


def _field(change: models.Change) -> str:
    return f"“{label(change.field)}”"


def _bears_on(row: Model) -> set[int]:
    match row:
        case models.Unit():
            return {row.pk}
        case models.Registration() | models.Attachment():
            return {row.unit_id}
        case models.Site() | models.SiteUse():
            site = row.pk if isinstance(row, models.Site) else row.site_id
            return set(models.Place.objects.filter(system__site=site).values_list("unit_id", flat=True))
        case _:
            return set()


def _near(touched: set[int], site: models.Site | None) -> list[int]:
    """Leave those still on file, with all that stand at the site: upkeep of one may have counted for another."""
    there = models.Place.objects.filter(system__site=site).values_list("unit_id", flat=True) if site else ()
    return sorted(models.Unit.objects.filter(pk__in=touched | set(there)).values_list("pk", flat=True))


def _note(made: _Made, system: models.System, site: models.Site | None, *, by: models.User | None) -> None:
    """Write what was taken back where it can still be read: at the site, else at the customer, else at the save itself."""
    customer = system.site.customer
    where: Any = site or (made.load if customer.pk in made.keys(models.Customer) else customer)
    units = ", ".join(map(str, made.units))
    named = system.name if site else f"{system.site}, {system.name}"
    log = Log(by=by)
    log.note(None, where, "install", f"{named}: {units}", "", why="install undone")
    loosen(made.keys(models.Unit), log, why="install undone")
    log.write()
