"""What happened to a unit, newest first, in words; and the same as marks for its life line."""

import datetime as dt
from collections.abc import Iterator
from itertools import groupby, pairwise

from django.db.models import Q

from fleet import models
from fleet.elements.named import local_day
from fleet.facts import TermsBook, Told
from fleet.front.pages.lifeline_drawing import Event
from fleet.front.pages.units import Entry
from fleet.rules.caresheet import CareSheet, title_of
from fleet.rules.dates import in_words
from fleet.rules.wording.changes import value_or_blank
from fleet.rules.wording.names import CAUSES, failed, upper
from fleet.rules.wording.readings import named

# Fields whose change stands in the history as a move, an exchange or a removal, or beside what was voided.
_TOLD_ALREADY = (
    "system",
    "removed_on",
    "removal_reason",
    "replaced_on",
    "joined_on",
    "took_over_from",
    "voided_on",
    "swapped",
)
# Of several things on one day, what came of the others stands above them.
_ORDER = ("correction", "paper", "maintenance", "failure", "change", "date")


def entries(told: Told, book: TermsBook, sheet: CareSheet | None) -> tuple[Entry, ...]:
    """List everything on file that has a day, newest first."""
    row = told.row
    titles = {pk: book.by_code[code].title for code, pk in book.pks.items()}
    found = [
        *_dates(row),
        *map(_failure, row.failures.all()),
        *(_maintenance(record, sheet) for record in row.records.all()),
        *_measured(row),
        *_changes(told),
        *_idle(row),
        *_papers(row, titles),
        *_corrections(row),
    ]
    return tuple(sorted(found, key=lambda entry: (-entry.day.toordinal(), _ORDER.index(entry.sort))))


def events(told: Told, sheet: CareSheet | None) -> tuple[Event, ...]:
    """List the marks of the life line; of maintenance, whatever counts for it: of one it took over from, of its system."""
    done = {
        record.done_on: title_of(record.task, sheet) or "maintenance"
        for record in told.row.records.all()
        if not record.skipped
    }
    earlier = {day: "maintenance" for day in told.unit.maintained_on if day not in done}
    return (
        *(
            Event("failure", failure.failed_on, failed(failure.component))
            for failure in told.row.failures.all()
            if failure.voided_on is None
        ),
        *(Event("maintenance", day, task) for day, task in sorted((done | earlier).items())),
        *(Event("change", entry.day, entry.words) for entry in _changes(told)),
    )


def last_visit(row: models.Unit, sheet: CareSheet | None) -> Entry | None:
    """The last day on which somebody worked on the unit, with what they did and who it was; what the customer does is no visit."""
    works: dict[dt.date, list[tuple[str, str]]] = {}
    for record in row.records.all():
        task = None if sheet is None else sheet.task(record.task)
        if not record.skipped and (record.technician or (task is not None and task.by == "technician")):
            works.setdefault(record.done_on, []).append(
                (title_of(record.task, sheet) or "maintenance", record.technician)
            )
    for failure in row.failures.all():
        if failure.voided_on is None and failure.repaired_on is not None:
            works.setdefault(failure.repaired_on, []).append(("repair", failure.technician))
    if not works:
        return None
    day = max(works)
    done = ", ".join(dict.fromkeys(upper(words) for words, _ in works[day]))
    return Entry(day, "visit", done, tuple(dict.fromkeys(name for _, name in works[day] if name)))


def _dates(row: models.Unit) -> Iterator[Entry]:
    for day, words in ((row.started_on, "Started"), (row.installed_on, "Installed"), (row.purchased_on, "Purchased")):
        if day is not None:
            yield Entry(day, "date", words)


def _failure(failure: models.Failure) -> Entry:
    cause = f": {CAUSES.get(failure.cause, failure.cause)}" if failure.cause else ""
    details = [
        "" if failure.repaired_on is None else f"Repaired on {in_words(failure.repaired_on)}",
        "" if failure.part_taken_on is None else f"New part picked up on {in_words(failure.part_taken_on)}",
        failure.leak_at and f"Leak: {failure.leak_at}",
        failure.fault_code and f"Fault code {failure.fault_code}",
        failure.new_serial and f"The whole unit was exchanged for {failure.new_serial}",
        _part("Old part", failure.part_number, failure.part_serial),
        _part("New part", failure.new_part_number, failure.new_part_serial),
        "" if failure.parts_cost is None else f"Parts cost ${failure.parts_cost:,.2f}",
        _labor(failure.labor_minutes),
        failure.technician,
        failure.notes,
    ]
    voided = "" if failure.voided_on is None else f"Voided on {in_words(failure.voided_on)}: {failure.void_reason}"
    words = (
        f"{upper(failure.component)} failed{cause}" if failure.component else f"Failure, component not known yet{cause}"
    )
    return Entry(failure.failed_on, "failure", words, _said(details), failure.pk, voided)


def _part(name: str, number: str, serial: str) -> str:
    return f"{name} {', serial '.join(filter(None, (number, serial)))}" if number or serial else ""


def _maintenance(record: models.MaintenanceRecord, sheet: CareSheet | None) -> Entry:
    task = title_of(record.task, sheet) or "maintenance"
    details = [
        "" if record.dirt_wheel is None else f"Dirt on the wheel {record.dirt_wheel} of 3",
        "" if record.dirt_coil is None else f"Dirt on the coil {record.dirt_coil} of 3",
        "" if record.not_before is None else f"Not before {in_words(record.not_before)}",
        _labor(record.labor_minutes),
        record.technician,
        record.notes,
    ]
    words = f"Skipped: {task}" if record.skipped else f"Done: {task}" if record.task else "Maintenance done"
    return Entry(record.done_on, "maintenance", words, _said(details))


