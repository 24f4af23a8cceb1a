"""Failures: what their form stands on, and the page of one."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation

from fleet import models
from fleet.claims.pages import failures as pages
from fleet.claims.queries import claims
from fleet.coverage.pages.answers import AnswerPart, Choices, NotKnown, Question, first_asked, usual
from fleet.coverage.queries import failing, possible
from fleet.derived import claim_rows
from fleet.elements.named import gone, link, local_moment
from fleet.elements.pieces import Fact
from fleet.facts import TermsBook, Told, fleet_facts, terms_on_file
from fleet.facts.failures import as_it_failed, job_of
from fleet.facts.house import house
from fleet.facts.matches import is_asked
from fleet.registry.queries import documents
from fleet.rules import money, readings, which_component, words
from fleet.rules.dates import in_words
from fleet.rules.readings import Move
from fleet.rules.wording import readings as reading_words
from fleet.rules.wording.changes import value_or_blank
from fleet.rules.wording.deadlines import say_which_by
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import upper
from fleet.sheets.columns import in_plain

_ABOVE = "system__site__customer"
# Roles of units that may be ductless, whose compressor, fans and valve all move.
_MAY_BE_INVERTER = ("outdoor", "head", "branch box")


# ------------------------------------------------------------------------------------------------- the form


def form_page(
    unit: int, *, on: dt.date, component: str = "", cause: str | None = None, day: dt.date | None = None
) -> pages.FormPage | None:
    """The page around a new failure's form; None if there is no such unit."""
    row = models.Unit.objects.select_related(_ABOVE).filter(pk=unit).first()
    return None if row is None else _form_page(row, on=on, component=component, cause=cause or "", day=day)


def edit_page(
    pk: int,
    fields: Sequence[str],
    *,
    on: dt.date,
    component: str = "",
    cause: str | None = None,
    day: dt.date | None = None,
) -> pages.FormPage | None:
    """The page around the form of a failure on file, each field as a file would write it; None if it is not there.

    A cause is asked about as it stands on file where the form has none (None).
    """
    failure = models.Failure.objects.select_related("supplier").filter(pk=pk).first()
    if failure is None:
        return None
    row = models.Unit.objects.select_related(_ABOVE).get(pk=failure.unit_id)
    found = _form_page(
        row,
        on=on,
        component=component or failure.component or which_component.NOT_KNOWN_YET,
        cause=failure.cause if cause is None else cause,
        day=day or failure.failed_on,
        failure=failure,
    )
    return replace(
        found,
        pk=pk,
        name=_title(failure),
        fields=tuple((field, in_plain(getattr(failure, field))) for field in fields),
        new_serial=failure.new_serial,
        readings=tuple(pages.Known(one.pk, _reading(one)) for one in failure.readings.all()),
        entries=tuple(pages.Known(one.pk, _entry(one)) for one in failure.refrigerant_entries.all()),
    )


def _form_page(
    row: models.Unit,
    *,
    on: dt.date,
    component: str,
    cause: str,
    day: dt.date | None,
    failure: models.Failure | None = None,
) -> pages.FormPage:
    site = row.system.site
    book = terms_on_file()
    told = fleet_facts([row], book)[row.pk]
    unknown = component == which_component.NOT_KNOWN_YET
    question = Question("" if unknown else component or first_asked(row.role), on=day or on, asked=on, cause=cause)
    return pages.FormPage(
        unit=link(row),
        where=f"{row.system.name}, {site.name}, {site.customer.name}",
        model=row.model,
        refrigerant=row.refrigerant,
        today=on,
        choices=_choices(row),
        suppliers=tuple(models.Supplier.objects.values_list("name", flat=True)[:500]),
        answer=None if unknown else _answer(told, book, question, failure),
        not_known=_not_known(told, book, question, failure) if unknown else None,
        gone=gone(row),
        asks_match=is_asked(row),
    )


