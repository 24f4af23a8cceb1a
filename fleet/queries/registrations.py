"""Which registrations are wanted by when, what each payer asks for, and what the missed ones lost."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from django.db.models import Count, Min, Q, QuerySet, Sum

from fleet import gather, models
from fleet.gather import kept, shown
from fleet.gather.claims import payer_name
from fleet.models.prepared import counted, prepared
from fleet.pages import registrations as pages
from fleet.pages.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.queries.documents import proves
from fleet.queries.units import address, as_it_stands, link, what
from fleet.rules import facts, registration, wording, words
from fleet.rules.dates import DAY, in_words
from fleet.rules.lost import lost
from fleet.rules.registration import Standing, State
from fleet.rules.starts import start_of
from fleet.rules.terms import Terms
from fleet.rules.wording.lost import lost as lost_words
from fleet.rules.wording.names import DATES, listed

CHUNK = 500
# How many units are looked at for each row that is wanted; few systems have more.
_AHEAD = 40
# "This week" is today and the six days after it: on a Saturday, Monday's deadline is this week's too.
WEEK = 6 * DAY
LATELY = 30 * DAY

_SITE = "system__site"
_GROUP = ("deadline", "system_id", "terms_id")
# The first of each is what is sorted by; the rest keeps equal ones in one order, so that no page repeats a row.
_ORDER = {
    "deadline": ("deadline", "system_id", "terms_id"),
    "system": ("system__name", "deadline", "system_id", "terms_id"),
    "customer": (f"{_SITE}__customer__name", "deadline", "system_id", "terms_id"),
    "payer": ("terms__maker", "deadline", "system_id", "terms_id"),
    "units": ("units", "deadline", "system_id", "terms_id"),
}
_FILE = (
    "unit_id", "terms_id", "registration", "deadline", "lost", "unit__room", "unit__maker", "unit__model",
    "unit__serial", "unit__installed_on", "unit__started_on", "system_id",
)  # fmt: skip
_SHOWN = (
    "unit_id", "terms_id", "registration", "registration_day", "deadline", "reason", "lost", "system_id", "system__name",
    f"{_SITE}__name", f"{_SITE}__customer_id", f"{_SITE}__customer__name",
)  # fmt: skip


def payers() -> tuple[str, ...]:
    """List those with whom something may be registered, to choose from."""
    return tuple(sorted({payer_name(terms) for terms in _with_registration().values()}, key=str.casefold))


def _with_registration() -> dict[int, Terms]:
    book = gather.terms_on_file()
    return {book.pks[terms.code]: terms for terms in book.all if terms.registration}


# ----------------------------------------------------------------------------------------------------- the queue


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.RegistrationsPage:
    """Show one page of the queue: a row for each system and terms whose units have the same last day."""
    found = _found(asked)
    groups = _groups(found)
    told = groups.aggregate(rows=Count("*"), all_units=Sum("units"))
    count, units = told["rows"], told["all_units"] or 0
    chosen = _sort(asked, sort)
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    rows = list(_ordered(groups, chosen)[first : first + PER_PAGE])
    return pages.RegistrationsPage(
        asked=asked,
        on=on,
        listing=Listing(pages.COLUMNS, tuple(group_rows(rows, on=on)), count, chosen, number),
        units=units,
        sentences=sentences(on=on),
        nothing_on_file=not rows and not models.HoldingRow.objects.exists(),
    )


def nearest(state: str, number: int, *, on: dt.date) -> tuple[bool, tuple[Row, ...]]:
    """Give the first few rows of the queue in a state, and whether there are more.

    They are looked for among the first rows of the index: grouping the whole queue would cost more the larger the fleet.
    """
    ahead = _ahead(state, limit=number * _AHEAD)
    keys = list(dict.fromkeys(ahead))
    first = keys[:number]
    groups = _groups_of(state, {system for _, system, _ in first})
    known = {tuple(row[name] for name in _GROUP): row for row in groups}
    more = len(keys) > number or len(ahead) == number * _AHEAD
    return more, tuple(group_rows([known[key] for key in first], on=on))


@prepared
def _ahead(state: str, *, limit: int) -> QuerySet[models.HoldingRow, Any]:
    found = models.HoldingRow.objects.filter(registration=state)
    return found.order_by(*_GROUP, "unit_id").values_list(*_GROUP)[:limit]


@prepared
def _groups_of(state: str, systems: Iterable[int]) -> QuerySet[models.HoldingRow, Any]:
    return _groups(models.HoldingRow.objects.filter(registration=state, system__in=systems))


def _sort(asked: pages.Asked, sort: str) -> Sort:
    """What was missed last may still be mended, so there the latest comes first."""
    return sort_of(sort, pages.COLUMNS, otherwise="-deadline" if asked.state == State.MISSED else "deadline")


def _found(asked: pages.Asked) -> QuerySet[models.HoldingRow]:
    found = models.HoldingRow.objects.filter(registration=asked.state)
    if asked.state in (State.NOT_REQUIRED, State.CONFIRMED) or asked.payer:
        chosen = [pk for pk, terms in _with_registration().items() if asked.payer in ("", payer_name(terms))]
        found = found.filter(terms__in=chosen)
    if asked.text:
        texts = Q(**{f"{_SITE}__name__icontains": asked.text}) | Q(
            **{f"{_SITE}__customer__name__icontains": asked.text}
        )
        if key := words.key(asked.text):
            texts |= Q(unit__serial_key__contains=key) | Q(unit__model_key__contains=key)
        found = found.filter(texts)
    return found


def _groups(found: QuerySet[models.HoldingRow]) -> QuerySet[models.HoldingRow, Any]:
    return found.order_by().values(*_GROUP).annotate(units=Count("pk"), sample=Min("unit_id"))


def _ordered(groups: QuerySet[models.HoldingRow, Any], sort: Sort) -> QuerySet[models.HoldingRow, Any]:
    falling = "-" if sort.falling else ""
    return groups.order_by(*(f"{falling}{name}" for name in _ORDER[sort.name]))


def group_rows(rows: Sequence[Mapping[str, Any]], *, on: dt.date) -> Iterator[Row]:
    """Draw rows of the queue; where one stands is said of one of its units."""
    if not rows:
        return
    book = gather.terms_on_file()
    samples = _samples({row["sample"] for row in rows}, {row["terms_id"] for row in rows})
    sample = {(row.unit_id, row.terms_id): row for row in samples}
    asked = _reminded({row["system_id"] for row in rows})
    reminded = {(system, terms): day for system, terms, day in asked}
    for group in rows:
        row = sample[group["sample"], group["terms_id"]]
        paper = book.by_code[book.codes[row.terms_id]]
        text = _standing_words(row, paper, on=on)
        if asked_on := reminded.get((row.system_id, row.terms_id)):
            text = f"{text} Owner asked on {in_words(asked_on)}."
        yield (
            Cell(row.system__name, Link("registration", row.system_id), row.system__site__name),
            Cell(row.system__site__customer__name, Link("customer", row.system__site__customer_id)),
            Cell(payer_name(paper)),
            Cell(group["units"]),
            Cell(row.deadline),
            Cell(_left(row, on=on)),
            Cell(text),
        )


def _left(row: Any, *, on: dt.date) -> int | None:
    """Days are left only where something is to do."""
    if row.registration != State.TO_DO or row.deadline is None:
        return None
    return int((row.deadline - on).days)


@prepared
def _samples(units: Iterable[int], terms: Iterable[int]) -> QuerySet[models.HoldingRow, Any]:
    return models.HoldingRow.objects.filter(unit__in=units, terms__in=terms).values_list(*_SHOWN, named=True)


@prepared
def _reminded(systems: Iterable[int]) -> QuerySet[models.Reminder, Any]:
    found = models.Reminder.objects.filter(system__in=systems).order_by("reminded_on")
    return found.values_list("system_id", "terms_id", "reminded_on")


def _standing(unit: facts.Unit, holding: facts.Holding, *, on: dt.date) -> Standing:
    return registration.standing(unit, holding, start=start_of(unit, holding).day, asked=on)


def _standing_words(row: Any, terms: Terms, *, on: dt.date) -> str:
    standing, rules = kept.standing_of(row), terms.registration
    found = [_short(standing, on=on)]
    if standing.state is State.MISSED:
        found.extend(f"{lost_words(one)}." for one in kept.lost_of(row))
    elif rules is not None and rules.by == "owner" and standing.state in (State.TO_DO, State.WAITING):
        found.append("Only the owner may register.")
    return " ".join(filter(None, found))


def _short(standing: Standing, *, on: dt.date) -> str:
    """Where it stands, without what the columns beside it say."""
    return "" if standing.state is State.TO_DO else wording.standing(standing, asked=on)


def file_rows(asked: pages.Asked, *, on: dt.date) -> Iterator[Row]:
    """Give a row for every unit of the queue by last day, a few hundred at a time in memory."""
    found = _found(asked).order_by("deadline", "unit_id", "terms_id").values_list(*_FILE, named=True)
    book = gather.terms_on_file()
    for chunk in _chunks(found.iterator(chunk_size=CHUNK)):
        systems = models.System.objects.select_related("site__customer").in_bulk({row.system_id for row in chunk})
        for row in chunk:
            yield _file_row(row, systems[row.system_id], book.by_code[book.codes[row.terms_id]], on=on)


def _chunks(rows: Iterable[Any]) -> Iterator[list[Any]]:
    for _, numbered in groupby(enumerate(rows), key=lambda pair: pair[0] // CHUNK):
        yield [row for _, row in numbered]


def _file_row(row: Any, system: models.System, terms: Terms, *, on: dt.date) -> Row:
    site, gone = system.site, kept.lost_of(row)
    values = (
        site.customer.name, site.customer.phone, site.customer.email, site.name, address(site), system.name,
        row.unit__room, row.unit__maker, row.unit__model, row.unit__serial, row.unit__installed_on,
        row.unit__started_on, payer_name(terms), terms.code, row.registration, row.deadline, _left(row, on=on),
        "; ".join(map(lost_words, gone)),
    )  # fmt: skip
    return tuple(Cell(value) for value in values)


# ------------------------------------------------------------------------------------------------- in sentences


def sentences(*, on: dt.date) -> tuple[str, ...]:
    """Say what closes this week, what else is to do, and what waits."""
    open_states = (State.TO_DO, State.WAITING, State.SENT)
    number = dict.fromkeys(open_states, 0) | {State(state): n for state, n in _open(states=open_states)}
    week, first = next(iter(_closing(on + WEEK)), (0, None))
    return tuple(_sentences(number, week, _missed_since(on - LATELY), first, on=on))


@prepared
def _open(*, states: tuple[State, ...]) -> QuerySet[models.HoldingRow, Any]:
    found = models.HoldingRow.objects.order_by().filter(registration__in=states)
    return found.values_list("registration").annotate(n=Count("*"))


@prepared
def _closing(until: dt.date) -> QuerySet[models.HoldingRow, Any]:
    found = models.HoldingRow.objects.order_by().filter(registration=State.TO_DO).values("registration")
    told = found.annotate(week=Count("pk", filter=Q(deadline__lte=until)), first=Min("deadline"))
    return told.values_list("week", "first")


@counted
def _missed_since(day: dt.date) -> QuerySet[models.HoldingRow, Any]:
    return models.HoldingRow.objects.filter(registration=State.MISSED, deadline__gte=day).values_list("deadline")


def _sentences(
    number: Mapping[State, int], week: int, late: int, first: dt.date | None, *, on: dt.date
) -> Iterator[str]:
    if week and first is not None:
        closes = "1 registration closes" if week == 1 else f"{week:,} registrations close"
        yield f"{closes} this week, {'the first ' if week > 1 else ''}{_on(first, on)}."
    elif first is not None:
        yield f"No registration closes this week; the next is wanted by {first:%A} {in_words(first)}."
    else:
        yield "No registration is to do."
    rest = []
    if number[State.TO_DO] > week:
        rest.append(f"{number[State.TO_DO]:,} {_be(number[State.TO_DO])} to do in all")
    if waiting := number[State.WAITING]:
        rest.append(f"{waiting:,} {'waits' if waiting == 1 else 'wait'} for a date")
    if sent := number[State.SENT]:
        rest.append(f"{sent:,} {_be(sent)} sent without a number on file yet")
    if rest:
        yield f"{listed(rest)}."
    if late:
        yield f"{late:,} {'was' if late == 1 else 'were'} missed in the last {LATELY.days} days."


def _on(day: dt.date, on: dt.date) -> str:
    return "today" if day == on else f"on {day:%A} {in_words(day)}"


def _be(number: int) -> str:
    return "is" if number == 1 else "are"


# --------------------------------------------------------------------------------------------------- one system


def system(pk: int, *, company: str, on: dt.date) -> pages.SystemPage | None:
    """Show the registrations of one system, payer by payer; None if there is no such system."""
    row = next(iter(_system(pk)), None)
    if row is None:
        return None
    rows = sorted(shown.of_system(pk), key=as_it_stands)
    told = gather.fleet_facts(rows)
    pks = {terms.code: pk for pk, terms in _with_registration().items()}
    held: dict[str, list[tuple[gather.Told, facts.Holding]]] = {}
    for one in (told[unit.pk] for unit in rows):
        for holding in one.holdings:
            if holding.terms.code in pks:
                held.setdefault(payer_name(holding.terms), []).append((one, holding))
    owner = _owner(row.site)
    recorded = _recorded([unit.pk for unit in rows])
    reminders = _reminders(pk)
    parts = [
        _part(name, found, pks, row, owner=owner, company=company, recorded=recorded, reminders=reminders, on=on)
        for name, found in held.items()
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
    )


@prepared
def _system(pk: int) -> QuerySet[models.System]:
    return models.System.objects.filter(pk=pk).select_related("site__customer")


@prepared
def _reminders(system: int) -> QuerySet[models.Reminder]:
    return models.Reminder.objects.filter(system=system).select_related("terms")


def _urgency(part: pages.PayerPart) -> int:
    return min((pages.STATES.index(line.state) for line in part.lines), default=len(pages.STATES))


def _part(
    name: str,
    found: Sequence[tuple[gather.Told, facts.Holding]],
    pks: Mapping[str, int],
    system: models.System,
    *,
    owner: tuple[str, str, str],
    company: str,
    recorded: Sequence[models.Registration],
    reminders: Sequence[models.Reminder],
    on: dt.date,
) -> pages.PayerPart:
    standings = [_standing(told.unit, holding, on=on) for told, holding in found]
    lines = tuple(
        _line(told, holding, standing, pks[holding.terms.code], on=on)
        for (told, holding), standing in zip(found, standings, strict=True)
    )
    codes = {holding.terms.code: holding.terms.payer for _, holding in found}
    mine = [
        told for told in recorded if (told.terms.code in codes if told.terms else next(iter(codes.values())) == "maker")
    ]
    asked = [(told, holding) for (told, holding), line in zip(found, lines, strict=True) if line.open] or list(found)
    sent = [standing.day for standing in standings if standing.state is State.SENT and standing.day]
    return pages.PayerPart(
        number=min(pks[code] for code in codes),
        payer=name,
        sentences=tuple(_part_sentences(standings, on=on)),
        lines=lines,
        asks=_asks(name, asked, system, owner=owner, company=company),
        wanted=tuple(_wanted(found, standings)),
        recorded=tuple(_recorded_words(mine)),
        owners=tuple(_owners(found, lines, pks, reminders)),
        sent_on=min(sent, default=None),
    )


def _line(told: gather.Told, holding: facts.Holding, standing: Standing, pk: int, *, on: dt.date) -> pages.UnitLine:
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
    """Say each standing once, with how many units it is about."""
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
    found: Sequence[tuple[gather.Told, facts.Holding]],
    system: models.System,
    *,
    owner: tuple[str, str, str],
    company: str,
) -> str:
    """Write what a payer's form asks for, to be copied at once."""
    told = [
        ("Owner", owner[0]),
        ("Address", address(system.site)),
        ("Phone", owner[1]),
        ("E-mail", owner[2]),
        ("Use", told_use(found[0][0].unit)),
        ("Contractor", company),
    ]
    head = [
        f"Registration with {name}",
        *(f"{word}: {value or 'not on file'}" for word, value in told if value or word != "Use"),
    ]
    units = {one.row.pk: one for one, _ in found}
    return "\n".join([*head, "", *(_asks_of(one) for one in units.values())])


