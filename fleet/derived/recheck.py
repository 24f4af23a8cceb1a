"""Everything worked out again from the facts and held against what is kept."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from fleet import models
from fleet.derived import apart, recheck_claims
from fleet.derived import rows as kept
from fleet.facts import TermsBook, care, fleet_facts, terms_on_file
from fleet.rules.caresheet import CareSheet

CHUNK = 500
_KEPT = (
    (models.HoldingRow, kept.HoldingValues),
    (models.CoverageRow, kept.CoverageValues),
    (models.FactRow, kept.FactValues),
    (models.DueRow, kept.DueValues),
)


@dataclass(frozen=True, slots=True)
class Difference:
    """One kept row that is not what the facts give: which, what is kept (None: nothing), what it should be (None: nothing)."""

    unit: str
    row: str
    kept: str | None
    worked_out: str | None

    def __str__(self) -> str:
        return f"{self.unit}: {self.row}: kept {self.kept or 'nothing'}, worked out {self.worked_out or 'nothing'}"


def differences(*, on: dt.date) -> Iterator[Difference]:
    """Report each row that differs, unit by unit; bounded memory whatever the fleet's size."""
    for name, kept_street, street in apart.differences():
        yield Difference(name, "street that tells it apart", kept_street, street)
    book, sheet = terms_on_file(), care.care_sheet()
    last = 0
    while ids := list(models.Unit.objects.filter(pk__gt=last).order_by("pk").values_list("pk", flat=True)[:CHUNK]):
        last = ids[-1]
        yield from _chunk(ids, book, sheet, on=on)


def _chunk(ids: list[int], book: TermsBook, sheet: CareSheet | None, *, on: dt.date) -> Iterator[Difference]:
    systems = models.Place.objects.filter(unit__in=ids).values_list("system_id", flat=True).distinct()
    cared = kept.cared(systems, sheet, on=on)
    told = fleet_facts(models.Unit.objects.filter(pk__in=ids), book, cared.systems, sheet)
    aside = kept.set_aside(told.values())
    have: dict[int, dict[str, kept.KeptValues]] = {pk: {} for pk in ids}
    want: dict[int, dict[str, kept.KeptValues]] = {pk: {} for pk in ids}
    for model, values in _KEPT:
        for columns in model.objects.filter(unit__in=ids).values_list(*values._fields):
            row = values(*columns)
            have[row.unit_id][_name(row)] = row
    for due in cared.dues:
        if due.unit_id in want:
            want[due.unit_id][_name(due)] = due
    for pk, unit in told.items():
        for row in kept.rows(unit, book, on=on, without_start=cared.without_start, aside=aside):
            want[pk][_name(row)] = row
        for name in sorted(set(want[pk]) | set(have[pk])):
            if want[pk].get(name) != have[pk].get(name):
                yield Difference(str(unit.row), name, _text(have[pk].get(name)), _text(want[pk].get(name)))
        yield from _place(unit.row)
    yield from (Difference(*found) for found in recheck_claims.differences(told, book, on=on))


def _name(row: kept.KeptValues) -> str:
    if isinstance(row, kept.HoldingValues):
        return f"holding of terms {row.terms_id}"
    if isinstance(row, kept.FactValues):
        return f"{row.fact} wanted{'' if row.site_id is None else f' of site {row.site_id}'}"
    if isinstance(row, kept.DueValues):
        return f"due of {row.task}"
    return f"{row.kind} under terms {row.terms_id} for {row.components}"


def _text(row: kept.KeptValues | None) -> str | None:
    return None if row is None else ", ".join(f"{name}={value}" for name, value in row._asdict().items())


def _place(row: models.Unit) -> Iterator[Difference]:
    """The system a unit points at must be the one of its latest place."""
    places = list(row.places.all())
    latest = places[-1].system_id if places else None
    if latest != row.system_id:
        yield Difference(str(row), "system", str(row.system_id), str(latest))
