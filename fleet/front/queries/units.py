"""The unit page: everything on file of one unit, and what the rules make of it today."""

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.db.models import DateField

from fleet import models
from fleet.coverage.pages.answers import Choices, Question, first_asked, usual
from fleet.coverage.queries import failing
from fleet.elements.named import address, as_it_stands, gone, link, start_words, what
from fleet.elements.pieces import Fact
from fleet.facts import TermsBook, Told, fleet_facts, terms_on_file
from fleet.front.pages import units as pages
from fleet.front.pages.lifeline import Event, LifeLine, Promise, draw
from fleet.front.pages.units import Identity, TermsHeld, UnitPage
from fleet.front.queries import unit_history
from fleet.models import facts as unit_facts
from fleet.registry.pages.documents import Proof
from fleet.registry.queries.documents import proves
from fleet.rules import registration, stretches, wording, words
from fleet.rules.coverage import Group, groups
from fleet.rules.dates import in_words
from fleet.rules.facts import Holding
from fleet.rules.findings import Answer, Result
from fleet.rules.registration import Standing, State
from fleet.rules.starts import start_of

_NOT_RECORDED = ""


def page(pk: int, *, on: dt.date, component: str = "", cause: str = "", day: dt.date | None = None) -> UnitPage | None:
    """The page of a unit, None if there is none; by default about today and what fails first in its role."""
    units = models.Unit.objects.select_related("system__site__customer", "took_over_from")
    row = units.prefetch_related("idles", "records").filter(pk=pk).first()
    if row is None:
        return None
    book = terms_on_file()
    told = fleet_facts([row], book)[row.pk]
    question = Question(component or first_asked(row.role), on=day or on, asked=on, cause=cause)
    proofs = _proofs(told)
    history = unit_history.entries(told, book)
    events = unit_history.events(told)
    return UnitPage(
        identity=_identity(told),
        today=on,
        sentences=_sentences(told, on=on),
        lifeline=_lifeline(told, events, on=on),
        choices=_choices(row.role),
        answer=failing.part(told, book, question),
        history=history,
        holdings=tuple(_held(told, holding, book, proofs, on=on) for holding in told.holdings),
    )


# ------------------------------------------------------------------------------------------------- who and where


def _identity(told: Told) -> Identity:
    row = told.row
    system = row.system
    site, customer = system.site, system.site.customer
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
        taken_over_by=None if successor is None else link(successor),
        neighbors=tuple(link(one, here=one.pk == row.pk) for one in sorted(system.units.all(), key=as_it_stands)),
        dates=_dates(told, site),
        facts=_facts(told),
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
    return (*(Fact(fact.page, _in_words(fact, told.root)) for fact in asked), *(fact for fact in own if fact.value))


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


def read(told: Told, *, on: dt.date) -> tuple[tuple[Group, ...], ...]:
    """Answer a failure today of every component: the groups of each holding."""
    return tuple(groups(told.unit, holding, on=on) for holding in told.holdings)


def ends(role: str, by_holding: Sequence[Sequence[Group]], *, on: dt.date) -> dict[str, tuple[pages.Ends, ...]]:
    """Find until when each kind of cost is paid by anybody, for components that a unit of this role has; `*`: all others."""
    found: dict[str, tuple[pages.Ends, ...]] = {}
    for kind in words.KINDS:
        answers = [
            {name: group.answer for group in each if group.kind == kind for name in group.components}
            for each in by_holding
        ]
        names = dict.fromkeys(name for each in answers for name in each if name == "*" or name in usual(role))
        together: dict[tuple[Result, dt.date | None, dt.date | None], list[str]] = {}
        for name in names:
            told_of = [answer for each in answers if (answer := each.get(name) or each.get("*")) is not None]
            together.setdefault(_best(told_of, on=on), []).append(name)
        found[kind] = tuple(pages.Ends(tuple(these), *best) for best, these in together.items())
    return found


