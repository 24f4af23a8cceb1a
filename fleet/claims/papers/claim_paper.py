"""The claim as its payer reads it: what failed, why the payer bears it, what is asked, and the proof."""

import io
from collections.abc import Iterator
from functools import partial

from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import CondPageBreak, Flowable, Image, KeepTogether, SimpleDocTemplate, Spacer

from fleet.claims.pages.claim_paper import ClaimPaper, Photo, Section
from fleet.elements.drawing import QUIET, NumberedCanvas, facts, font, heading, letterhead, plain, quiet, ruled, text

_MARGIN = 20 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN - 12  # a frame keeps 6 points free on each side
_PHOTO = (_WIDTH, 105 * mm)


def pdf(paper: ClaimPaper) -> bytes:
    """Draw the paper."""
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=18 * mm, bottomMargin=20 * mm,
        title=f"Claim {paper.number} to {paper.payer}", author=str(paper.sender) or "Your contractor", invariant=1,
    )  # fmt: skip
    document.build(
        list(_story(paper)),
        onFirstPage=partial(_foot, paper),
        onLaterPages=partial(_foot, paper),
        canvasmaker=NumberedCanvas,
    )
    return out.getvalue()


def _foot(paper: ClaimPaper, canvas: Canvas, _: SimpleDocTemplate) -> None:
    """The foot of each page, with the claim's number and unit: pages get separated."""
    canvas.saveState()
    canvas.setFont(font(), 8)
    canvas.setFillColor(QUIET)
    canvas.drawString(_MARGIN + 6, 11 * mm, f"Claim {paper.number} · {paper.about}"[:110])
    canvas.restoreState()


def _story(paper: ClaimPaper) -> Iterator[Flowable]:
    title = ParagraphStyle("title", parent=heading(), fontSize=15, leading=20, spaceBefore=6, spaceAfter=2)
    yield from letterhead(paper.sender, _WIDTH)
    yield text(f"Claim {paper.number} to {paper.payer}", title)
    yield text(paper.title, plain())
    if paper.account:
        yield text(f"Our account with you {paper.account}", plain())
    if paper.reference:
        yield text(f"Your reference {paper.reference}", plain())
    for section in paper.sections:
        yield from _section(section)
    for number, photo in enumerate(paper.photos):
        yield KeepTogether([*([] if number else [text("Photos", heading())]), *_photo(photo)])
    yield Spacer(1, 4 * mm)
    yield text("This is our reading of your terms on file; you decide.", quiet())


def _section(section: Section) -> Iterator[Flowable]:
    # A heading never stands alone at the foot of a page.
    yield CondPageBreak(28 * mm)
    yield text(section.heading, heading())
    if section.facts:
        yield facts(section.facts, _WIDTH)
    if section.rows:
        yield ruled(section.columns, section.rows, _widths(section), sums=section.sums)
    if section.lines:
        yield Spacer(1, 1.5 * mm)
    for line in section.lines:
        yield text(line, plain())


def _widths(section: Section) -> list[float]:
    """Share the width: the last column of amounts is narrow, the first wide; else all are alike."""
    count = len(section.columns)
    if section.sums:
        return [*[(_WIDTH - 32 * mm) / (count - 1)] * (count - 1), 32 * mm]
    return [_WIDTH / count] * count


def _photo(photo: Photo) -> list[Flowable]:
    width, height = ImageReader(io.BytesIO(photo.content)).getSize()
    scale = min(_PHOTO[0] / width, _PHOTO[1] / height, 1.0)
    image = Image(io.BytesIO(photo.content), width=width * scale, height=height * scale, hAlign="LEFT")
    return [image, text(photo.caption, quiet()), Spacer(1, 5 * mm)]