def _choices(row: models.Unit) -> Choices:
    first = usual(row.role)
    return Choices(first, tuple(name for name in words.COMPONENTS if name not in first), words.CAUSES)


def _answer(told: Told, book: TermsBook, question: Question, failure: models.Failure | None) -> AnswerPart:
    if failure is not None:
        told = replace(told, unit=as_it_failed(told.unit, failure))
    return failing.part(told, book, question)


def _not_known(told: Told, book: TermsBook, question: Question, failure: models.Failure | None) -> NotKnown:
    """What is answered before it is known which component failed: each that may have failed keeps its own answer."""
    named = which_component.possible(told.row.role)
    by = None
    if failure is not None:
        by = claim_rows.say_by(told, failure, book, asked=question.asked)
        told = replace(told, unit=as_it_failed(told.unit, failure))
    days = {"on": question.on, "asked": question.asked}
    rows = possible.may_fail(told, named, cause=question.cause, **days)
    return NotKnown(
        possible.alike(rows),
        possible.before_anyone_goes_out(told, book, named, cause=question.cause, **days),
        by and say_which_by(by.last, claim_rows.payer_name(book.by_code[by.terms]), on=question.asked) or "",
    )


def warned(unit: int, measured: Iterable[Mapping[str, str]], *, on: dt.date) -> tuple[str, ...]:
    """What readings warn of as they are written, and what saving them would refuse; one that is no number yet says nothing."""
    row = models.Unit.objects.filter(pk=unit).first()
    measured = list(measured)
    found = [*air_change([_told(told) for told in measured], row)]
    for told in measured:
        try:
            value = Decimal(told.get("value", "").strip())
        except InvalidOperation:
            continue
        name = told.get("reading", "")
        if value.is_finite() and name in readings.READINGS:
            measure = told.get("measure", "").strip()
            said = _warnings(name, value, _of(row, measure, on))
            if (slip := readings.out_of_range(name, value, measure)) is not None:
                said = [f"wanted: {reading_words.slip(slip, told['value'].strip())}."]
            found += [f"{upper(reading_words.named(name))}: {text}" for text in said]
    return tuple(found)


def _told(told: Mapping[str, str]) -> models.Reading:
    """A reading as it is being written, not to be saved; without a value that can be read it has none."""
    try:
        value = Decimal(told.get("value", "").strip())
    except InvalidOperation:
        value = Decimal("NaN")
    name, measure = told.get("reading", ""), told.get("measure", "").strip()
    usual = readings.READINGS[name][0].unit if name in readings.READINGS else ""
    return models.Reading(reading=name, value=value, measure=measure or usual, mode=told.get("mode", ""))


def air_change(rows: Iterable[models.Reading], unit: models.Unit | None) -> Iterator[str]:
    """What the change between return and supply air warns of, of readings of one unit in one mode and measure."""
    if unit is None:
        return
    rows = [row for row in rows if row.value.is_finite()]
    for one in rows:
        for other in rows:
            pair = (one.reading, other.reading) == (readings.RETURN, readings.SUPPLY)
            if pair and (one.mode, one.measure) == (other.mode, other.measure):
                found = readings.air_change(one.value, other.value, measure=one.measure, mode=one.mode, role=unit.role)
                if found is not None:
                    yield reading_words.out_of_band(found)


def _of(row: models.Unit | None, measure: str, on: dt.date) -> readings.Measured:
    if row is None:
        return readings.Measured(measure, on)
    return readings.Measured(measure, on, row.role, row.plate_amps)


def _warnings(name: str, value: Decimal, of: readings.Measured) -> list[str]:
    return [reading_words.out_of_band(one) for one in readings.warnings(name, value, of)]


# ------------------------------------------------------------------------------------------------- one failure


