"""The ticket of a visit on paper, for the customer: what was done, what was measured, what was left, and who signed."""

from collections.abc import Iterator
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer

from fleet.care.pages.tickets import Ticket
from fleet.elements.drawing import bold, facts, heading, letterhead, numbered_pages, quiet, small, text
from fleet.rules.company import Company
from fleet.rules.dates import in_words
from fleet.rules.signatures import BOX

_MARGIN = 18 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN
_SIGNATURE = 66 * mm
# What every customer is told; the care sheet's own cautions for what they do themselves come after it.
_CAUTION = (
    "Switch a unit off before you open its panel or its filter door, and open nothing else. Leave electrical work, refrigerant and "
    "whatever needs a ladder to licensed people. If you smell gas, touch no switch: get everybody out, and call the gas company "
    "or 911 from outside. The manufacturer’s manual and local codes come first."
)
_NO_PROMISE = (
    "This ticket says what was done and measured on this visit. It is no warranty and promises no coverage: what is covered stands "
    "in the terms of each promise, and the payer decides."
)


def pdf(ticket: Ticket, *, company: Company) -> bytes:
    """Draw the ticket."""
    return numbered_pages(
        _story(ticket, company),
        title=f"Visit of {ticket.on.isoformat()}, {ticket.customer}",
        author=str(company),
        side=_MARGIN,
        top=15 * mm,
    )


def _story(ticket: Ticket, company: Company) -> Iterator[Flowable]:
    yield from letterhead(company, _WIDTH)
    title = ParagraphStyle("title", parent=heading(), fontSize=15, leading=19, spaceBefore=0)
    yield text(f"Visit on {in_words(ticket.on)}", title)
    lines = [
        ("Customer", f"{ticket.customer}, {ticket.site}"),
        ("Address", ticket.address),
        ("Technician", ticket.technician),
    ]
    yield facts([(name, value) for name, value in lines if value], _WIDTH)
    name = ParagraphStyle("name", parent=heading(), fontSize=12, leading=15, fontName=bold())
    for unit in ticket.units:
        yield CondPageBreak(30 * mm)
        head = [text(unit.name, name), text(unit.what, quiet())]
        # A unit of which only a note was written has nothing to show to the customer.
        if unit.facts:
            yield KeepTogether([*head, facts(unit.facts, _WIDTH)])
    for title_of_part, lines_of_part in (("Found on this visit", ticket.failures), ("Refrigerant", ticket.refrigerant)):
        if lines_of_part:
            yield text(title_of_part, heading())
            for line in lines_of_part:
                yield text(f"• {line[:1].upper()}{line[1:]}", small())
    yield KeepTogether(list(_signed(ticket)))
    yield text("For your own safety", heading())
    yield text(_CAUTION, small())
    for task, cautions in ticket.cautions:
        yield Spacer(1, 1 * mm)
        yield text(f"{task}: {' '.join(cautions)}", small())
    yield Spacer(1, 3 * mm)
    yield text(_NO_PROMISE, quiet())


def _signed(ticket: Ticket) -> Iterator[Flowable]:
    yield text("Signature", heading())
    if ticket.signed is None:
        yield text("Nobody was asked to sign.", small())
        return
    if ticket.signed.strokes:
        yield _Strokes(ticket.signed.strokes)
    when = f", {ticket.signed_at}" if ticket.signed_at else ""
    yield text(f"{ticket.signed.words}{when}.", small())


class _Strokes(Flowable):
    """A signature, as it was drawn on the screen, above a line."""

    def __init__(self, strokes: tuple[str, ...]) -> None:
        super().__init__()
        self._strokes = strokes
        self._scale = _SIGNATURE / BOX[0]
        self.width, self.height = _SIGNATURE, BOX[1] * self._scale + 2 * mm

    def wrap(self, *_: Any) -> tuple[float, float]:
        """How much room it takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it; on paper heights count from below."""
        canvas, floor = self.canv, 1.5 * mm
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(colors.black)
        canvas.line(0, floor - 1 * mm, self.width, floor - 1 * mm)
        canvas.setLineWidth(1)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        for stroke in self._strokes:
            points = [tuple(map(int, point.split(","))) for point in stroke.split(" ")]
            path = canvas.beginPath()
            for number, (x, y) in enumerate(points):
                (path.lineTo if number else path.moveTo)(x * self._scale, floor + (BOX[1] - y) * self._scale)
            canvas.drawPath(path, stroke=1, fill=0)
