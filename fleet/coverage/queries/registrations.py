"""One system's registrations: where each stands, what its payer asks for, and the letter to an owner who alone may register."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

from fleet import models
from fleet.coverage.pages import registrations as pages
from fleet.coverage.queries import registered_otherwise
from fleet.coverage.queries.registration_queue import STATES, with_registration
from fleet.derived.claim_rows import payer_name
from fleet.elements.named import address, as_it_stands, last_line, link, what
from fleet.facts import Told, fleet_facts, terms_on_file
from fleet.registry.facts.labels import said
from fleet.registry.facts.owners import owner_of
from fleet.registry.queries.documents import proves
from fleet.rules import facts, registration, wording
from fleet.rules.company import Company
from fleet.rules.dates import in_words
from fleet.rules.lost import lost
from fleet.rules.registration import Standing, State
from fleet.rules.starts import start_of
from fleet.rules.wording.lost import lost as lost_words
from fleet.rules.wording.names import DATES


def system(pk: int, *, company: Company, on: dt.date) -> pages.SystemPage | None:
    """Show the registrations of one system, payer by payer; None if there is no such system."""
    row = models.System.objects.filter(pk=pk).select_related("site__customer").first()
    if row is None:
        return None
    rows = sorted(row.units.in_service(), key=as_it_stands)
    told = fleet_facts(rows)
    pks = {terms.code: pk for pk, terms in with_registration().items()}
    held: dict[str, list[tuple[Told, facts.Holding]]] = {}
    for one in (told[unit.pk] for unit in rows):
        for holding in one.holdings:
            if holding.terms.code in pks:
                held.setdefault(payer_name(holding.terms), []).append((one, holding))
    owner = owner_of(row.site)
    registrations = models.Registration.objects.filter(unit__in=rows).select_related("terms", "proof")
    recorded = list(registrations.order_by("registered_on", "accepted_late_on", "number", "pk"))
    reminders = list(models.Reminder.objects.filter(system=row).select_related("terms"))
    parts = [
        _part(name, pairs, pks, row, owner=owner, company=company, recorded=recorded, reminders=reminders, on=on)
        for name, pairs in held.items()
    ]
    parts.sort(key=lambda part: (_urgency(part), part.payer.casefold()))
    site = row.site
    return pages.SystemPage(
        pk=row.pk,
        system=row.name,
        site_pk=site.pk,
        site=site.name,
        customer_pk=site.customer_id,
        customer=site.customer.name,
        units=tuple(link(unit) for unit in rows),
        parts=tuple(parts),
        owner=owner[0],
        differing=tuple(registered_otherwise.of_system(row.pk, pks)),
    )


def _standing(unit: facts.Unit, holding: facts.Holding, *, on: dt.date) -> Standing:
    return registration.standing(unit, holding, start=start_of(unit, holding).day, asked=on)


def _urgency(part: pages.PayerPart) -> int:
    return min((STATES.index(line.state) for line in part.lines), default=len(STATES))


def _part(
    name: str,
    pairs: Sequence[tuple[Told, facts.Holding]],
    pks: Mapping[str, int],
    system: models.System,
    *,
    owner: tuple[str, str, str],
    company: Company,
    recorded: Sequence[models.Registration],
    reminders: Sequence[models.Reminder],
    on: dt.date,
) -> pages.PayerPart:
    standings = [_standing(told.unit, holding, on=on) for told, holding in pairs]
    lines = tuple(
        _line(told, holding, standing, pks[holding.terms.code], on=on)
        for (told, holding), standing in zip(pairs, standings, strict=True)
    )
    codes = {holding.terms.code: holding.terms.payer for _, holding in pairs}
    mine = [
        one for one in recorded if (one.terms.code in codes if one.terms else next(iter(codes.values())) == "maker")
    ]
    open_pairs = [(told, holding) for (told, holding), line in zip(pairs, lines, strict=True) if line.open] or list(
        pairs
    )
    sent = [standing.day for standing in standings if standing.state is State.SENT and standing.day]
    return pages.PayerPart(
        number=min(pks[code] for code in codes),
        payer=name,
        sentences=tuple(_part_sentences(standings, on=on)),
        lines=lines,
        asks=_asks(name, open_pairs, system, owner=owner, company=company),
        missing_dates=tuple(_missing_dates(pairs, standings)),
        recorded=tuple(_recorded_words(mine)),
        owners=tuple(_owners(pairs, lines, pks, reminders)),
        sent_on=min(sent, default=None),
    )


def _line(told: Told, holding: facts.Holding, standing: Standing, pk: int, *, on: dt.date) -> pages.UnitLine:
    row = told.row
    gone = lost(told.unit, holding, on=on) if standing.state is State.MISSED else ()
    return pages.UnitLine(
        value=f"{row.pk}-{pk}",
        pk=row.pk,
        what=what(row),
        room=row.room,
        model=f"{row.maker} {row.model}",
        serial=row.serial,
        title=holding.terms.title,
        state=standing.state.value,
        words=wording.standing(standing, asked=on),
        lost=tuple(f"{lost_words(one)}." for one in gone),
    )


def _part_sentences(standings: Sequence[Standing], *, on: dt.date) -> Iterator[str]:
    """Each standing once, in words, with how many units it is about."""
    for state in State:
        alike: dict[str, int] = {}
        for one in standings:
            if one.state is state:
                text = wording.standing(one, asked=on)
                alike[text] = alike.get(text, 0) + 1
        for text, number in alike.items():
            yield text if number == len(standings) else f"{number} of {len(standings)}: {text[:1].lower()}{text[1:]}"


def _asks(
    name: str,
    pairs: Sequence[tuple[Told, facts.Holding]],
    system: models.System,
    *,
    owner: tuple[str, str, str],
    company: Company,
) -> str:
    """Write what a payer's form asks for, to be copied at once."""
    lines = [
        ("Homeowner", owner[0]),
        ("Address", address(system.site)),
        ("Phone", owner[1]),
        ("E-mail", owner[2]),
        ("Use", said("use", use_then(pairs[0][0].unit))),
        ("Contractor", str(company)),
        ("License", company.license_number),
    ]
    head = [
        f"Registration with {name}",
        *(f"{word}: {value or 'not on file'}" for word, value in lines if value or word not in ("Use", "License")),
    ]
    units = {one.row.pk: one for one, _ in pairs}
    return "\n".join([*head, "", *(_asks_of(one) for one in units.values())])


