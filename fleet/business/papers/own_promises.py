"""A promise of our own on paper, for the customer it was made to."""

from collections.abc import Iterator

from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer

from fleet.business.pages.own_promises import Paper
from fleet.elements.drawing import bold, facts, heading, letterhead, numbered_pages, plain, quiet, text

_MARGIN = 20 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN


def pdf(paper: Paper) -> bytes:
    """Draw the paper."""
    return numbered_pages(_story(paper), title="Our promise", author=str(paper.sender), side=_MARGIN, top=16 * mm)


def _story(paper: Paper) -> Iterator[Flowable]:
    yield from letterhead(paper.sender, _WIDTH)
    yield text(
        "Our promise", ParagraphStyle("title", parent=plain(), fontName=bold(), fontSize=18, leading=23, spaceAfter=4)
    )
    of = [("To", paper.customer), ("At", paper.where), ("System", paper.system), ("Good through", paper.until)]
    yield facts([(name, value) for name, value in of if value], _WIDTH)
    yield text("What we promise", heading())
    yield from _lines(paper.words)
    if paper.conditions:
        yield text("On these conditions", heading())
        yield from _lines(paper.conditions)
    yield Spacer(1, 4 * mm)
    yield text(
        "This promise is ours and comes on top of every manufacturer’s warranty and labor plan; it changes none of them.",
        plain(),
    )
    yield Spacer(1, 10 * mm)
    yield KeepTogether(
        [
            text("_" * 40, plain()),
            text(f"{paper.made_by}, {paper.made_on}", plain()),
            text(f"Printed {paper.written_on}", quiet()),
        ]
    )


def _lines(words: str) -> Iterator[Flowable]:
    for line in words.splitlines():
        if line.strip():
            yield text(line, plain())
