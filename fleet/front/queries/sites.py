"""The site page and the customer page: what stands there, and until when who pays for it."""

import datetime as dt
from collections.abc import Iterable, Sequence

from django.db.models import Count, prefetch_related_objects

from fleet import facts, models
from fleet.elements.named import address, as_it_stands, gone, what
from fleet.elements.pieces import Fact, counted
from fleet.front.pages.sites import CustomerPage, Registered, SitePage, SiteRow, Sold, SystemPart, Told, UnitRow
from fleet.front.pages.units import cell_lines, components_in_words
from fleet.front.queries import deadlines
from fleet.front.queries.units import Read, ends, read
from fleet.registry.facts.labels import USES
from fleet.registry.queries import contacts
from fleet.rules import registration, wording
from fleet.rules.caresheet import CareSheet
from fleet.rules.coverage import groups
from fleet.rules.dates import in_words
from fleet.rules.facts import Holding
from fleet.rules.findings import Result
from fleet.rules.reach import FOREVER
from fleet.rules.registration import Standing, State
from fleet.rules.starts import start_of

# A unit with what its holdings promise over time.
_Read = tuple[facts.Told, Read]


def page(pk: int, sheet: CareSheet | None = None, *, on: dt.date) -> SitePage | None:
    """The page of a site, under the care sheet in force where that was read already; None if there is none."""
    here = models.Unit.objects.filter(system__site=pk).select_related("system__site__customer")
    rows = list(here.order_by("system__name", "system_id", "room", "serial_key", "pk"))
    site = rows[0].system.site if rows else models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    book = facts.terms_on_file()
    told = facts.fleet_facts(rows, book, sheet=sheet)
    with_facts = _with_facts(site, rows)
    units = [(told[row.pk], read(told[row.pk], on=on)) for row in rows]
    customer = site.customer
    return SitePage(
        pk=site.pk,
        name=site.name,
        customer_pk=customer.pk,
        customer=customer.name,
        phone=customer.phone,
        email=customer.email,
        address=address(site),
        contacts=contacts.of_site(site),
        facts=_facts(with_facts, on=on),
        sentences=_sentences(site, units, on=on),
        systems=_systems(units, on=on),
        sales=_sales(with_facts, rows, book),
        deadlines=tuple(deadlines.of_units(told.values(), book, on=on)),
    )


def _with_facts(site: models.Site, rows: Iterable[models.Unit]) -> models.Site:
    """The site with its uses and sales: as they were read with the units that stand there; where none does, read now."""
    for row in rows:
        for place in row.places.all():
            if place.system.site_id == site.pk:
                return place.system.site
    prefetch_related_objects([site], "uses", "sales")
    return site


def _facts(site: models.Site, *, on: dt.date) -> tuple[Fact, ...]:
    uses = list(site.uses.all())
    now = [use for use in uses if use.from_on is None or use.from_on <= on]
    use = ""
    if now:
        since = now[-1].from_on
        named = USES.get(now[-1].use, now[-1].use)
        use = named if since is None else f"{named}, since {in_words(since)}"
    found = [Fact("Use", use)]
    if site.gate_code:
        found.append(Fact("Gate code", site.gate_code))
    if site.closed_on is not None or site.new_construction:
        found.append(Fact("Closing of the new house", "" if site.closed_on is None else in_words(site.closed_on)))
    if site.drive_minutes is not None:
        found.append(Fact("Drive, there and back", f"{site.drive_minutes} minutes"))
    return tuple(found)


# ------------------------------------------------------------------------------------------------- what stands there


def _systems(units: Sequence[_Read], *, on: dt.date) -> tuple[SystemPart, ...]:
    by_system: dict[tuple[str, int], list[_Read]] = {}
    for one in units:
        row = one[0].row
        by_system.setdefault((row.system.name, row.system_id), []).append(one)
    return tuple(
        SystemPart(
            pk, name, tuple(_unit(*one, on=on) for one in sorted(these, key=lambda one: as_it_stands(one[0].row)))
        )
        for (name, pk), these in by_system.items()
    )


def _unit(told: facts.Told, holdings: Read, *, on: dt.date) -> UnitRow:
    row = told.row
    is_gone = row.removed_on is not None
    found = ends(told, holdings, on=on)
    return UnitRow(
        pk=row.pk,
        what=what(row),
        room=row.room,
        maker=row.maker,
        model=row.model,
        serial=row.serial,
        started=told.unit.started_on or told.unit.installed_on,
        parts=() if is_gone else cell_lines(found["parts"]),
        labor=() if is_gone else cell_lines(found["labor"]),
        open=() if is_gone else _open(told, on=on),
        registration=() if is_gone else tuple(dict.fromkeys(_registered(told, one, on=on) for one in _makers(told))),
        gone=gone(row),
    )


def _open(told: facts.Told, *, on: dt.date) -> tuple[str, ...]:
    """List what must be done or found so that today's answers get certain, each once."""
    answers = [group.answer for holding in told.holdings for group in groups(told.unit, holding, on=on)]
    return tuple(dict.fromkeys(wording.need(need, on=on) for answer in answers for need in answer.needs))