def _best(answers: Iterable[Answer], *, on: dt.date) -> tuple[Result, dt.date | None, dt.date | None]:
    """Choose the best result with the last day it reaches (None: for life, or never), and the first where that is to come."""
    answers = tuple(answers)
    covered = [answer for answer in answers if answer.result is Result.COVERED]
    if covered:
        forever = any(answer.lifetime for answer in covered)
        return Result.COVERED, None if forever else max(answer.last for answer in covered if answer.last), None
    perhaps = [answer for answer in answers if answer.result is Result.COVERED_IF]
    if perhaps:
        forever = any(answer.possible_lifetime for answer in perhaps)
        return Result.COVERED_IF, None if forever else max(a.possible_last for a in perhaps if a.possible_last), None
    if any(answer.result is Result.CANNOT_SAY for answer in answers):
        return Result.CANNOT_SAY, None, None
    to_come = min((answer.first for answer in answers if answer.first and answer.first > on), default=None)
    return Result.NOT_COVERED, max((answer.last for answer in answers if answer.last), default=None), to_come


def _sentences(told: Told, *, on: dt.date) -> tuple[str, ...]:
    """What matters first, in sentences: until when parts and labor are paid for, and what is to be registered."""
    if told.row.removed_on is not None:
        return ()
    if not told.holdings:
        return ("This unit holds no terms on file, so the customer pays.",)
    found = ends(told.row.role, read(told, on=on), on=on)
    said = [
        f"{kind.capitalize()}: {'; '.join(pages.cell_lines(found[kind], over_too=True))}."
        for kind in ("parts", "labor")
    ]
    standings = [(holding, _standing(told, holding, on=on)) for holding in told.holdings]
    said += [
        f"Registration with {holding.terms.maker if holding.terms.payer == 'maker' else 'the ' + holding.terms.payer}: "
        f"{wording.standing(standing, asked=on)}"
        for holding, standing in standings
        if standing.state is State.TO_DO
    ]
    return tuple(said)


# ------------------------------------------------------------------------------------------------- the life line


def _lifeline(told: Told, events: Sequence[Event], *, on: dt.date) -> LifeLine:
    known = (told.unit.started_on, told.unit.installed_on, told.unit.purchased_on)
    return draw(_promises(told, on=on), events, today=on, known=[day for day in known if day is not None])


def _promises(told: Told, *, on: dt.date) -> list[Promise]:
    """List what is drawn: the courses of each holding, without those that only name components this unit has not."""
    mine = usual(told.row.role)
    found = []
    for holding in told.holdings:
        shown = [
            (course, names)
            for course in stretches.courses(told.unit, holding, asked=on)
            if (names := [name for name in course.components if name == "*" or name in mine])
        ]
        for course, names in shown:
            alone = [one.kind for one, _ in shown].count(course.kind) == 1
            named = pages.components_in_words(names, alone=alone)
            found.append(Promise(holding.terms.payer, course.kind, named, holding.terms.title, course.stretches))
    return found


# ------------------------------------------------------------------------------------------------- terms held


def _standing(told: Told, holding: Holding, *, on: dt.date) -> Standing:
    start = start_of(told.unit, holding)
    return registration.standing(told.unit, holding, start=start.day, asked=on)


def _proofs(told: Told) -> list[tuple[int | None, Proof]]:
    """List the papers that prove a registration of the unit, or of one before it in its line, with whose terms they are of."""
    if not any(one.registered_on or one.registration_number or one.accepted_late for one in told.holdings):
        return []
    line = [told.row]
    while line[-1].took_over_from is not None:
        line.append(line[-1].took_over_from)
    found = models.Registration.objects.filter(unit__in=line, proof__isnull=False).select_related("proof")
    return [(one.terms_id, proof) for one in found.order_by("pk") if (proof := proves(one.proof)) is not None]


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
        source=f"{terms.source_title}, page {terms.source_page}" if terms.source_page else terms.source_title,
        proofs=tuple(dict.fromkeys(proof for whose, proof in proofs if whose in mine)),
    )


def _choices(role: str) -> Choices:
    mine = usual(role)
    return Choices(mine, tuple(name for name in words.COMPONENTS if name not in mine), words.CAUSES)
