"""What goes out with a claim: the paper with everything that proves it, and the tag on its old part."""

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

from django.conf import settings
from django.db.models import Q

from fleet import models
from fleet.claims.pages.claim_paper import ClaimPaper, Photo, ReturnTag, Section
from fleet.derived import claim_rows
from fleet.elements.named import address, what
from fleet.facts import Told, fleet_facts, terms_on_file
from fleet.facts.care import care_sheet
from fleet.facts.company import account_with
from fleet.facts.failures import job_of
from fleet.facts.house import house
from fleet.rules import clocks, wording
from fleet.rules.caresheet import title_of
from fleet.rules.company import Company
from fleet.rules.dates import in_words
from fleet.rules.facts import Holding
from fleet.rules.findings import Result
from fleet.rules.money import Credit, Standing
from fleet.rules.readings import OUNCES_A_POUND
from fleet.rules.terms import Terms
from fleet.rules.wording.money import credit_for, dollars
from fleet.rules.wording.names import CAUSES, source, upper

# A payer wants to see the part and its plate, not a film of the job.
MOST_PHOTOS = 24
_DATES = (
    ("purchased_on", "Purchased"),
    ("installed_on", "Installed"),
    ("started_on", "Started"),
    ("manufactured_on", "Manufactured"),
)
_KINDS = {"parts": "Parts", "labor": "Labor", "refrigerant": "Refrigerant", "freight": "Freight"}
Facts = Iterator[tuple[str, str]]


def paper(pk: int, *, company: Company) -> ClaimPaper | None:
    """The paper of a claim; None if there is none.

    It is asked on the day the claim was filed, or opened while it is not: another day of printing changes nothing.
    """
    claim = _claim(pk)
    if claim is None:
        return None
    failure, unit = claim.failure, claim.failure.unit
    book = terms_on_file()
    told = fleet_facts(models.Unit.objects.filter(pk=unit.pk), book)[unit.pk]
    asked = claim.filed_on or claim.opened_on
    promise = next(
        (one for one in claim_rows.promises(told, failure, book, asked=asked) if one.terms_id == claim.terms_id), None
    )
    terms = book.by_code[book.codes[claim.terms_id]]
    job = job_of(failure, failure.refrigerant_entries.all(), house())
    credit = claim_rows.credit_of(claim, terms, promise.answers if promise else (), job)
    holding = next((one for one in told.holdings if one.terms.code == terms.code), None)
    documents = list(
        models.Document.objects.filter(Q(claim=claim) | Q(failure=failure), dropped_on=None).order_by("pk").distinct()
    )
    found = (
        Section("The unit", facts=tuple(_unit(unit))),
        Section("Dates and registration", facts=(*_dates(told, unit), *_registration(holding))),
        Section("What failed", facts=tuple(_failure(failure))),
        Section("The repair", facts=tuple(_repair(claim, failure))),
        _readings(failure),
        Section("Why your terms cover it", lines=tuple(_why(claim, promise, terms_source(terms), failure))),
        _money(claim, credit),
        _maintenance(unit, failure),
        Section("Enclosed", lines=tuple(_enclosed(documents))),
    )
    return ClaimPaper(
        sender=company,
        payer=claim.payer_name,
        title=terms.title,
        number=str(claim.pk),
        reference=claim.reference,
        about=f"{failure.component}, {unit.maker} {unit.model} {unit.serial}".strip(),
        sections=tuple(section for section in found if section.facts or section.rows or section.lines),
        photos=tuple(_photos(documents)),
        filename=f"claim-{claim.pk}.pdf",
        account=account_with(claim.payer_name),
    )


