"""Layouts compared, on paper, for whoever chooses between them."""

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer, Table, TableStyle

from fleet.business.pages.layouts import BESIDES, Compared
from fleet.elements import charts
from fleet.elements.drawing import RULE, bold, heading, letterhead, numbered_pages, plain, quiet, right, small, text
from fleet.rules.company import Company
from fleet.rules.dates import in_words

_MARGIN = 18 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN


@lru_cache
def _title() -> ParagraphStyle:
    return ParagraphStyle("title", parent=plain(), fontName=bold(), fontSize=16, leading=20, spaceAfter=4)


def pdf(compared: Compared, *, customer: str, company: Company, on: dt.date) -> bytes:
    """Draw the paper."""
    return numbered_pages(
        _story(compared, customer, company, on),
        title="Layouts compared",
        author=str(company),
        side=_MARGIN,
        top=15 * mm,
    )


def _story(compared: Compared, customer: str, company: Company, on: dt.date) -> Iterator[Flowable]:
    yield from letterhead(company, _WIDTH)
    yield text(in_words(on), quiet())
    years = "one year" if compared.years == 1 else f"{compared.years} years"
    yield text(f"What each layout takes over {years}", _title())
    if customer:
        yield text(f"For {customer}", plain())
    for one in compared.columns:
        yield KeepTogether([text(one.name, heading()), text(one.sentence, plain())])
    if len(compared.columns) > 1:
        yield text("Side by side", heading())
    for measure in compared.measures:
        yield KeepTogether([text(measure.title, quiet()), charts.bars(measure.bars, _WIDTH), Spacer(1, 1 * mm)])
    yield KeepTogether([text(compared.money.title, heading()), charts.lines(compared.money, _WIDTH, 70 * mm)])
    yield CondPageBreak(60 * mm)
    yield text("In figures", heading())
    yield _table(compared)
    yield Spacer(1, 4 * mm)
    for words in BESIDES:
        yield text(words, plain())


def _table(compared: Compared) -> Table:
    names: Sequence[str] = [one.name for one in compared.columns]
    head = [text("", quiet()), *(text(name, ParagraphStyle("head", parent=quiet(), alignment=2)) for name in names)]
    drawn: list[list[Any]] = [
        [
            text(f"{row.title} ({row.by})" if row.by else row.title, small()),
            *(text(one, right()) for one in row.figures),
        ]
        for row in compared.rows
    ]
    first = _WIDTH * (0.5 if len(names) < 3 else 0.36)
    rest = (_WIDTH - first) / len(names)
    style = TableStyle(
        [
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
            ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
            ("LINEABOVE", (0, -1), (-1, -1), 0.8, colors.black),
        ]
    )
    return Table([head, *drawn], colWidths=[first, *[rest] * len(names)], repeatRows=1, hAlign="LEFT", style=style)
