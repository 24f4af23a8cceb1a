"""A system's refrigerant: what was measured at its start-up, what went in and out since, and how fast it leaks."""

import datetime as dt
from collections.abc import Iterator, Sequence
from decimal import Decimal

from fleet import models
from fleet.care.facts.start_up import MEASURED, readings_of, text_of, unit_of
from fleet.care.pages import refrigerant as pages
from fleet.elements.pieces import Fact
from fleet.facts.refrigerant import Charge, charge_of, recovery_missing
from fleet.rules import federal, words
from fleet.rules import readings as rules
from fleet.rules.dates import in_words
from fleet.rules.readings import OUNCES_A_POUND, Move, Weighing
from fleet.rules.wording import federal as federal_words
from fleet.rules.wording import readings as wording
from fleet.sheets.columns import in_plain


def page(pk: int, *, on: dt.date) -> pages.RefrigerantPage | None:
    """The page of a system's refrigerant; None if there is no such system."""
    system = models.System.objects.select_related("site__customer").filter(pk=pk).first()
    if system is None:
        return None
    unit = unit_of(pk)
    at_start = readings_of(unit.pk) if unit is not None else {}
    entries = list(system.refrigerant_entries.order_by("on", "pk"))
    charge = charge_of(pk)
    full = charge.pounds
    # A leak rate counts one kind: that of the plate, or of the first entry where no plate says it.
    kind = words.key(charge.refrigerant or next((row.refrigerant for row in entries), ""))
    ledger = [
        Weighing(row.on, Move(row.move), row.ounces / OUNCES_A_POUND)
        for row in entries
        if words.key(row.refrigerant) == kind
    ]
    rates = rules.leak_rates(ledger, full, as_of=on) if full else ()
    return pages.RefrigerantPage(
        pk=pk,
        name=system.name,
        site_pk=system.site_id,
        site=system.site.name,
        customer=system.site.customer.name,
        unit_pk=None if unit is None else unit.pk,
        refrigerant=charge.refrigerant,
        sentences=tuple(_sentences(entries, full, charge.refrigerant)),
        started_on=max((row.on for row in at_start.values()), default=None) or (unit.started_on if unit else None),
        started=tuple(_started(unit, at_start)),
        entries=tuple(map(_entry, entries)),
        rates=tuple(map(wording.leak_rate, reversed(rates))),
        federal=tuple(_federal(charge, ledger, rates, on=on)),
        recovery=_recovery(pk),
        at_start=(
            *((name, text_of(at_start.get(name))) for name in MEASURED),
            ("plate_charge_oz", in_plain(unit.plate_charge_oz) if unit is not None else ""),
        ),
    )


def entry(pk: int) -> tuple[models.System, dict[str, str]] | None:
    """The system of an entry, and the entry's facts as a form shows them; None if there is no such entry."""
    row = models.RefrigerantEntry.objects.select_related("system__site__customer").filter(pk=pk).first()
    if row is None:
        return None
    return row.system, {name: in_plain(getattr(row, name)) for name in pages.LABELS}


def _federal(
    charge: Charge, ledger: Sequence[Weighing], rates: Sequence[rules.LeakRate], *, on: dt.date
) -> Iterator[str]:
    """Which federal leak rule leaves the system out and why; where one applies, what the latest rate asks for."""
    substance = federal.substance_of(charge.refrigerant)
    if substance is None:
        yield federal_words.unknown(charge.refrigerant)
        return
    pounds = charge.pounds or None
    use = federal.Subsector.RESIDENTIAL
    yield federal_words.leak_rule(charge.refrigerant, federal.standing(pounds, substance, use, on=on), pounds)
    limit = federal.trigger(pounds, substance, use, on=on)
    if rates and limit is not None and federal.over(rates[-1].annualized, limit):
        yield federal_words.over_trigger(wording.percent(rates[-1].annualized), limit)
    if limit is not None and (by := federal.report_by(ledger, charge.pounds, year=on.year)) is not None:
        yield f"More than its whole charge leaked this year: it must be reported to the EPA by {in_words(by)}."


def _recovery(system: int) -> str:
    """What taking a unit out asks for; blank where nothing is missing."""
    gone = models.Unit.objects.filter(system=system, role="outdoor").exclude(removed_on=None)
    return federal_words.RECOVERY if any(map(recovery_missing, gone)) else ""


def _sentences(entries: Sequence[models.RefrigerantEntry], full: Decimal, plate: str) -> Iterator[str]:
    if full:
        yield f"A full charge is {_weight(full * OUNCES_A_POUND)}: the plate charge, and what was added at start-up."
    else:
        yield "The plate charge is not on file, so no leak rate can be worked out."
    others = [row for row in entries if plate and words.key(row.refrigerant) != words.key(plate)]
    if others:
        yield f"{_count(len(others))} {'is' if len(others) == 1 else 'are'} for a different refrigerant than the plate, which says {plate}."
    lacking = [row for row in entries if not row.certificate]
    if lacking:
        yield f"{_count(len(lacking))} {'has' if len(lacking) == 1 else 'have'} no certificate on file."


def _count(number: int) -> str:
    return "1 entry" if number == 1 else f"{number:,} entries"


def _started(unit: models.Unit | None, at_start: dict[str, models.Reading]) -> Iterator[pages.Started]:
    for name in MEASURED:
        row = at_start.get(name)
        warned = () if row is None else rules.warnings(name, row.value, rules.Measured(row.measure, row.on))
        yield pages.Started(
            Fact(f"{name[:1].upper()}{name[1:]}", text_of(row)), tuple(map(wording.out_of_band, warned))
        )
    plate = None if unit is None else unit.plate_charge_oz
    yield pages.Started(Fact("Plate charge", "" if plate is None else _weight(plate)), ())


def _weight(ounces: Decimal) -> str:
    """Write a weight as it is weighed, and in pounds."""
    pounds = (ounces / OUNCES_A_POUND).quantize(Decimal("0.01")).normalize()
    return f"{ounces.quantize(Decimal('0.01')).normalize():,f} oz ({pounds:,f} lb)"


def _entry(row: models.RefrigerantEntry) -> pages.Entry:
    return pages.Entry(
        pk=row.pk,
        day=row.on,
        move=row.move,
        weight=_weight(row.ounces),
        refrigerant=row.refrigerant,
        cylinder=row.cylinder,
        who=row.who,
        certificate=row.certificate,
        note=row.note,
        failure=row.failure_id,
    )