def told_use(unit: facts.Unit) -> str:
    """Give what the house was used for when the unit was put in, blank where nobody recorded it."""
    uses = unit.first_site.uses
    return uses[0].use if uses else ""


def _asks_of(told: gather.Told) -> str:
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
                ("came in exchange", unit.came_on),
            )
            if day
        ),
    ]
    text = "; ".join(known)
    return f"{text[:1].upper()}{text[1:]}"


def _owner(site: models.Site) -> tuple[str, str, str]:
    """Give the owner's name, phone and e-mail: the contact who is one, else the customer."""
    contact = next(iter(_owning(site.pk)), None)
    payer = site.customer
    if contact is None:
        return payer.name, payer.phone, payer.email
    return contact.name, contact.phone or payer.phone, contact.email or payer.email


@prepared
def _owning(site: int) -> QuerySet[models.Contact]:
    return models.Contact.objects.filter(site=site, role="owner")[:1]


def _wanted(
    found: Sequence[tuple[gather.Told, facts.Holding]], standings: Sequence[Standing]
) -> Iterator[pages.Wanted]:
    waiting: dict[str, list[int]] = {}
    for (told, _), standing in zip(found, standings, strict=True):
        if standing.state is State.WAITING:
            waiting.setdefault(standing.reason.what, []).append(told.row.pk)
    for date, units in waiting.items():
        # Terms that were bought count from the install where no other day is on file, so that is what is asked for.
        name = "installed_on" if date == "attached_on" else date
        yield pages.Wanted(name, DATES[name], tuple(dict.fromkeys(units)))


