"""Terms that somebody writes on screen, before they are on file: read back, compared with those they replace, tried on a unit."""

import datetime as dt
from dataclasses import dataclass, replace
from typing import Any

from fleet import models
from fleet.coverage.pages.answers import AnswerPart, Question, first_asked
from fleet.coverage.queries import failing
from fleet.facts import TermsBook, Told, fleet_facts, terms_on_file
from fleet.facts.terms import from_document
from fleet.rules import coverage, payers, wording, words
from fleet.rules.facts import Holding
from fleet.rules.terms import Terms


@dataclass(frozen=True, slots=True)
class Compared:
    """What new terms say beside those that they replace: sentences that are new, those that are gone, how many units change."""

    pk: int
    title: str
    added: tuple[str, ...]
    dropped: tuple[str, ...]
    held_by: int


@dataclass(frozen=True, slots=True)
class Tried:
    """What would be said of a unit: now, and with the new terms; `fits` says whether it would get them.

    `as_bought`: they are a plan that is only ever given to a unit, so they are tried as if given to it today.
    """

    unit: models.Unit
    fits: bool
    as_bought: bool
    now: AnswerPart
    then: AnswerPart


def document(pk: int) -> dict[str, Any] | None:
    """The table of terms on file; None where there are none of that key."""
    row = models.Terms.objects.filter(pk=pk).first()
    return None if row is None else from_document(row.document)


def fresh_code(code: str) -> str:
    """A code that no terms on file have, after that of the terms it replaces."""
    taken = set(models.Terms.objects.values_list("code", flat=True))
    stem, number = code[:76], 2
    while f"{stem}-{number}" in taken:
        number += 1
    return f"{stem}-{number}"


def compared(terms: Terms) -> Compared | None:
    """New terms beside those that they replace; None where they replace none that are on file."""
    book = terms_on_file()
    former = book.by_code.get(terms.replaces)
    if former is None:
        return None
    before, after = wording.terms_in_words(former), wording.terms_in_words(terms)
    pk = book.pks[former.code]
    return Compared(
        pk=pk,
        title=former.title,
        added=tuple(text for text in after if text not in before),
        dropped=tuple(text for text in before if text not in after),
        held_by=models.HoldingRow.objects.filter(terms=pk).count(),
    )


def units_of(serial: str) -> list[models.Unit]:
    """The units in service with a serial, look-alike letters told apart."""
    key = words.key(serial)
    return list(models.Unit.objects.in_service().filter(serial_key=key).order_by("pk")) if key else []


def tried(terms: Terms, unit: models.Unit, *, on: dt.date) -> Tried:
    """What would be said today of a failure of a unit, if these terms were on file."""
    book = terms_on_file()
    question = Question(first_asked(unit.role), on=on, asked=on)
    now = fleet_facts([unit], book)[unit.pk]
    with_these = _with(book, terms)
    then = fleet_facts([unit], with_these)[unit.pk]
    fits = any(holding.terms.code == terms.code for holding in then.holdings)
    as_bought = payers.BY_CODE[terms.payer].bought and not fits
    if as_bought:
        then = _given(then, Holding(terms, attached=True, attached_on=on))
    return Tried(
        unit=unit,
        fits=fits or as_bought,
        as_bought=as_bought,
        now=failing.part(now, book, question),
        then=failing.part(then, with_these, question),
    )


def _with(book: TermsBook, terms: Terms) -> TermsBook:
    """The terms on file as they would be with these, which have no key yet."""
    others = tuple(one for one in book.all if one.code != terms.code)
    withdrawn = book.withdrawn | ({terms.replaces} if terms.replaces else set())
    return TermsBook((*others, terms), {**book.pks, terms.code: book.pks.get(terms.code, 0)}, frozenset(withdrawn))


def _given(told: Told, holding: Holding) -> Told:
    """A unit with one more promise, in the order in which payers are asked."""
    return replace(told, holdings=coverage.in_order([*told.holdings, holding]))
