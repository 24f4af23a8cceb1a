"""The unit page: everything on file of one unit, and what the rules make of it today."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from django.db.models import DateField

from fleet import models
from fleet.coverage.pages.answers import Choices, Question, first_asked, usual
from fleet.coverage.queries import failing
from fleet.derived.claim_rows import payer_name
from fleet.elements.named import address, as_it_stands, gone, link, start_words, what
from fleet.elements.pieces import Fact
from fleet.facts import TermsBook, Told, fleet_facts, terms_on_file
from fleet.front.pages import payer_bands
from fleet.front.pages import units as pages
from fleet.front.pages.lifeline import LifeLine, draw
from fleet.front.pages.lifeline_drawing import Event, Promise
from fleet.front.pages.units import Identity, TermsHeld, UnitPage
from fleet.front.queries import deadlines, unit_history
from fleet.models import facts as unit_facts
from fleet.registry.pages.documents import Proof
from fleet.registry.queries.documents import proves
from fleet.rules import registration, stretches, wording, words
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import in_words
from fleet.rules.facts import Holding
from fleet.rules.reach import Reach, course_of, reach
from fleet.rules.registration import Standing, State
from fleet.rules.starts import start_of
from fleet.rules.stretches import Course
from fleet.rules.wording.names import lower, source

_NOT_RECORDED = ""


def page(
    pk: int,
    sheet: CareSheet | None = None,
    *,
    on: dt.date,
    component: str = "",
    cause: str = "",
    day: dt.date | None = None,
) -> UnitPage | None:
    """The page of a unit, None if there is none; by default about today and what fails first in its role.

    `sheet`: the care sheet in force, if there is one.
    """
    units = models.Unit.objects.select_related("system__site__customer", "took_over_from", "in_place_of")
    row = units.prefetch_related("idles", "records").filter(pk=pk).first()
    if row is None:
        return None
    book = terms_on_file()
    told = fleet_facts([row], book, sheet=sheet)[row.pk]
    question = Question(component or first_asked(row.role), on=day or on, asked=on, cause=cause)
    holdings = read(told, on=on)
    proofs = _proofs(told)
    history = unit_history.entries(told, book, sheet)
    events = unit_history.events(told, sheet)
    return UnitPage(
        identity=_identity(told),
        today=on,
        sentences=sentences(told, holdings, on=on),
        lifeline=lifeline(told, holdings, events, on=on),
        folded=lifeline(told, holdings, events, on=on, by_payer=True),
        choices=_choices(row.role),
        answer=failing.part(told, book, question, {holding.terms.code: courses for holding, courses in holdings}),
        history=history,
        holdings=tuple(_held(told, holding, book, proofs, on=on) for holding in told.holdings),
        deadlines=tuple(deadlines.of_units([told], book, on=on)),
        last_visit=unit_history.last_visit(row, sheet),
    )


# ------------------------------------------------------------------------------------------------- who and where


def _identity(told: Told) -> Identity:
    row = told.row
    system = row.system
    site, customer = system.site, system.site.customer
    neighbors = list(system.units.all())
    # Asked for only where there may be one: nearly every unit is the first and the last of its line.
    successor = getattr(row, "taken_over_by", None) if row.removed_on is not None else None
    return Identity(
        pk=row.pk,
        maker=row.maker,
        model=row.model,
        serial=row.serial,
        what=what(row),
        room=row.room,
        system_pk=system.pk,
        system=system.name,
        site_pk=site.pk,
        site=site.name,
        customer_pk=customer.pk,
        customer=customer.name,
        phone=customer.phone,
        address=address(site),
        gone=gone(row),
        came="" if row.replaced_on is None else f"Came in exchange on {in_words(row.replaced_on)}",
        took_over_from=None if row.took_over_from is None else link(row.took_over_from),
        in_place_of=None if row.in_place_of is None else link(row.in_place_of),
        taken_over_by=None if successor is None else link(successor),
        neighbors=tuple(link(one, here=one.pk == row.pk) for one in sorted(neighbors, key=as_it_stands)),
        dates=_dates(told, site),
        facts=_facts(told),
        may_swap=sum(one.role == "head" and one.removed_on is None for one in neighbors) > 1
        and row.role == "head"
        and row.removed_on is None,
    )


def _day(day: dt.date | None) -> str:
    return _NOT_RECORDED if day is None else in_words(day)


def _dates(told: Told, site: models.Site) -> tuple[Fact, ...]:
    """List the dates that count for the unit: those of the one it took over from, if it did."""
    found = [
        Fact(fact.page, _in_words(fact, told.root))
        for fact in unit_facts.facts_of(models.Unit).values()
        if fact.handed_on and isinstance(fact.field, DateField)
    ]
    if site.new_construction or site.closed_on is not None:
        found.append(Fact("Closing of the new house", _day(site.closed_on)))
    return tuple(found)


def _facts(told: Told) -> tuple[Fact, ...]:
    """List the other facts: what terms may ask about whether it is known or not, and all else that is on file."""
    facts = [fact for fact in unit_facts.facts_of(models.Unit).values() if fact.page]
    asked = [fact for fact in facts if fact.handed_on and not isinstance(fact.field, DateField)]
    own = [Fact(fact.page, _in_words(fact, told.row)) for fact in facts if not fact.handed_on]
    return (*(Fact(fact.page, _now(fact, told)) for fact in asked), *(fact for fact in own if fact.value))


def _now(fact: unit_facts.Fact, told: Told) -> str:
    """What terms may ask about as it is by now: whether a system matches may have changed with its outdoor unit."""
    match = told.unit.matches[-1] if fact.field.name == "matched_system" and told.unit.matches else None
    if match is None:
        return _in_words(fact, told.root)
    since = f"since the outdoor unit was exchanged on {in_words(match.first)}"
    return f"{'not known' if match.matched is None else 'yes' if match.matched else 'no'}, {since}"


def _in_words(fact: unit_facts.Fact, row: models.Unit) -> str:
    """A unit's value for a fact, in words; blank where nothing is known."""
    match getattr(row, fact.field.name):
        case str() as text if fact.field.name == "installed_by":
            firm = "us" if text in ("", "us") else text
            return " ".join(filter(None, (firm, row.installer and f"({row.installer})")))
        case str() as text:
            return ", ".join(text.split(";")) if fact.any_of else text
        case None:
            return _NOT_RECORDED
        case bool() as known:
            return "yes" if known else "no"
        case dt.date() as day:
            return in_words(day)
        case Decimal() as number:
            return f"{number.normalize():f} {fact.measure}".strip()
        case value:
            return f"{value} {fact.measure}".strip()