def tag(pk: int, *, company: Company, address_of: Callable[[int], str]) -> ReturnTag | None:
    """The return tag of a claim's old part; `address_of` makes the address that its code opens."""
    claim = _claim(pk)
    if claim is None:
        return None
    failure, unit = claim.failure, claim.failure.unit
    terms = terms_on_file()
    found = claim_rows.clocks_of(failure, claim, terms.by_code[terms.codes[claim.terms_id]], asked=claim.opened_on)
    back = next((one.last for one in found if one.kind is clocks.ClockKind.PART_BACK), None)
    facts = (
        ("Old part", _with_serial(failure.part_number, failure.part_serial)),
        ("New part", _with_serial(failure.new_part_number, failure.new_part_serial)),
        ("From unit", f"{unit.maker} {unit.model}" + (f", serial {unit.serial}" if unit.serial else "")),
        ("Customer", _reached(unit.system.site.customer)),
        ("Failed on", in_words(failure.failed_on)),
        ("Cause", CAUSES.get(failure.cause, failure.cause)),
        ("Return by", _day(back)),
        ("Approval number", claim.approval_number),
        ("Sent with", claim.carrier),
        ("Our purchase order", failure.purchase_order),
        ("Supplier’s invoice", failure.invoice),
    )
    return ReturnTag(
        sender=company,
        to=claim.supplier.name if claim.supplier else claim.payer_name,
        number=str(claim.pk),
        reference=claim.reference,
        part=upper(failure.component),
        facts=tuple((name, value) for name, value in facts if value),
        address=address_of(pk),
        filename=f"return-tag-{claim.pk}.pdf",
        account="" if claim.supplier else account_with(claim.payer_name),
    )


def terms_source(terms: Terms) -> str:
    """The payer's paper, with its page, from which the terms are read."""
    return source(terms.source_title, terms.source_page)


def _claim(pk: int) -> models.Claim | None:
    rows = models.Claim.objects.select_related(
        "failure__unit__system__site__customer", "failure__supplier", "supplier", "terms"
    )
    return rows.prefetch_related(
        "clock_notes", "failure__readings", "failure__refrigerant_entries"
    ).filter(pk=pk).first()  # fmt: skip


def _unit(row: models.Unit) -> Facts:
    site = row.system.site
    yield "Manufacturer and model", f"{row.maker} {row.model}"
    yield "Serial", row.serial or "not readable"
    yield "What it is", ", ".join(filter(None, (what(row), row.room, row.system.name)))
    yield "Customer", _reached(site.customer)
    yield "Place", "\n".join(filter(None, (site.name, address(site))))


def _dates(told: Told, row: models.Unit) -> Facts:
    """List the dates that count for the unit: those of the one it took over from, if it did."""
    for name, words in _DATES:
        day = getattr(told.unit, name)
        if day is not None:
            yield words, in_words(day)
    if told.unit.first_site.closed_on is not None:
        yield "House closed", in_words(told.unit.first_site.closed_on)
    if row.replaced_on is not None:
        yield "Replaced another unit on", in_words(row.replaced_on)


def _registration(holding: Holding | None) -> Facts:
    if holding is None:
        return
    if holding.registered_on is not None:
        yield "Registered", in_words(holding.registered_on)
    if holding.registration_number:
        yield "Registration number", holding.registration_number
    if holding.accepted_late:
        yield "Registration", "accepted late in writing"


def _failure(row: models.Failure) -> Facts:
    yield "Component", row.component
    yield "Failed on", in_words(row.failed_on)
    if row.cause:
        yield "Cause", CAUSES.get(row.cause, row.cause)
    if row.leak_at:
        yield "Where the leak was", row.leak_at
    if row.fault_code:
        yield "Fault code", row.fault_code
    if row.found_by:
        yield "Found by", row.found_by
    if row.notes:
        yield "What was found", row.notes


def _repair(claim: models.Claim, row: models.Failure) -> Facts:
    told = (
        ("Prior approval received on", _day(claim.approved_on)),
        ("Approval number", claim.approval_number),
        ("Repaired on", _day(row.repaired_on)),
        ("New part picked up on", _day(row.part_taken_on)),
        ("Old part", _with_serial(row.part_number, row.part_serial)),
        ("New part", _with_serial(row.new_part_number, row.new_part_serial)),
        ("Serial of the new unit", row.new_serial),
        ("Supplier", row.supplier.name if row.supplier else ""),
        ("Our purchase order", row.purchase_order),
        ("Supplier’s invoice", row.invoice),
        ("Labor", _hours(row.labor_minutes)),
        ("Technician", row.technician),
    )
    yield from ((name, value) for name, value in told if value)
    for entry in row.refrigerant_entries.all():
        pounds = f"{_plain(round(entry.ounces / OUNCES_A_POUND, 2))} lb ({_plain(entry.ounces)} oz)"
        cylinder = f"cylinder {entry.cylinder}" if entry.cylinder else ""
        who = " ".join(filter(None, (entry.who, f"(certificate {entry.certificate})" if entry.certificate else "")))
        yield (
            f"Refrigerant {entry.move}",
            ", ".join(filter(None, (f"{pounds} of {entry.refrigerant}", in_words(entry.on), cylinder, who))),
        )
    if claim.part_back_on is not None:
        yield "Old part returned", ", ".join(filter(None, (in_words(claim.part_back_on), claim.carrier)))


