"""A site's maintenance sheet: everything it is due, to print and take along, with boxes to tick and what to beware of."""

from collections.abc import Iterator, Sequence
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table, TableStyle

from fleet.care.pages.due import Line, SiteCare
from fleet.elements.drawing import RULE, facts, heading, letterhead, numbered_pages, plain, quiet, small, text
from fleet.rules.company import Company
from fleet.rules.dates import in_table, in_words

_MARGIN = 18 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN
_BOX = 7 * mm
_TICK = 3.4 * mm


def pdf(page: SiteCare, *, company: Company) -> bytes:
    """Draw the sheet."""
    return numbered_pages(
        _story(page, company),
        title=f"Maintenance for {page.customer}, {page.name}",
        author=str(company),
        side=_MARGIN,
        top=15 * mm,
    )


def _story(page: SiteCare, company: Company) -> Iterator[Flowable]:
    yield from letterhead(company, _WIDTH)
    yield text(f"Maintenance for {page.customer}, {page.name}", heading())
    lines = [("Address", page.address), ("Phone", page.phone), ("As of", in_words(page.on))]
    yield facts([(name, value) for name, value in lines if value], _WIDTH)
    if page.sentences:
        yield Spacer(1, 2 * mm)
        yield text(" ".join(page.sentences), plain())
    for system in page.systems:
        yield from _lines(f"{system.name}: our work", system.ours)
        yield from _lines(f"{system.name}: what the customer does", system.owners)
    yield from _cautions(page)


def _lines(title: str, lines: Sequence[Line]) -> Iterator[Flowable]:
    if not lines:
        return
    # A heading never stands alone at the foot of a page.
    yield CondPageBreak(30 * mm)
    yield text(title, heading())
    head = [text(name, quiet()) for name in ("", "Task", "Where", "Due", "Status", "Last done")]
    drawn = [
        [
            _Box(),
            text(line.title, small()),
            text(" ".join(filter(None, (line.of, line.serial if line.of != line.serial else ""))), small()),
            text(in_table(line.due_on), small()),
            text(line.stands, small()),
            text("no record" if line.last_done is None else in_table(line.last_done), small()),
        ]
        for line in lines
    ]
    rest = _WIDTH - _BOX
    widths = [_BOX, *(rest * share for share in (0.255, 0.21, 0.145, 0.25, 0.14))]
    style: list[Any] = [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
    ]
    yield Table([head, *drawn], colWidths=widths, repeatRows=1, hAlign="LEFT", style=TableStyle(style))


class _Box(Flowable):
    """A box to tick."""

    def __init__(self) -> None:
        super().__init__()
        self.width = self.height = _TICK

    def draw(self) -> None:
        """Draw its outline."""
        self.canv.setLineWidth(0.8)
        self.canv.setStrokeColor(colors.black)
        self.canv.rect(0.5, 0, _TICK, _TICK)


def _cautions(page: SiteCare) -> Iterator[Flowable]:
    if not page.cautions:
        return
    yield CondPageBreak(30 * mm)
    yield text("Before you begin", heading())
    yield text(
        "Turn the power off, lock it out and verify it is de-energized before opening a cover. "
        "Only EPA-certified technicians handle refrigerant. The manufacturer’s manual, local codes and the license of "
        "whoever does the work come first.",
        plain(),
    )
    for title, lines in page.cautions:
        yield text(f"{title}: {' '.join(lines)}", small())
        yield Spacer(1, 1.5 * mm)
