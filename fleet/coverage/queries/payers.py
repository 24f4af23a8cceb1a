"""What payers said of units, held against what is kept of the terms on file."""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.coverage.pages import payers as pages
from fleet.elements import named
from fleet.elements.cells import Column
from fleet.elements.listing import Filter, List
from fleet.rules import disagreements, payers
from fleet.rules.findings import Result

SHORT = 5


def of_unit(pk: int, *, by: models.User) -> pages.UnitWords | None:
    """What payers said of a unit; None if there is no such unit."""
    unit = models.Unit.objects.filter(pk=pk).first()
    if unit is None:
        return None
    held = models.HoldingRow.objects.filter(unit=unit).order_by("terms__code").values_list("terms", "terms__title")
    return pages.UnitWords(pk, str(unit), _said_of(pk, by=by), tuple(held))


def on_page(pk: int, title: str, held: tuple[tuple[int, str], ...], *, by: models.User) -> pages.UnitWords:
    """What payers said, for a unit's own page, which knows the unit and what it holds."""
    return pages.UnitWords(pk, title, _said_of(pk, by=by), held)


def _said_of(unit: int, *, by: models.User) -> tuple[pages.Said, ...]:
    found = list(models.PayerWord.objects.filter(unit=unit).select_related("terms"))
    return tuple(_said(word, ours, mine=word.by_id == by.pk) for word, ours in zip(found, _read(found), strict=True))


def short() -> pages.ShortDifferences:
    """The differences that have stood longest, and how many there are in all."""
    differing = sorted(_differing(_open()), key=lambda word: (word.said_on, word.pk))
    lines = (
        (
            word.unit_id,
            str(word.unit),
            f"{payers.BY_CODE[word.terms.payer].label}: {_word(word)}; the terms say: {disagreements.ours_in_words(word.ours)}",
        )
        for word in differing[:SHORT]
    )
    return pages.ShortDifferences(len(differing), tuple(lines))


def _open() -> QuerySet[models.PayerWord]:
    said = models.PayerWord.objects.filter(settled_on=None, unit__removed_on=None)
    return said.select_related("terms", "unit__system__site__customer")


def _differing(said: Iterable[models.PayerWord]) -> list[Any]:
    """The words that differ from our reading, each with it."""
    found: list[Any] = list(said)
    for word, ours in zip(found, _read(found), strict=True):
        word.ours = ours
    return [word for word in found if disagreements.differs(_plain(word), word.ours)]


def _rows(filters: Any, on: dt.date) -> list[Any]:
    said = _open()
    if filters.payer:
        said = said.filter(terms__payer=filters.payer)
    if filters.text:
        said = said.filter(unit__system__site__customer__name__icontains=filters.text)
    return _differing(said)


DIFFERENCES = List(
    file="payers-differ",
    caption="Payer disagreements",
    rows=_rows,
    usual="said_on",
    columns=(
        named.unit("unit"),
        named.customer("unit__system__site__customer"),
        Column("payer", "Payer", "payer", value="terms.payer", order=("terms.payer",)),
        Column("said_on", "Said on", "day", order=("said_on",)),
        Column("who", "Who said it"),
        Column("about", "About", value=lambda word: _about(word)),
        Column("they_say", "They say", value=lambda word: _word(word)),
        Column("we_read", "The terms on file say", value=lambda word: disagreements.ours_in_words(word.ours)),
        Column("note", "Note", shown=False),
    ),
    filters=(Filter("payer", choices=payers.CHOICES), Filter("text", "Customer has")),
)


def _read(found: Sequence[models.PayerWord]) -> list[disagreements.Ours | None]:
    """Our stored answer for each word, in its order, by one query; None where no terms speak of it."""
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