def page(pk: int, *, on: dt.date) -> pages.FailurePage | None:
    """The page of a failure; None if there is none."""
    failure = (
        models.Failure.objects.with_claims()
        .select_related("by")
        .prefetch_related("readings", "answers__by")
        .filter(pk=pk)
        .first()
    )
    if failure is None:
        return None
    row = models.Unit.objects.select_related(_ABOVE).get(pk=failure.unit_id)
    book = terms_on_file()
    told = fleet_facts([row], book)[row.pk]
    site, rates = row.system.site, house()
    job = job_of(failure, failure.refrigerant_entries.all(), rates)
    question = Question(failure.component, failure.failed_on, on, failure.cause)
    answer = None
    if failure.component:
        answer = replace(_answer(told, book, question, failure), heading="By the terms on file, asked today")
        if failure.repaired_on is not None:
            answer = replace(answer, before=())
    changes = _changes(failure)
    return pages.FailurePage(
        pk=pk,
        unit=link(row),
        choices=_choices(row),
        customer_pk=site.customer_id,
        customer=site.customer.name,
        site_pk=site.pk,
        site=site.name,
        title=_title(failure),
        sentences=_sentences(failure),
        voided="" if failure.voided_on is None else f"Voided on {in_words(failure.voided_on)}: {failure.void_reason}",
        repaired=failure.repaired_on is not None,
        found=_found(failure),
        repair=_repair(failure),
        costs=_costs(job),
        cost=money.cost(job),
        rate_is_set=bool(rates.hourly_rate),
        readings=tuple(_measured(one, row) for one in [*failure.readings.all(), *_beside(failure)]),
        refrigerant=tuple(_entry(one) for one in failure.refrigerant_entries.all()),
        old_part_at=failure.old_part_at,
        has_old_part=bool(failure.repaired_on or failure.part_taken_on or failure.new_part_number),
        answer=answer,
        not_known=None if failure.component else _not_known(told, book, question, failure),
        said_later=_said_later(failure, changes),
        before=tuple(_answered(one) for one in failure.answers.all()),
        claims=claims.beside(told, failure, book, rates, on=on),
        papers=documents.of_failure(pk, unit=row.pk),
        changes=tuple(map(_changed, changes)),
    )


def _beside(failure: models.Failure) -> Iterable[models.Reading]:
    """What was measured on the unit by the write-up that found it."""
    if failure.write_up_id is None:
        return ()
    return models.Reading.objects.filter(write_up=failure.write_up_id, unit=failure.unit_id, failure=None)


def bills(
    pk: int,
) -> list[tuple[models.FailureBill, list[models.FailurePayment], Decimal]]:
    """The bills of a failure, the earliest first, each with its payments and what is still owed."""
    rows = models.FailureBill.objects.filter(failure=pk).prefetch_related("payments")
    found = []
    for row in rows:
        payments = list(row.payments.all())
        found.append((row, payments, row.amount - sum((one.amount for one in payments), Decimal(0))))
    return found


def _title(failure: models.Failure) -> str:
    if not failure.component:
        return f"Failure found on {in_words(failure.failed_on)}, component not known yet"
    return f"{upper(failure.component)} failed on {in_words(failure.failed_on)}"


def _sentences(failure: models.Failure) -> tuple[str, ...]:
    """Whether a failure is repaired, then what its cause is, in sentences; who bears it is answered beside."""
    cause = f"The cause is {failure.cause}." if failure.cause not in ("", "not known") else "The cause is not known."
    if failure.repaired_on is None:
        return ("It is not repaired yet.", cause)
    by = f" by {failure.technician}" if failure.technician else ""
    whole = f" The whole unit was exchanged for {failure.new_serial}." if failure.new_serial else ""
    return (f"Repaired on {in_words(failure.repaired_on)}{by}.{whole}", cause)


def _found(failure: models.Failure) -> tuple[Fact, ...]:
    told = [
        ("Where it leaked", failure.leak_at),
        ("Fault code", failure.fault_code),
        ("Found by", failure.found_by),
        ("Notes", failure.notes),
    ]
    return tuple(Fact(name, value) for name, value in told if value)