def _makers(told: facts.Told) -> list[Holding]:
    """Choose the holdings whose terms ask for registration, the maker's first; all others say nothing of it."""
    return [holding for holding in told.holdings if holding.terms.registration is not None]


def _standing(told: facts.Told, holding: Holding, *, on: dt.date) -> Standing:
    start = start_of(told.unit, holding)
    return registration.standing(told.unit, holding, start=start.day, asked=on)


def _registered(told: facts.Told, holding: Holding, *, on: dt.date) -> Registered:
    found = _standing(told, holding, on=on)
    state = found.state.value
    match found.state:
        case State.TO_DO:
            words = f"{state} by {_day(found.deadline)}"
        case State.SENT | State.CONFIRMED:
            words = f"{state} {_day(found.day)}".strip()
        case State.MISSED:
            words = f"{state}; the deadline was {_day(found.deadline)}"
        case _:
            words = state
    return Registered(state, words)


def _day(day: dt.date | None) -> str:
    return "" if day is None else in_words(day)


# ------------------------------------------------------------------------------------------------- sentences


def _sentences(site: models.Site, units: Sequence[_Read], *, on: dt.date) -> tuple[str, ...]:
    """What stands there, which coverage ends soonest, and what is to be registered by when, in sentences."""
    here = [(told, holdings) for told, holdings in units if told.row.removed_on is None]
    systems = {told.row.system_id for told, _ in here}
    found = [f"{counted(len(systems), 'system').capitalize()}, {counted(len(here), 'unit')}."]
    soonest = min(_ending(here, on=on), default=None)
    if soonest is not None:
        day, kind, components, where = soonest
        named = f" for {components}" if components else ""
        found.append(f"The next coverage to end: {kind}{named} on {where}, {in_words(day)}.")
    elif here:
        found.append("Nothing here is covered to a known last day.")
    limits = sorted(
        standing.deadline
        for told, _ in here
        for holding in told.holdings
        if (standing := _standing(told, holding, on=on)).state is State.TO_DO and standing.deadline is not None
    )
    if limits:
        is_due = "registration is" if len(limits) == 1 else "registrations are"
        found.append(
            f"{len(limits)} {is_due} to do, {'by' if len(limits) == 1 else 'the first by'} {in_words(limits[0])}."
        )
    return tuple(found)


def _ending(units: Iterable[_Read], *, on: dt.date) -> Iterable[tuple[dt.date, str, str, str]]:
    for told, holdings in units:
        where = told.row.room or f"{told.row.model} {told.row.serial}".strip()
        for kind, found in ends(told, holdings, on=on).items():
            for one in found:
                last = one.best.certain if one.best.result is Result.COVERED else None
                if last is not None and last != FOREVER:
                    yield last, kind, components_in_words(one.components, alone=True), where


# ------------------------------------------------------------------------------------------------- sales


def _sales(site: models.Site, rows: Sequence[models.Unit], book: facts.TermsBook) -> tuple[Sold, ...]:
    """List the sales of the house, the latest first, each with the notices given before the next one."""
    titles = {pk: book.by_code[code].title for code, pk in book.pks.items()}
    notices = [notice for row in rows for notice in row.notices.all()]
    found = []
    after: dt.date | None = None
    for sale in reversed(site.sales.all()):
        mine = [
            one for one in notices if sale.sold_on <= one.notified_on and (after is None or one.notified_on < after)
        ]
        told: dict[tuple[dt.date, str], int] = {}
        for one in sorted(mine, key=lambda notice: notice.notified_on):
            whose = "every maker" if one.terms_id is None else titles[one.terms_id]
            told[one.notified_on, whose] = told.get((one.notified_on, whose), 0) + 1
        found.append(Sold(sale.sold_on, tuple(Told(day, whose, number) for (day, whose), number in told.items())))
        after = sale.sold_on
    return tuple(found)


# ------------------------------------------------------------------------------------------------- customers


def customer_page(pk: int, *, on: dt.date) -> CustomerPage | None:
    """The page of a customer; None if there is none."""
    customer = models.Customer.objects.filter(pk=pk).first()
    if customer is None:
        return None
    counts = {
        site: (systems, units)
        for site, systems, units in models.Unit.objects.in_service()
        .filter(system__site__customer=customer)
        .values("system__site")
        .annotate(systems=Count("system", distinct=True), units=Count("pk"))
        .values_list("system__site", "systems", "units")
    }
    sites = models.Site.objects.with_facts().filter(customer=customer).order_by("name")
    rows = tuple(_site(site, *counts.get(site.pk, (0, 0)), on=on) for site in sites)
    total = sum(row.units for row in rows)
    return CustomerPage(
        pk=customer.pk,
        name=customer.name,
        phone=customer.phone,
        email=customer.email,
        sentence=f"{counted(len(rows), 'site').capitalize()}, {counted(total, 'unit')} in service.",
        sites=rows,
    )


def _site(site: models.Site, systems: int, units: int, *, on: dt.date) -> SiteRow:
    now = [use.use for use in site.uses.all() if use.from_on is None or use.from_on <= on]
    return SiteRow(
        pk=site.pk,
        name=site.name,
        address=address(site),
        use=USES.get(now[-1], now[-1]) if now else "",
        systems=systems,
        units=units,
    )
