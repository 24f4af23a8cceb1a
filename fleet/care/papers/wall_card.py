"""The card that hangs beside a system: what to wash, how and when, in letters that are read from the hall."""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer, Table, TableStyle

from fleet.care.pages.due import WallCard, Wash
from fleet.elements.drawing import RULE, bold, letterhead, numbered_pages, plain, quiet, text
from fleet.rules.company import Company

_MARGIN = 18 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN


@lru_cache
def _large() -> ParagraphStyle:
    return ParagraphStyle("large", parent=plain(), fontSize=15, leading=20, spaceAfter=3)


@lru_cache
def _bullet() -> ParagraphStyle:
    return ParagraphStyle("bullet", parent=_large(), leftIndent=13, firstLineIndent=-13)


@lru_cache
def _title() -> ParagraphStyle:
    return ParagraphStyle("title", parent=plain(), fontName=bold(), fontSize=26, leading=31, spaceAfter=4)


@lru_cache
def _head() -> ParagraphStyle:
    return ParagraphStyle("head", parent=plain(), fontName=bold(), fontSize=19, leading=24, spaceBefore=8, spaceAfter=3)


def pdf(card: WallCard) -> bytes:
    """Draw the card."""
    return numbered_pages(
        _story(card), title=f"What to wash, and when: {card.title}", author=str(card.sender), side=_MARGIN, top=16 * mm
    )


def _story(card: WallCard) -> Iterator[Flowable]:
    yield from letterhead(card.sender, LETTER[0] - 2 * _MARGIN)
    yield text("What to wash, and when", _title())
    yield text(f"{card.customer}, {card.title}", _large())
    if not card.washes:
        yield text("There is nothing here for you to wash: we do all of it.", _large())
    for wash in card.washes:
        yield from _wash(wash)
    if card.washes:
        yield from _ticks(card)
    if card.ours:
        # The heading stays with what it heads; the rest may go on overleaf, so that most cards need one page.
        first, *rest = (text(f"{title}: {when}", plain()) for title, when in card.ours)
        yield KeepTogether([text("What we do", _head()), first])
        yield from rest
    yield Spacer(1, 4 * mm)
    sender = f"Call us at {_reach(card.sender)}" if card.sender else "Call us"
    yield text(f"{sender} if water drips, if it smells, or if you cannot reach a head from a sturdy step.", _large())
    yield text(
        f"Printed {card.written_on}. The manufacturer’s own manual comes first. Never open more than the panel and the filter: what "
        "is behind them is work for a licensed technician.",
        quiet(),
    )


def _reach(company: Company) -> str:
    return f"{company.phone} ({company.name})" if company.phone else str(company)


def _wash(wash: Wash) -> Iterator[Flowable]:
    yield CondPageBreak(50 * mm)
    yield text(f"{wash.title}, {wash.every}", _head())
    rows = [
        [text(what, _large()), text(often if often != wash.every else "", plain()), text(f"next {day}", plain())]
        for what, often, day in wash.whats
    ]
    ruled = TableStyle(
        [
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
        ]
    )
    yield Table(rows, colWidths=[_WIDTH * 0.46, _WIDTH * 0.24, _WIDTH * 0.30], style=ruled, hAlign="LEFT")
    yield Spacer(1, 2 * mm)
    for line in wash.how:
        yield text(f"• {line}", _bullet())


def _ticks(card: WallCard) -> Iterator[Flowable]:
    """A box for each thing and month, to write the day in: what is written there is proof worth keeping."""
    rooms = list(dict.fromkeys(what for wash in card.washes for what, _, _ in wash.whats))
    short = [month[:3] for month in card.months]
    name = _WIDTH * 0.28
    each = (_WIDTH - name) / len(short)
    rows: list[list[Any]] = [["", *(text(month, quiet()) for month in short)]]
    rows += [[text(room, plain()), *[""] * len(short)] for room in rooms]
    ruled = TableStyle(
        [
            ("GRID", (1, 1), (-1, -1), 0.8, colors.black),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 2),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ]
    )
    yield CondPageBreak(45 * mm)
    yield text("Write in the day each time", _head())
    heights = [6 * mm, *[9 * mm] * len(rooms)]
    yield Table(
        rows, colWidths=[name, *[each] * len(short)], rowHeights=heights, style=ruled, hAlign="LEFT", repeatRows=1
    )
    yield Spacer(1, 2 * mm)
    yield text("Show us this card when we come: a manufacturer may ask for it.", plain())
