"""What somebody on site puts right there and then: a unit that was not on file, one that is not there, a serial."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, BinaryIO

from django.db import transaction

from fleet import models
from fleet.elements.edits import Edit
from fleet.log import Log
from fleet.refusals import Refused
from fleet.registry.actions import correct, documents, new_install, undo_correction, undo_install
from fleet.registry.pages.new_install import Told
from fleet.registry.pages.reports import NOT_READ, SERIAL_WHY, not_known
from fleet.rules import words

_LONGEST = 600


@dataclass(frozen=True, slots=True)
class Found:
    """The unit that was found, and whether it is new on file."""

    unit: int
    is_new: bool


def found(
    site: int,
    cells: Mapping[str, str],
    *,
    system: int | None,
    note: str = "",
    photo: BinaryIO | None = None,
    by: models.User,
    on: dt.date,
) -> Found:
    """Put a unit on file that stands at a site, with what could be read of it, and a report for the office to complete it.

    Goes the way of an install. `system` None: nobody knows which, so it gets one of its own until the office says. What is on
    file already is found and not added again, as when a form is sent twice.
    """
    with transaction.atomic():
        place = models.Site.objects.select_related("customer").get(pk=site)
        unit_cells = {name: cells[name] for name in ("role", "style", "room", "serial")}
        unit_cells |= {name: cells[name] or NOT_READ for name in ("maker", "model")}
        told = Told(
            system={
                "customer": place.customer.name,
                "site": place.name,
                "system": _name_of(system, site, cells),
                "installed_by": cells["installed_by"],
            },
            units={0: unit_cells},
            owner=place.customer_id,
        )
        saved = new_install.save(told, by=by, on=on)
        unit = _unit(saved.system, unit_cells)
        if saved.added:
            said = " ".join(filter(None, (not_known(dict(cells), system=system), note.strip())))[:_LONGEST]
            models.UnitReport.objects.create(unit=unit, kind="found", said=said, on=on, by=by)
            _note(unit, "found", "", f"{unit}, {unit.room or unit.role}", by=by, why=said)
        if photo is not None:
            try:
                documents.add(file=photo, name=photo.name or "plate.jpg", whose=unit, caption="Nameplate", by=by)
            except Refused as refused:
                raise Refused(f"The photo was not taken. {refused}", "photo") from refused
    return Found(unit.pk, bool(saved.added))


def _name_of(system: int | None, site: int, cells: Mapping[str, str]) -> str:
    if system is None:
        return f"Not known yet: {(cells['serial'] or cells['room'])[:100]}"
    known = models.System.objects.filter(pk=system, site=site).first()
    if known is None:
        raise Refused("This system no longer stands at this site. Choose again.", "system")
    return known.name


def _unit(system: int, cells: Mapping[str, str]) -> models.Unit:
    here = models.Unit.objects.filter(system=system)
    if cells["serial"]:
        keys = {f"{name}_key": words.key(cells[name]) for name in ("maker", "model", "serial")}
        return here.get(**keys)
    return here.in_service().get(serial_key="", role=cells["role"], room=cells["room"])


def not_there(unit: int, *, said: str, by: models.User, on: dt.date) -> models.UnitReport:
    """Report that a unit on file is not where it should be; the office decides. Reported twice, the first stands."""
    with transaction.atomic():
        row = models.Unit.objects.select_for_update().get(pk=unit)
        if row.removed_on is not None:
            raise Refused("This unit is on file as gone already.")
        open_one = models.UnitReport.objects.filter(unit=row, kind="not there", settled_on=None).first()
        if open_one is not None:
            return open_one
        report = models.UnitReport.objects.create(
            unit=row, kind="not there", said=said.strip()[:_LONGEST], on=on, by=by
        )
        _note(row, "not there", "", report.said or "yes", by=by)
    return report


def serial(unit: int, edit: Edit, *, by: models.User, on: dt.date) -> bool:
    """Put a serial right as it was read off the plate; return whether it changed."""
    if not edit.now.strip():
        raise Refused("Enter the serial as the nameplate has it.", "serial")
    correct.unit(unit, {"serial": edit}, by=by, on=on, why=SERIAL_WHY)
    return edit.differs


def undo_serial(change: int, *, by: models.User, on: dt.date) -> int:
    """Undo a serial that this person put right on site, and return the unit; of anything else the office decides."""
    row = models.Change.objects.filter(pk=change, table="unit", field="serial", why=SERIAL_WHY, by=by).first()
    if row is None:
        raise Refused("Only a serial that you put right yourself can be undone here. Ask the office.")
    undo_correction.undo(change, by=by, on=on)
    return row.object_id


def undo(report: int, *, by: models.User, on: dt.date) -> int | None:
    """Take a report back; a unit that came with it leaves the file again, as an install does. Return the site or None.

    Photos of such a unit stay with the site.
    """
    with transaction.atomic():
        row = models.UnitReport.objects.select_for_update().select_related("unit__system").filter(pk=report).first()
        if row is None:
            raise Refused("This was taken back already.")
        if row.settled_on is not None:
            raise Refused("The office has settled this already. Ask the office to change it.")
        unit, site = row.unit, row.unit.system.site_id
        if row.kind == "not there":
            _note(unit, "not there", row.said or "yes", "", by=by, why="taken back")
            row.delete()
            return site
        if unit.load_id is None:
            raise Refused("This unit is one with another by now. Take the merge apart first.")
        models.Document.objects.filter(unit=unit, failure=None, claim=None).update(unit=None, site=site)
        undo_install.undo_install(unit.load_id, by=by, on=on)
    return site


def _note(unit: models.Unit, what: str, before: Any, after: Any, *, by: models.User, why: str = "") -> None:
    log = Log(by=by)
    log.note(None, unit, what, before, after, why=why[:300])
    log.write()
