"""A site's own sheet: everything it is due, to print and take along, with boxes to tick and what to beware of."""

import io
from collections.abc import Iterator, Sequence

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, SimpleDocTemplate, Spacer, Table, TableStyle

from fleet.pages.due import Line, SiteCare
from fleet.papers.drawing import RULE, NumberedCanvas, facts, heading, plain, quiet, small, text
from fleet.rules.dates import in_words

_MARGIN = 18 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN
_BOX = 7 * mm


def pdf(page: SiteCare, *, company: str) -> bytes:
    """Draw the sheet."""
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=15 * mm, bottomMargin=18 * mm,
        title=f"Care of {page.customer}, {page.name}", author=company or "Your contractor", invariant=1,
    )  # fmt: skip
    document.build(list(_story(page, company)), canvasmaker=NumberedCanvas)
    return out.getvalue()


def _story(page: SiteCare, company: str) -> Iterator[Flowable]:
    if company:
        yield text(company, quiet())
    yield text(f"Care of {page.customer}, {page.name}", heading())
    told = [("Address", page.address), ("Phone", page.phone), ("As of", in_words(page.on))]
    yield facts([(name, value) for name, value in told if value], _WIDTH)
    if page.sentences:
        yield Spacer(1, 2 * mm)
        yield text(" ".join(page.sentences), plain())
    for system in page.systems:
        yield from _lines(f"{system.name}: ours", system.ours)
        yield from _lines(f"{system.name}: the owner’s own work", system.owners)
    yield from _cautions(page)


def _lines(title: str, lines: Sequence[Line]) -> Iterator[Flowable]:
    if not lines:
        return
    # A heading never stands alone at the foot of a page.
    yield CondPageBreak(30 * mm)
    yield text(title, heading())
    head = [text(name, quiet()) for name in ("", "What", "Of", "Due", "Where it stands", "Last done")]
    drawn = [
        [
            "",
            text(line.title, small()),
            text(" ".join(filter(None, (line.of, line.serial if line.of != line.serial else ""))), small()),
            text(in_words(line.due_on), small()),
            text(line.stands, small()),
            text("never" if line.last_done is None else in_words(line.last_done), small()),
        ]
        for line in lines
    ]
    rest = _WIDTH - _BOX
    widths = [_BOX, *(rest * share for share in (0.23, 0.24, 0.16, 0.22, 0.15))]
    style: list[tuple[object, ...]] = [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
    ]
    table = Table([head, *drawn], colWidths=widths, repeatRows=1, hAlign="LEFT", style=TableStyle(style))
    yield _WithBoxes(table, len(drawn))


class _WithBoxes(Flowable):
    """A table whose rows begin with a box to tick; split over pages, each part draws its own."""

    def __init__(self, table: Table, rows: int) -> None:
        super().__init__()
        self._table, self._rows = table, rows

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Take the room that the table takes."""
        self.width, self.height = self._table.wrap(width, height)
        return self.width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        """Split as the table does; the head stands again on each page."""
        parts = self._table.split(width, height)
        return [_WithBoxes(part, len(part._cellvalues) - 1) for part in parts]

    def draw(self) -> None:
        """Draw the table and a box in each row but the head."""
        canvas = self.canv
        self._table.drawOn(canvas, 0, 0)
        canvas.setLineWidth(0.8)
        canvas.setStrokeColor(colors.black)
        top = self.height
        for number, height in enumerate(self._table._rowHeights):
            if number:
                canvas.rect(0.5 * mm, top - 2.2 * mm - 3.2 * mm, 3.4 * mm, 3.4 * mm)
            top -= height


def _cautions(page: SiteCare) -> Iterator[Flowable]:
    if not page.cautions:
        return
    yield CondPageBreak(30 * mm)
    yield text("Before you begin", heading())
    yield text(
        "Power off and locked out before a cover is opened. Refrigerant is for certified people only. The maker’s manual, "
        "the local codes and the license of whoever does it come first.",
        plain(),
    )
    for title, lines in page.cautions:
        yield text(f"{title}: {' '.join(lines)}", small())
        yield Spacer(1, 1.5 * mm)