# ------------------------------------------------------------------------------------------------- until when

# A holding with what it promises over time, asked today. Everything a page says of last days is read from these.
Read = tuple[tuple[Holding, tuple[Course, ...]], ...]


def read(told: Told, *, on: dt.date) -> Read:
    """What each holding of a unit promises over time, asked today."""
    return tuple((holding, stretches.courses(told.unit, holding, asked=on)) for holding in told.holdings)


def ends(told: Told, holdings: Read, *, on: dt.date) -> dict[str, tuple[pages.Ends, ...]]:
    """Who pays each kind of cost until when, for the components that a unit of its role has; `*`: all others."""
    by_kind: dict[str, tuple[pages.Ends, ...]] = {}
    mine = usual(told.row.role)
    for kind in words.KINDS:
        of_kind = [(holding, [course for course in courses if course.kind == kind]) for holding, courses in holdings]
        far = {
            (holding.terms.code, course): reach(told.unit, holding, course, on=on, asked=on)
            for holding, courses in of_kind
            for course in courses
        }
        named = (name for _, courses in of_kind for course in courses for name in course.components)
        alike: dict[tuple[tuple[str, Reach], ...], list[str]] = {}
        for name in dict.fromkeys((*(name for name in named if name in mine), "*") if far else ()):
            promises = [
                (holding.terms.payer, far[holding.terms.code, course])
                for holding, courses in of_kind
                if (course := course_of(courses, kind, name)) is not None
            ]
            alike.setdefault(pages.ends_of((), promises).payers, []).append(name)
        by_kind[kind] = tuple(pages.Ends(tuple(names), payers) for payers, names in alike.items())
    return by_kind


