"""Setting aside a missing fact that nobody can know any more, and bringing it back. What hangs on it stays open."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.coverage.pages.missing_facts import TITLES
from fleet.derived import refresh
from fleet.log import Log
from fleet.refusals import Conflict
from fleet.rules.missing_facts import FACTS, SITE_FACTS

# How the log of changes names it.
FIELD = "nobody_knows"


def put(*, fact: str, unit: int, site: int | None, note: str = "", by: models.User | None, on: dt.date) -> int:
    """Set a fact of a unit aside, or of a site for every unit that it is missing for; its key."""
    if fact not in FACTS or (fact in SITE_FACTS) != (site is not None):
        raise KeyError(f"not a fact that can be set aside: {fact}")
    with transaction.atomic():
        rows = models.FactRow.objects.filter(fact=fact)
        rows = rows.filter(unit=unit, site=None) if site is None else rows.filter(site=site)
        missing = rows.order_by("pk").first()
        if missing is None:
            raise Conflict("Somebody filled it in or set it aside meanwhile.", fact)
        row = models.SetAside(
            unit_id=unit if site is None else None,
            site_id=site,
            fact=fact,
            first_on=missing.first_on,
            set_aside_on=on,
            note=note.strip(),
            by=by,
        )
        row.full_clean(exclude=["unit", "site", "first_on", "by"])
        row.save()
        _log(row, "", TITLES[fact], by=by, why=row.note)
        refresh.refresh(_units(row), on=on)
        return row.pk


def bring_back(*, pk: int, by: models.User | None, on: dt.date) -> None:
    """List a fact again that was set aside; where it was set aside twice, both times."""
    with transaction.atomic():
        row = models.SetAside.objects.select_for_update(of=("self",)).get(pk=pk)
        units = _units(row)
        _log(row, TITLES[row.fact], "", by=by)
        models.SetAside.objects.filter(
            unit=row.unit_id, site=row.site_id, fact=row.fact, first_on=row.first_on
        ).delete()
        refresh.refresh(units, on=on)


def _units(row: models.SetAside) -> list[int]:
    """The units whose missing facts it bears on: the one, or all that stand or stood at the site."""
    if row.unit_id is not None:
        return [row.unit_id]
    there = models.Unit.objects.filter(places__system__site=row.site_id)
    return sorted(set(there.values_list("pk", flat=True)))


def _log(row: models.SetAside, before: str, after: str, *, by: models.User | None, why: str = "") -> None:
    log = Log(by=by)
    thing = row.site if row.unit is None else row.unit
    assert thing is not None
    log.note(None, thing, FIELD, before, after, why=why)
    log.write()