def _measured(row: models.Unit) -> Iterator[Entry]:
    """What was measured on a visit, day by day."""
    readings = row.readings.filter(start_up=False, failure=None).order_by("on", "pk")
    for day, rows in groupby(readings, key=lambda reading: reading.on):
        words = [f"{named(one.reading)} {one.value.normalize():f} {one.measure}" for one in rows]
        yield Entry(day, "maintenance", "Measured", tuple(upper(text) for text in words))


def _idle(row: models.Unit) -> Iterator[Entry]:
    for idle in row.idles.all():
        yield Entry(idle.idle_on, "change", "Out of use")
        if idle.back_on is not None:
            yield Entry(idle.back_on, "change", "Back in use")


def _changes(told: Told) -> Iterator[Entry]:
    """List where it went and what became of it: moves, sales of the house, exchanges."""
    row = told.row
    for before, after in pairwise(row.places.all()):
        if after.joined_on is not None:
            yield Entry(after.joined_on, "change", _moved(before.system, after.system))
    for day in _sold_on(told):
        yield Entry(day, "change", "House sold")
    if row.replaced_on is not None:
        yield Entry(row.replaced_on, "change", f"Replaced {row.took_over_from} under warranty")
    if row.removed_on is not None:
        successor = getattr(row, "taken_over_by", None)
        went = "Exchanged" if row.removal_reason == "exchanged" else "Removed"
        yield Entry(row.removed_on, "change", f"{went} for {successor}" if successor else went)


def _moved(before: models.System, after: models.System) -> str:
    if before.site_id == after.site_id:
        return f"Moved from the system {before.name} to {after.name}"
    return f"Moved from {before.site.name}, {before.name} to {after.site.name}, {after.name}"


def _sold_on(told: Told) -> list[dt.date]:
    """List the sales of the house while the unit stood there; a new house's closing is no sale."""
    found = set()
    stays = told.unit.stays
    for number, stay in enumerate(stays):
        left_on = stays[number + 1].first if number + 1 < len(stays) else None
        for day in stay.site.sold_on:
            there = (stay.first is None or stay.first <= day) and (left_on is None or day < left_on)
            if there and (stay.site.closed_on is None or day > stay.site.closed_on):
                found.add(day)
    return sorted(found)


def _papers(row: models.Unit, titles: dict[int, str]) -> Iterator[Entry]:
    """List what payers were told and what was bought."""
    for told in row.registrations.all():
        number = told.number and f"Number {told.number}"
        if told.registered_on is not None:
            yield Entry(told.registered_on, "paper", f"Registered: {_whose(told.terms_id, titles)}", _said([number]))
        if told.accepted_late_on is not None:
            words = f"Late registration accepted in writing: {_whose(told.terms_id, titles)}"
            yield Entry(told.accepted_late_on, "paper", words, _said([number]))
    for notice in row.notices.all():
        words = f"Payer notified of the sale: {_whose(notice.terms_id, titles)}"
        yield Entry(notice.notified_on, "paper", words, _said([notice.number and f"Number {notice.number}"]))
    for bought in row.attachments.all():
        if bought.attached_on is not None:
            words = f"Bought or promised: {titles[bought.terms_id]}"
            yield Entry(bought.attached_on, "paper", words, _said([bought.number and f"Number {bought.number}"]))


def _whose(terms_pk: int | None, titles: dict[int, str]) -> str:
    return "all manufacturers" if terms_pk is None else titles[terms_pk]


def _corrections(row: models.Unit) -> Iterator[Entry]:
    """List the facts of this unit, and of what was told of it, that were changed after they were first told."""
    of_it = {
        "unit": [row],
        "registration": row.registrations.all(),
        "failure": row.failures.all(),
        "maintenancerecord": row.records.all(),
    }
    mine = Q(
        *(Q(table=table, object_id__in=[one.pk for one in rows]) for table, rows in of_it.items()), _connector=Q.OR
    )
    changes = models.Change.objects.filter(mine).exclude(field__in=_TOLD_ALREADY)
    for change in changes.select_related("by", "load").order_by("-at", "-pk"):
        by = f"By {change.by}" if change.by else "By the command line"
        came_with = f"From {change.load.name}" if change.load and change.load.name else ""
        yield Entry(local_day(change.at), "correction", _changed(change), _said([by, _why(change), came_with]))


_WHERE = {"failure": " of a failure", "maintenancerecord": " of a maintenance record"}


def _changed(change: models.Change) -> str:
    """What changed, in words: a blank that was filled, or one value for another."""
    if change.field in models.office.DOCUMENT_KINDS:
        what = "Photo" if change.field == "photo" else "Paper"
        return (
            f"{what} removed: {change.before}" if change.before else f"{what} {change.why or 'added'}: {change.after}"
        )
    if change.field == "taken_back":
        return f"Undone: {change.before}"
    name = change.field.removesuffix("_on").replace("_", " ") + _WHERE.get(change.table, "")
    if not change.before:
        return f"Filled in {name}: {value_or_blank(change.after)}"
    return f"Corrected {name}: {value_or_blank(change.before)} to {value_or_blank(change.after)}"


def _why(change: models.Change) -> str:
    """The reason for a change, blank where the words of the change include it."""
    return "" if change.field in models.office.DOCUMENT_KINDS else change.why


def _labor(minutes: int | None) -> str:
    if minutes is None:
        return ""
    hours, rest = divmod(minutes, 60)
    return "Labor " + " ".join(
        filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else ""))
    )


def _said(details: list[str]) -> tuple[str, ...]:
    return tuple(detail for detail in details if detail)