def sentences(told: Told, holdings: Read, *, on: dt.date) -> tuple[str, ...]:
    """What matters first, in sentences: until when parts and labor are paid for, and what is to be registered."""
    if told.row.removed_on is not None:
        return ()
    if not told.holdings:
        return ("No terms on file cover this unit, so the customer pays.",)
    by_kind = ends(told, holdings, on=on)
    lines = [pages.kind_in_words(kind, by_kind[kind], on=on) for kind in ("parts", "labor", "refrigerant")]
    standings = [(holding, _standing(told, holding, on=on)) for holding in told.holdings]
    lines += [
        f"{payer_name(holding.terms)}: {lower(wording.standing(standing, asked=on))}"
        for holding, standing in standings
        if standing.state is State.TO_DO
    ]
    return tuple(lines)


# ------------------------------------------------------------------------------------------------- the life line


def lifeline(told: Told, holdings: Read, events: Sequence[Event], *, on: dt.date, by_payer: bool = False) -> LifeLine:
    """The life line of a unit, from what its holdings promise over time; at a glance by payer, else by kind and component."""
    known = (told.unit.started_on, told.unit.installed_on, told.unit.purchased_on)
    drawn = promises(told, holdings)
    if by_payer:
        drawn = payer_bands.by_payer(drawn)
    return draw(drawn, events, today=on, known=[day for day in known if day is not None])


def promises(told: Told, holdings: Read) -> list[Promise]:
    """What is drawn: the courses of each holding, without those that only name components this unit has not."""
    mine = usual(told.row.role)
    drawn = []
    for holding, courses in holdings:
        shown = [
            (course, names)
            for course in courses
            if (names := tuple(name for name in course.components if name == "*" or name in mine))
        ]
        for course, names in shown:
            alone = [one.kind for one, _ in shown].count(course.kind) == 1
            named = pages.components_in_words(names, alone=alone)
            terms = holding.terms
            drawn.append(Promise(terms.payer, course.kind, named, terms.title, course.stretches, names))
    return drawn


# ------------------------------------------------------------------------------------------------- terms held


def _standing(told: Told, holding: Holding, *, on: dt.date) -> Standing:
    start = start_of(told.unit, holding)
    return registration.standing(told.unit, holding, start=start.day, asked=on)


def _proofs(told: Told) -> list[tuple[int | None, Proof]]:
    """List the papers that prove a registration of the unit, or of one before it in its line, with whose terms they are of."""
    found = sorted((one for unit in told.line for one in unit.registrations.all()), key=lambda one: one.pk)
    return [(one.terms_id, proof) for one in found if (proof := proves(one.proof)) is not None]


def _held(
    told: Told,
    holding: Holding,
    book: TermsBook,
    proofs: Sequence[tuple[int | None, Proof]],
    *,
    on: dt.date,
) -> TermsHeld:
    terms = holding.terms
    # Told without terms, it is of every maker's.
    mine = (book.pks[terms.code], None if terms.payer == "maker" else 0)
    start = start_of(told.unit, holding)
    standing = _standing(told, holding, on=on)
    return TermsHeld(
        code=terms.code,
        pk=book.pks[terms.code],
        title=terms.title,
        payer=terms.payer,
        attached=holding.attached,
        start=start.day,
        start_words=start_words(start),
        assumed=start.assumed,
        registration=wording.standing(standing, asked=on),
        state=standing.state.value,
        number=holding.registration_number,
        source=source(terms.source_title, terms.source_page),
        proofs=tuple(dict.fromkeys(proof for whose, proof in proofs if whose in mine)),
    )


def _choices(role: str) -> Choices:
    mine = usual(role)
    return Choices(mine, tuple(name for name in words.COMPONENTS if name not in mine), words.CAUSES)
