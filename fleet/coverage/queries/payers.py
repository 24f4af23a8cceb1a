"""What payers said of units, held against what is kept of the terms on file."""

from collections.abc import Iterable, Sequence

from django.db.models import QuerySet

from fleet import models
from fleet.coverage.pages import payers as pages
from fleet.elements.lists import Cell, Link, Listing, Row, in_order, sort_of, unit_cell
from fleet.models.prepared import prepared
from fleet.rules import disagreements
from fleet.rules.findings import Result

SHORT = 5
_USUAL = "said_on"


def of_unit(pk: int, *, by: models.User) -> pages.UnitWords | None:
    """Give what payers said of a unit; None if there is no such unit."""
    unit = models.Unit.objects.filter(pk=pk).first()
    if unit is None:
        return None
    held = models.HoldingRow.objects.filter(unit=unit).order_by("terms__code").values_list("terms", "terms__title")
    return pages.UnitWords(pk, str(unit), _said_of(pk, by=by), tuple(held))


def on_page(pk: int, title: str, held: tuple[tuple[int, str], ...], *, by: models.User) -> pages.UnitWords:
    """Give the same beside a unit's page, which knows the unit and what it holds."""
    return pages.UnitWords(pk, title, _said_of(pk, by=by), held)


def _said_of(unit: int, *, by: models.User) -> tuple[pages.Said, ...]:
    found = _words(unit)
    return tuple(_said(word, ours, mine=word.by_id == by.pk) for word, ours in zip(found, _read(found), strict=True))


@prepared
def _words(unit: int) -> QuerySet[models.PayerWord]:
    return models.PayerWord.objects.filter(unit=unit).select_related("terms")


def differences(asked: pages.Asked, *, sort: str, number: int) -> pages.DifferencesPage:
    """Show one page of the differences that stand."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL)
    return pages.DifferencesPage(asked, Listing.cut(pages.COLUMNS, _rows(_standing(asked)), chosen, number))


def rows(asked: pages.Asked, *, sort: str) -> list[Row]:
    """Give every difference that stands: what somebody recorded by hand stands in memory together."""
    return in_order(_rows(_standing(asked)), pages.COLUMNS, sort_of(sort, pages.COLUMNS, otherwise=_USUAL))


def short() -> pages.ShortDifferences:
    """Give the differences that have stood longest."""
    found = sorted(_standing(pages.Asked()), key=lambda pair: (pair[0].said_on, pair[0].pk))
    lines = (
        (
            word.unit_id,
            str(word.unit),
            f"{word.terms.payer}: {_word(word)}; we read: {disagreements.ours_in_words(ours)}",
        )
        for word, ours in found[:SHORT]
    )
    return pages.ShortDifferences(len(found), tuple(lines))


def _standing(asked: pages.Asked) -> list[tuple[models.PayerWord, disagreements.Ours | None]]:
    if asked == pages.Asked():
        return _differing(_open())
    open_words = models.PayerWord.objects.filter(settled_on=None, unit__gone_on=None)
    if asked.payer:
        open_words = open_words.filter(terms__payer=asked.payer)
    if asked.text:
        open_words = open_words.filter(unit__system__site__customer__name__icontains=asked.text)
    return _differing(list(open_words.select_related("terms", "unit__system__site__customer")))


@prepared
def _open() -> QuerySet[models.PayerWord]:
    found = models.PayerWord.objects.filter(settled_on=None, unit__gone_on=None)
    return found.select_related("terms", "unit__system__site__customer")


def _differing(found: Sequence[models.PayerWord]) -> list[tuple[models.PayerWord, disagreements.Ours | None]]:
    pairs = zip(found, _read(found), strict=True)
    return [(word, ours) for word, ours in pairs if disagreements.differs(_plain(word), ours)]


def _rows(found: Iterable[tuple[models.PayerWord, disagreements.Ours | None]]) -> list[Row]:
    return [
        (
            unit_cell(
                word.unit_id,
                serial=word.unit.serial,
                room=word.unit.room,
                maker=word.unit.maker,
                model=word.unit.model,
            ),
            Cell(word.unit.system.site.customer.name, Link("customer", word.unit.system.site.customer_id)),
            Cell(word.terms.payer),
            Cell(word.said_on),
            Cell(word.who),
            Cell(_about(word)),
            Cell(_word(word)),
            Cell(disagreements.ours_in_words(ours)),
            Cell(word.note),
        )
        for word, ours in found
    ]


def _read(found: Sequence[models.PayerWord]) -> list[disagreements.Ours | None]:
    """Give our kept answer for each word, in one query."""
    if not found:
        return []
    kept = models.CoverageRow.objects.filter(
        unit__in={word.unit_id for word in found}, terms__in={word.terms_id for word in found}
    )
    answers: dict[tuple[int, int, str, str], disagreements.Ours] = {}
    for row in kept.only("unit", "terms", "kind", "components", "result", "first_on", "last_on", "lifetime"):
        ours = disagreements.Ours(Result(row.result), row.first_on, row.last_on, row.lifetime)
        for component in row.components.split(";"):
            answers[row.unit_id, row.terms_id, row.kind, component] = ours
    return [
        answers.get((word.unit_id, word.terms_id, word.kind, word.component))
        or answers.get((word.unit_id, word.terms_id, word.kind, "*"))
        for word in found
    ]


def _said(word: models.PayerWord, ours: disagreements.Ours | None, *, mine: bool) -> pages.Said:
    return pages.Said(
        pk=word.pk,
        said_on=word.said_on,
        who=word.who,
        payer=word.terms.payer,
        terms=word.terms.title,
        about=_about(word),
        they_say=_word(word),
        we_read=disagreements.ours_in_words(ours),
        note=word.note,
        differs=word.settled_on is None and disagreements.differs(_plain(word), ours),
        settled_on=word.settled_on,
        settled_how=word.settled_how,
        mine=mine,
    )


def _plain(word: models.PayerWord) -> disagreements.Word:
    return disagreements.Word(word.said_on, word.covered, word.last_on)


def _word(word: models.PayerWord) -> str:
    return disagreements.word_in_words(_plain(word))


def _about(word: models.PayerWord) -> str:
    return f"{word.kind}, {word.component or 'any other component'}"