def use_then(unit: facts.Unit) -> str:
    """What the house was used for when the unit was put in; blank where nobody recorded it."""
    uses = unit.first_site.uses
    return uses[0].use if uses else ""


def _asks_of(told: Told) -> str:
    row, unit = told.row, told.unit
    known = [
        (row.room and f"{what(row)}, {row.room}") or what(row),
        f"{row.maker} {row.model}",
        f"serial {row.serial or 'not on file'}",
        *(
            f"{word} {in_words(day)}"
            for word, day in (
                ("purchased", unit.purchased_on),
                ("installed", unit.installed_on),
                ("started", unit.started_on),
                ("replaced another unit under warranty", unit.replaced_on),
            )
            if day
        ),
    ]
    text = "; ".join(known)
    return f"{text[:1].upper()}{text[1:]}"


def _missing_dates(
    pairs: Sequence[tuple[Told, facts.Holding]], standings: Sequence[Standing]
) -> Iterator[pages.MissingDate]:
    waiting: dict[str, list[int]] = {}
    for (told, _), standing in zip(pairs, standings, strict=True):
        if standing.state is State.WAITING:
            waiting.setdefault(standing.reason.what, []).append(told.row.pk)
    for date, units in waiting.items():
        # Terms that were bought count from the install where no other day is on file, so that is what is asked for.
        name = "installed_on" if date == "attached_on" else date
        yield pages.MissingDate(name, DATES[name], tuple(dict.fromkeys(units)))