@prepared
def _recorded(units: Iterable[int]) -> QuerySet[models.Registration]:
    found = models.Registration.objects.filter(unit__in=units).select_related("terms", "proof")
    return found.order_by("registered_on", "accepted_late_on", "number", "pk")


def _recorded_words(recorded: Sequence[models.Registration]) -> Iterator[pages.Recorded]:
    alike: dict[str, list[models.Registration]] = {}
    for told in recorded:
        alike.setdefault(_told_words(told), []).append(told)
    for text, found in alike.items():
        here = tuple(told.pk for told in found if told.load_id is None and not told.with_install)
        proofs = dict.fromkeys(proof for told in found if (proof := proves(told.proof)) is not None)
        units = len({told.unit_id for told in found})
        yield pages.Recorded(text, units, here, tuple(told.pk for told in found), tuple(proofs))


def _told_words(told: models.Registration) -> str:
    number = f"number {told.number}" if told.number else "no number yet"
    if told.accepted_late:
        day = f" on {in_words(told.accepted_late_on)}" if told.accepted_late_on else ""
        who = f" by {told.told_by}" if told.told_by else ""
        return f"Accepted late in writing{day}{who}"
    day = f" on {in_words(told.registered_on)}" if told.registered_on else ""
    return f"Registered{day}, {number}"


