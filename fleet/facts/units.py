"""Units as the rules see them, with all that bears on them."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, prefetch_related_objects

from fleet import models
from fleet.facts import care, matches
from fleet.facts.terms import TermsBook, terms_on_file
from fleet.rules import coverage, facts, upkeep
from fleet.rules import terms as rules
from fleet.rules.care import System
from fleet.rules.caresheet import CareSheet


@dataclass(frozen=True, slots=True)
class Told:
    """One unit's row, those of its line (the units that handed on to it, the first first, itself last), its facts, the terms
    it holds in the order of answers, and the sites of its stays.
    """

    row: models.Unit
    line: tuple[models.Unit, ...]
    unit: facts.Unit
    holdings: tuple[facts.Holding, ...]
    site_ids: tuple[int, ...] = ()

    @property
    def root(self) -> models.Unit:
        """The first of its line."""
        return self.line[0]


# The days of technicians' records that count for each unit, by its key.
_Upkeep = Mapping[str, set[dt.date]]


# What bears on a unit beside its own row and its systems' maintenance.
FACTS = (
    Prefetch("places", models.Place.objects.select_related("system__site")),
    "places__system__site__uses",
    "places__system__site__sales",
    Prefetch("registrations", models.Registration.objects.select_related("proof")),
    "notices",
    "attachments",
    "failures",
)


def fleet_facts(
    units: Iterable[models.Unit],
    book: TermsBook | None = None,
    systems: Iterable[System] = (),
    sheet: CareSheet | None = None,
) -> dict[int, Told]:
    """Gather the facts of units, in a fixed number of queries and one for each generation that they took over from.

    `systems` are those gathered already (with the care sheet in force); others that the units stood in are gathered here.
    """
    rows = list(units)
    book = book or terms_on_file()
    known = care.with_earlier(rows)
    prefetch_related_objects(list(known.values()), *FACTS)
    stood_in = _stood_in(known.values(), list(systems))
    maintained, exchanged = _maintained(stood_in, sheet), matches.exchanges(stood_in)
    sites: dict[int, facts.Site] = {}
    return {row.pk: _told(row, _chain(row, known), book, sites, maintained, exchanged) for row in rows}


def _stood_in(rows: Iterable[models.Unit], systems: Sequence[System]) -> Sequence[System]:
    """The systems gathered already, with the others that units stood in."""
    there = {system.key for system in systems}
    stood_in = {place.system_id for row in rows for place in row.places.all()}
    return (*systems, *care.systems(pk for pk in stood_in if str(pk) not in there))


def _maintained(systems: Iterable[System], sheet: CareSheet | None) -> _Upkeep:
    """Gather whose maintenance each record in systems counts for."""
    sheet = sheet or care.sheet_to_read()
    found: dict[str, set[dt.date]] = {}
    for system in systems:
        for key, days in upkeep.maintained(system, sheet).items():
            found.setdefault(key, set()).update(days)
    return found


def _chain(row: models.Unit, known: dict[int, models.Unit]) -> tuple[models.Unit, ...]:
    """List the units that handed on to this one, the first first, itself last."""
    found = [row]
    while found[-1].took_over_from_id:
        found.append(known[found[-1].took_over_from_id])
    return tuple(reversed(found))


def _told(
    row: models.Unit,
    chain: tuple[models.Unit, ...],
    book: TermsBook,
    sites: dict[int, facts.Site],
    maintained: _Upkeep,
    exchanged: matches.Exchanges,
) -> Told:
    root = chain[0]
    stays = _stays(chain, sites)
    unit = facts.Unit(
        maker=root.maker,
        model=root.model,
        stays=tuple(stay for _, stay in stays) or (facts.Stay(facts.Site()),),
        purchased_on=root.purchased_on,
        installed_on=root.installed_on,
        started_on=root.started_on,
        manufactured_on=root.manufactured_on,
        installed_by_us=root.installed_by in ("", "us"),
        recognized_installer=root.recognized_installer,
        licensed_installer=root.licensed_installer,
        matched_system=root.matched_system,
        matches=matches.in_rules(matches.of_line(chain, exchanged)),
        original_site=root.original_site,
        surroundings=frozenset(row.surroundings.split(";")) if row.surroundings else frozenset(),
        repairs=tuple(
            facts.Repair(
                failure.component,
                failure.failed_on,
                failure.repaired_on,
                failure.part_taken_on,
                bool(failure.new_part_number or failure.part_taken_on),
            )
            for failure in row.failures.all()
            if failure.voided_on is None and failure.component
        ),
        maintained_on=tuple(sorted({day for one in chain for day in maintained.get(str(one.pk), ())})),
        replaced_on=row.replaced_on,
        exchanged_on=row.removed_on if row.removal_reason == "exchanged" else None,
        removed_on=row.removed_on if row.removal_reason == "removed" else None,
    )
    return Told(row, chain, unit, _holdings(unit, chain, book), tuple(pk for pk, _ in stays))


def _stays(chain: Sequence[models.Unit], sites: dict[int, facts.Site]) -> list[tuple[int, facts.Stay]]:
    """List where a unit stood, one site after the other, each by its key."""
    found: list[tuple[int, facts.Stay]] = []
    for row in chain:
        for place in row.places.all():
            site = place.system.site
            if found and found[-1][0] == site.pk:
                continue
            first = place.joined_on or row.replaced_on
            found.append((site.pk, facts.Stay(_site(site, sites), first if found else None)))
    return found


def _site(row: models.Site, sites: dict[int, facts.Site]) -> facts.Site:
    found = sites.get(row.pk)
    if found is None:
        found = sites[row.pk] = facts.Site(
            region=row.region,
            uses=tuple(facts.Use(use.use, use.from_on) for use in row.uses.all()),
            new_construction=row.new_construction,
            closed_on=row.closed_on,
            sold_on=tuple(sale.sold_on for sale in row.sales.all()),
        )
    return found


def _holdings(unit: facts.Unit, chain: Sequence[models.Unit], book: TermsBook) -> tuple[facts.Holding, ...]:
    attached: dict[str, dt.date | None] = {}
    for row in chain:
        for attachment in row.attachments.all():
            promised = attachment.attached_on or unit.started_on or unit.installed_on or unit.purchased_on
            attached[book.codes[attachment.terms_id]] = promised
    registrations = [told for row in chain for told in row.registrations.all()]
    notices = [told for row in chain for told in row.notices.all()]
    offered = dict.fromkeys(terms.code for terms in book.that_fit(unit.maker, unit.model)) | attached
    told = (
        _holding(book.by_code[code], code in attached, attached.get(code), registrations, notices, book)
        for code in offered
    )
    return coverage.held(unit, told, book.withdrawn)


def _holding(
    terms: rules.Terms,
    attached: bool,  # noqa: FBT001 - the fact itself
    attached_on: dt.date | None,
    registrations: Sequence[models.Registration],
    notices: Sequence[models.Notice],
    book: TermsBook,
) -> facts.Holding:
    """Join what was told for these very terms with what was told for every maker's."""
    pk = book.pks[terms.code]
    if not registrations and not notices:
        return facts.Holding(terms, attached, attached_on)
    bearing = {pk, None} if terms.payer == "maker" else {pk}
    mine = [told for told in registrations if told.terms_id in bearing]
    numbers = sorted((told for told in mine if told.number), key=lambda told: (told.terms_id is None, told.pk))
    return facts.Holding(
        terms,
        attached,
        attached_on,
        registered_on=min((told.registered_on for told in mine if told.registered_on), default=None),
        registration_number=numbers[0].number if numbers else "",
        accepted_late=any(told.accepted_late for told in mine),
        notified_on=tuple(sorted(told.notified_on for told in notices if told.terms_id in bearing)),
    )
