"""Write-ups as they can be read afterward, and the last ones of a site."""

import datetime as dt
from collections.abc import Iterable, Mapping
from uuid import UUID, uuid5

from django.db.models import Case, Value, When

from fleet import models
from fleet.care.facts.write_ups import photos_arrived
from fleet.care.pages import write_ups as pages
from fleet.care.queries.stops import dirt, reading_words
from fleet.claims.queries.failures import air_change
from fleet.elements.named import as_it_stands, link, local_moment, what
from fleet.facts.care import care_sheet
from fleet.rules import readings
from fleet.rules.caresheet import CareSheet, title_of
from fleet.rules.dates import in_words
from fleet.rules.wording import care, signatures
from fleet.rules.wording import readings as wording
from fleet.rules.wording.names import failed

_SHOWN = 5


def page(pk: int, *, on: dt.date) -> pages.WriteUpPage | None:
    """The page of a write-up; None if there is none."""
    write_ups = models.WriteUp.objects.select_related("site__customer", "by", "taken_back_by")
    row = write_ups.filter(pk=pk).first()
    if row is None:
        return None
    announced = {str(one.get("digest")) for one in row.content.get("photos") or ()}
    arrived = photos_arrived(row).filter(sent_digest__in=announced) if announced else None
    records = list(row.records.select_related("unit"))
    measured = list(row.readings.select_related("unit"))
    units = {one.unit_id: one.unit for one in records} | {one.unit_id: one.unit for one in measured}
    sheet = care_sheet()
    following = _following(row.site_id)
    return pages.WriteUpPage(
        pk=pk,
        site=row.site_id,
        name=row.site.name,
        customer=row.site.customer.name,
        on=row.on,
        technician=row.technician,
        by="" if row.by is None else str(row.by),
        sent_by=row.by_id,
        minutes=row.minutes,
        notes=row.notes,
        booked=row.booking_id is not None,
        units=tuple(
            _unit(
                unit,
                [one for one in records if one.unit_id == unit.pk],
                [one for one in measured if one.unit_id == unit.pk],
                sheet,
                following,
                on=on,
            )
            for unit in sorted(units.values(), key=as_it_stands)
        ),
        failures=tuple(
            pages.Failed(
                one.pk,
                f"{failed(one.component)}, {_named(one.unit)}",
                repaired=one.repaired_on is not None,
                voided=one.voided_on is not None,
            )
            for one in row.failures.select_related("unit")
        ),
        refrigerant=tuple(
            f"{one.refrigerant}: {one.ounces.normalize():f} oz {one.move}, {one.who}"
            for one in row.refrigerant_entries.all()
        ),
        taken_back=_taken_back(row),
        checks=tuple(
            pages.Check(one.pk, one.why, one.said, one.settled_on, one.settled_how, str(one.settled_by or ""))
            for one in row.checks.select_related("settled_by")
        ),
        photos=len(announced),
        photos_arrived=0 if arrived is None else arrived.values("sent_digest").distinct().count(),
        captured_at="" if row.captured_at is None else local_moment(row.captured_at),
        clock_ahead=care.clock_ahead(row.clock_ahead or 0),
        signed=_signed(row),
    )


def _signed(row: models.WriteUp) -> pages.Signed | None:
    signed = models.Signature.objects.filter(write_up=row).first()
    if signed is None:
        return None
    # A dot is a line from a point to itself, else nothing of it is drawn.
    strokes = (stroke if " " in stroke else f"{stroke} {stroke}" for stroke in signed.strokes.split(";") if stroke)
    return pages.Signed(signatures.signed(signed.name, signed.unsigned), signed.name, tuple(strokes))


def _taken_back(row: models.WriteUp) -> pages.TakenBack | None:
    if row.taken_back_on is None:
        return None
    # What stood on file is in the log, as it stood when it was taken back.
    gone = models.Change.objects.filter(table="writeup", object_id=row.pk, after="").order_by("pk")
    said = tuple(gone.values_list("before", flat=True))
    _, after = _written_anew(row.key)
    anew = None if after is None else (after.pk, after.on)
    return pages.TakenBack(row.taken_back_on, str(row.taken_back_by), row.taken_back_why, said, anew)


def _written_anew(key: UUID) -> tuple[UUID, models.WriteUp | None]:
    """The key under which a write-up is written anew, and the one that is on file under it.

    It follows from the key of the one taken back, so that two who write it anew at once write it once.
    """
    after = uuid5(key, "written anew")
    written = models.WriteUp.objects.filter(key=after).defer("content").first()
    if written is not None and written.taken_back_on is not None:
        return _written_anew(after)
    return after, written