def _owners(
    found: Sequence[tuple[gather.Told, facts.Holding]],
    lines: Sequence[pages.UnitLine],
    pks: Mapping[str, int],
    reminders: Sequence[models.Reminder],
) -> Iterator[pages.OwnersTurn]:
    """List the terms under which only the owner may register what is still open."""
    seen = set()
    for (_, holding), line in zip(found, lines, strict=True):
        terms = holding.terms
        rules = terms.registration
        if rules is None or rules.by != "owner" or not line.open or terms.code in seen:
            continue
        seen.add(terms.code)
        asked = tuple(f"{in_words(one.reminded_on)}, {one.way}" for one in reminders if one.terms.code == terms.code)
        yield pages.OwnersTurn(pks[terms.code], terms.title, asked)


def letter(pk: int, terms: int, *, company: str, on: dt.date) -> pages.OwnerLetter | None:
    """Write the letter to the owner of a system about some terms; None where nothing is theirs to register."""
    row = models.System.objects.select_related("site__customer").filter(pk=pk).first()
    paper = models.Terms.objects.filter(pk=terms).first()
    if row is None or paper is None:
        return None
    book = gather.terms_on_file()
    rows = sorted(models.Unit.objects.with_facts().in_service().filter(system=row), key=as_it_stands)
    told = gather.fleet_facts(rows, book)
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
    name, _, _ = _owner(row.site)
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
                    " ".join(filter(None, (row.site.city, row.site.region.split("-")[-1], row.site.postcode))),
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