def _repair(failure: models.Failure) -> tuple[Fact, ...]:
    taken_on, minutes = failure.part_taken_on, failure.labor_minutes
    told = [
        ("Old part", failure.part_number),
        ("Serial of the old part", failure.part_serial),
        ("New part", failure.new_part_number),
        ("Serial of the new part", failure.new_part_serial),
        ("New part picked up on", "" if taken_on is None else in_words(taken_on)),
        ("Labor", "" if minutes is None else f"{minutes} minutes"),
        ("Supplier", str(failure.supplier or "")),
        ("Our purchase order", failure.purchase_order),
        ("Supplier's invoice", failure.invoice),
        ("Whole unit exchanged for", failure.new_serial),
    ]
    return tuple(Fact(name, value) for name, value in told if value)


def _costs(job: money.Job) -> tuple[pages.Cost, ...]:
    """List what the job cost us by kind, with how labor was reckoned; what cost nothing is left out."""
    rate = dollars(job.hourly)
    how = {"labor": f"{job.labor_minutes} minutes at {rate} an hour"} if job.labor_minutes is not None else {}
    return tuple(
        pages.Cost(kind, amount, how.get(kind, ""))
        for kind, amount in money.costs(job).items()
        if amount or kind in how
    )


def _reading(one: models.Reading) -> str:
    return f"{upper(reading_words.named(one.reading))}: {one.value.normalize():f} {one.measure}"


def _measured(one: models.Reading, row: models.Unit) -> pages.Measured:
    running = "" if one.minutes_running is None else f"running {one.minutes_running} minutes"
    details = ", ".join(filter(None, (one.mode, one.fan and f"fan {one.fan}", running, one.note)))
    notes = _warnings(one.reading, one.value, _of(row, one.measure, one.on))
    if not readings.charges_by_it(one.reading, inverter_ductless=row.role in _MAY_BE_INVERTER):
        notes.append(reading_words.NOT_A_CHARGING_METHOD)
    return pages.Measured(_reading(one), details, tuple(notes))


def _entry(one: models.RefrigerantEntry) -> str:
    pounds = one.ounces / readings.OUNCES_A_POUND
    what = "recovered" if one.move == Move.RECOVERED else "added"
    told = [
        f"{one.ounces.normalize():f} oz ({pounds.normalize():f} lb) of {one.refrigerant} {what} on {in_words(one.on)}",
        one.cylinder and f"cylinder {one.cylinder}",
        one.who,
        one.certificate and f"certificate {one.certificate}",
        one.note,
    ]
    return ", ".join(filter(None, told))


def _answered(one: models.FailureAnswer) -> pages.Answered:
    content = one.content
    who = f", by {one.by}" if one.by else ""
    about = f"{content['component']} on {in_words(dt.date.fromisoformat(content['on']))}"
    return pages.Answered(
        heading=f"On {in_words(one.asked_on)}{who}, about {about}",
        pays=tuple(pages.pays_in_words(kind, pays) for kind, pays in content["pays"].items()),
        terms=tuple(pages.terms_in_words(answer) for answer in content["answers"]),
    )


def _changes(failure: models.Failure) -> list[models.Change]:
    """What was put right or said later, newest first."""
    found = models.Change.objects.filter(table="failure", object_id=failure.pk).exclude(field="voided_on")
    return list(found.select_related("by").order_by("-at", "-pk"))


def _changed(one: models.Change) -> tuple[str, str]:
    """A change in words, and who made it, when and why."""
    what = f"{pages.label(one.field).removesuffix(', $')}: {value_or_blank(one.before)} to {value_or_blank(one.after)}"
    return what, ", ".join(filter(None, (str(one.by or "From a file"), one.why, local_moment(one.at))))


def _said_later(failure: models.Failure, changes: Iterable[models.Change]) -> str:
    """The component that failed, where it was said later, still is so, and nothing hangs on it yet."""
    last = next((one for one in changes if one.field == "component"), None)
    if last is None or last.before or last.after != failure.component or failure.voided_on or failure.repaired_on:
        return ""
    return "" if failure.claims.all() else failure.component