def _readings(row: models.Failure) -> Section:
    rows = []
    for reading in row.readings.all():
        running = f"after {reading.minutes_running} min" if reading.minutes_running is not None else ""
        how = ", ".join(filter(None, (reading.mode, reading.fan and f"fan {reading.fan}", running)))
        value = f"{_plain(reading.value)} {reading.measure}"
        rows.append((upper(reading.reading), value, how, in_words(reading.on), reading.note))
    return Section("Readings", columns=("Reading", "Value", "How it ran", "Date", "Note"), rows=tuple(rows))


def _why(
    claim: models.Claim, promise: claim_rows.Promise | None, source: str, failure: models.Failure
) -> Iterator[str]:
    """What the terms say of each kind of cost asked for, with its reasons; or why it is asked all the same."""
    on, asked_for = failure.failed_on, claim_rows.kinds_of(claim)
    for answer in promise.answers if promise else ():
        if answer.kind in asked_for and answer.result is not Result.NOT_COVERED:
            reasons = " ".join(wording.sentence(reason, on=on) for reason in answer.reasons)
            yield f"{_KINDS[answer.kind]}: {wording.answer_line(answer, on=on)} {reasons}".strip()
    if promise is not None and promise.hopeful:
        yield f"By your terms: {source}."
    if claim.opened_because:
        yield claim.opened_because


def _money(claim: models.Claim, credit: Credit) -> Section:
    """List the lines that make up what is asked for; what was asked once it is filed, else what the terms come to."""
    counted = [line for line in credit.lines if line.standing in (Standing.COUNTS, Standing.PERHAPS)]
    asked = claim.asked or credit.possible
    if not counted and not asked:
        return Section("Amount claimed")
    rows = [(credit_for(line), dollars(line.amount)) for line in counted]
    if counted and asked != credit.possible:
        rows.append(("By the terms", dollars(credit.possible)))
    rows.append(("Amount claimed", dollars(asked)))
    return Section("Amount claimed", columns=("For", "Amount"), rows=tuple(rows), sums=True)


def _maintenance(unit: models.Unit, failure: models.Failure) -> Section:
    """List the upkeep on file up to the failure, on this unit and on those that it took over from; what was skipped as well."""
    units = [unit.pk]
    over = unit.took_over_from_id
    while over is not None:
        units.append(over)
        over = models.Unit.objects.values_list("took_over_from", flat=True).get(pk=over)
    records = models.MaintenanceRecord.objects.filter(unit__in=units, done_on__lte=failure.failed_on)
    sheet = care_sheet()
    rows = tuple(
        (in_words(row.done_on), title_of(row.task, sheet) or "maintenance", _done(row), row.technician)
        for row in records.order_by("done_on", "pk")
    )
    return Section("Maintenance on file", columns=("Date", "Task", "Done", "Technician"), rows=rows)


def _done(row: models.MaintenanceRecord) -> str:
    """Whether a task was done; of one that was skipped why."""
    if not row.skipped:
        return "yes"
    return f"skipped: {row.skip_reason}" if row.skip_reason else "skipped"


def _enclosed(documents: Sequence[models.Document]) -> Iterator[str]:
    for row in documents:
        if row.kind != "photo":
            yield ", for ".join(filter(None, (row.caption or row.name, row.given_for)))


def _photos(documents: Sequence[models.Document]) -> Iterator[Photo]:
    """Bring the photos of the failure and of the claim; one whose file is gone is left out."""
    for row in [row for row in documents if row.kind == "photo"][:MOST_PHOTOS]:
        try:
            content = (settings.MEDIA_ROOT / row.stored).read_bytes()
        except OSError:
            continue
        yield Photo(", ".join(dict.fromkeys(filter(None, (row.caption or row.name, row.given_for)))), content)


def _reached(customer: models.Customer) -> str:
    return ", ".join(filter(None, (customer.name, customer.phone)))


def _with_serial(number: str, serial: str) -> str:
    return ", ".join(filter(None, (number, serial and f"serial {serial}")))


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _hours(minutes: int | None) -> str:
    if minutes is None:
        return ""
    hours, rest = divmod(minutes, 60)
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "")))


def _day(day: dt.date | None) -> str:
    return "" if day is None else in_words(day)
