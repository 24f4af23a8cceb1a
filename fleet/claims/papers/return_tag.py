"""The tag on an old part that goes back to a payer, with a code that opens the claim."""

import io
from collections.abc import Iterator

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from fleet.claims.pages.claim_paper import ReturnTag
from fleet.elements.drawing import bold, facts, plain, quiet, text

# The whole code, quiet border and all: a phone at arm's length reads it, also from a creased tag.
_CODE = 52 * mm
_MARGIN = 20 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN - 12  # a frame keeps 6 points free on each side
_WORDS = _WIDTH - _CODE - 18 * mm


def pdf(tag: ReturnTag) -> bytes:
    """Draw the tag in the upper half of a sheet, to be cut out or folded."""
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=15 * mm, bottomMargin=15 * mm,
        title=f"Return tag of claim {tag.number}", author=str(tag.sender) or "Your contractor", invariant=1,
    )  # fmt: skip
    document.build(list(_story(tag)))
    return out.getvalue()


def _story(tag: ReturnTag) -> Iterator[Flowable]:
    frame = TableStyle(
        [
            ("BOX", (0, 0), (-1, -1), 1.2, colors.black),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 12),
            ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 0), (-1, -1), 8),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 10),
        ]
    )
    yield Table([[list(_words(tag)), [code(tag.address), *_under(tag)]]], colWidths=[_WIDTH - _CODE - 18, _CODE + 18], style=frame)  # fmt: skip
    yield Spacer(1, 3 * mm)
    yield text("Cut out along the frame and tie it to the part, inside a clear bag if the part drips.", quiet())


def _words(tag: ReturnTag) -> Iterator[Paragraph | Table | Spacer]:
    large = ParagraphStyle("large", parent=plain(), fontName=bold(), fontSize=17, leading=22, spaceAfter=1)
    yield text("Old part to return", quiet())
    yield text(tag.part, large)
    yield text(f"To {tag.to}", plain())
    yield Spacer(1, 2 * mm)
    yield facts(tag.facts, _WORDS + 6 * mm)
    if tag.sender:
        license_number = tag.sender.license_number
        yield Spacer(1, 2 * mm)
        yield text(f"From {tag.sender}" + (f", license {license_number}" if license_number else ""), plain())


def _under(tag: ReturnTag) -> Iterator[Paragraph]:
    middle = ParagraphStyle("middle", parent=plain(), fontName=bold(), fontSize=14, leading=18, alignment=1)
    said = ParagraphStyle("said", parent=quiet(), alignment=1)
    yield text(f"Claim {tag.number}", middle)
    if tag.account:
        yield text(f"Our account {tag.account}", said)
    if tag.reference:
        yield text(f"Payer’s reference {tag.reference}", said)


def code(address: str) -> Drawing:
    """Draw an address as a QR code; a quarter of it may be smudged."""
    widget = QrCodeWidget(address, barLevel="Q", barWidth=_CODE, barHeight=_CODE)
    found = Drawing(_CODE, _CODE)
    found.add(widget)
    return found