def _recorded_words(recorded: Sequence[models.Registration]) -> Iterator[pages.Recorded]:
    alike: dict[str, list[models.Registration]] = {}
    for one in recorded:
        alike.setdefault(_record_words(one), []).append(one)
    for text, same in alike.items():
        here = tuple(one.pk for one in same if one.load_id is None and not one.with_install)
        proofs = dict.fromkeys(proof for one in same if (proof := proves(one.proof)) is not None)
        units = len({one.unit_id for one in same})
        yield pages.Recorded(text, units, here, tuple(one.pk for one in same), tuple(proofs))


def _record_words(row: models.Registration) -> str:
    number = f"number {row.number}" if row.number else "no number yet"
    if row.accepted_late:
        day = f" on {in_words(row.accepted_late_on)}" if row.accepted_late_on else ""
        who = f" by {row.told_by}" if row.told_by else ""
        return f"Late registration accepted in writing{day}{who}"
    day = f" on {in_words(row.registered_on)}" if row.registered_on else ""
    name = f", in the name of {row.in_name}" if row.in_name else ""
    return f"Registered{day}, {number}{name}"


def _owners(
    pairs: Sequence[tuple[Told, facts.Holding]],
    lines: Sequence[pages.UnitLine],
    pks: Mapping[str, int],
    reminders: Sequence[models.Reminder],
) -> Iterator[pages.OwnersTurn]:
    """List the terms under which only the owner may register what is still open."""
    seen = set()
    for (_, holding), line in zip(pairs, lines, strict=True):
        terms = holding.terms
        rules = terms.registration
        if rules is None or rules.by != "owner" or not line.open or terms.code in seen:
            continue
        seen.add(terms.code)
        reminded = tuple(f"{in_words(one.reminded_on)}, {one.way}" for one in reminders if one.terms.code == terms.code)
        yield pages.OwnersTurn(pks[terms.code], terms.title, reminded)


def letter(pk: int, terms: int, *, company: Company, on: dt.date) -> pages.OwnerLetter | None:
    """Write the letter to the owner of a system about some terms; None where nothing is theirs to register."""
    row = models.System.objects.select_related("site__customer").filter(pk=pk).first()
    paper = models.Terms.objects.filter(pk=terms).first()
    if row is None or paper is None:
        return None
    book = terms_on_file()
    rows = sorted(models.Unit.objects.in_service().filter(system=row), key=as_it_stands)
    told = fleet_facts(rows, book)
    theirs = [
        (one, standing)
        for one in (told[unit.pk] for unit in rows)
        for holding in one.holdings
        if holding.terms.code == paper.code and holding.terms.registration and holding.terms.registration.by == "owner"
        for standing in [_standing(one.unit, holding, on=on)]
        if standing.state in (State.TO_DO, State.WAITING, State.SENT)
    ]
    if not theirs:
        return None
    name, _, _ = owner_of(row.site)
    last = min((standing.deadline for _, standing in theirs if standing.deadline), default=None)
    day = min((one.unit.installed_on for one, _ in theirs if one.unit.installed_on), default=None)
    return pages.OwnerLetter(
        written_on=in_words(on),
        sender=company,
        owner=name,
        address=tuple(
            filter(
                None,
                (
                    row.site.street,
                    last_line(row.site),
                ),
            )
        ),
        payer=payer_name(book.by_code[paper.code]),
        title=paper.title,
        last_day="" if last is None else in_words(last),
        installed="" if day is None else in_words(day),
        units=tuple((what(one.row), f"{one.row.maker} {one.row.model}", one.row.serial) for one, _ in theirs),
        filename=f"registration-letter-{pk}-{paper.code}.pdf",
    )