def anew(pk: int, *, site: int) -> pages.Anew | None:
    """What was sent of a write-up that was taken back; None if there is none at the site."""
    undone = models.WriteUp.objects.select_related("booking").exclude(taken_back_on=None)
    row = undone.filter(pk=pk, site=site).first()
    if row is None:
        return None
    booked = row.booking is not None and row.booking.state == "booked"
    key, written = _written_anew(row.key)
    return pages.Anew(
        key=key,
        written=None if written is None else written.pk,
        content=row.content,
        booking=row.booking_id if booked else None,
        on=row.on,
        why=row.taken_back_why,
    )


def _named(unit: models.Unit) -> str:
    return unit.room or f"{what(unit)} {unit.serial}".strip()


def _following(site: int) -> Mapping[str, list[tuple[dt.date, list[int]]]]:
    """The days on which tasks are due at a site, by task, each with the units it is for."""
    days_of: dict[str, list[tuple[dt.date, list[int]]]] = {}
    for task, day, units in models.DueRow.objects.filter(site=site).values_list("task", "due_on", "units"):
        days_of.setdefault(task, []).append((day, units))
    return days_of


def _unit(
    unit: models.Unit,
    records: Iterable[models.MaintenanceRecord],
    measured: Iterable[models.Reading],
    sheet: CareSheet | None,
    following: Mapping[str, list[tuple[dt.date, list[int]]]],
    *,
    on: dt.date,
) -> pages.OfUnit:
    records, measured = list(records), list(measured)
    return pages.OfUnit(
        unit=link(unit),
        name=_named(unit),
        done=tuple(
            pages.Next(title_of(one.task, sheet), _next(one.task, unit.pk, following, on=on))
            for one in records
            if one.task and not one.skipped
        ),
        skipped=tuple(_skipped(one, sheet) for one in records if one.skipped),
        dirt=tuple(dirt(records)),
        readings=tuple(reading_words(one) for one in measured),
        warnings=(*(text for one in measured for text in _warnings(one, unit)), *air_change(measured, unit)),
        notes=tuple(one.notes for one in records if one.notes),
    )


def _next(task: str, unit: int, following: Mapping[str, list[tuple[dt.date, list[int]]]], *, on: dt.date) -> str:
    days = following.get(task, [])
    day = min([day for day, units in days if unit in units] or [day for day, _ in days], default=None)
    return "" if day is None else care.following(day, on=on)


def _skipped(row: models.MaintenanceRecord, sheet: CareSheet | None) -> str:
    until = f", not before {in_words(row.not_before)}" if row.not_before is not None else ""
    return f"{title_of(row.task, sheet)}: {row.skip_reason}{until}"


def _warnings(row: models.Reading, unit: models.Unit) -> Iterable[str]:
    of = readings.Measured(row.measure, row.on, unit.role, unit.plate_amps)
    for warning in readings.warnings(row.reading, row.value, of):
        yield f"{wording.named(row.reading).capitalize()}: {wording.out_of_band(warning)}"


def of_site(pk: int, *, on: dt.date) -> pages.OfSite:
    """The next visits booked at a site and its last write-ups, each with its day and who goes or was there: by one question."""
    person = [f"technician__{name}" for name in ("first_name", "last_name", "username")]
    state = Case(When(taken_back_on=None, then=Value("standing")), default=Value("taken back"))
    booked = models.Booking.objects.filter(site=pk, state="booked", on__gte=on).order_by()
    written = models.WriteUp.objects.filter(site=pk).order_by()
    rows = written.values_list(state, "on", "pk", "technician", Value(""), Value("")).union(
        booked.values_list(Value("booked"), "on", "pk", *person), all=True
    )
    found: dict[str, list[tuple[int, dt.date, str]]] = {"booked": [], "standing": [], "taken back": []}
    for kind, day, key, first, last, login in sorted(rows, key=lambda row: row[1:3]):
        found[kind].append((key, day, f"{first or ''} {last or ''}".strip() or login or ""))
    return pages.OfSite(
        booked=tuple(found["booked"][:_SHOWN]),
        written=_newest(found["standing"]),
        taken_back=_newest(found["taken back"]),
    )


def _newest(rows: list[tuple[int, dt.date, str]]) -> tuple[tuple[int, str], ...]:
    return tuple((key, f"{in_words(day)}, {who}") for key, day, who in reversed(rows[-_SHOWN:]))
