"""The letter that asks an owner to register what the payer lets nobody else register."""

import io
from collections.abc import Iterator
from html import escape

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from fleet.coverage.pages.registrations import OwnerLetter
from fleet.elements.drawing import font, letterhead


def pdf(letter: OwnerLetter) -> bytes:
    """Draw the letter."""
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, leftMargin=25 * mm, rightMargin=25 * mm, topMargin=22 * mm, bottomMargin=22 * mm,
        title=f"Registration with {letter.payer}", author=str(letter.sender) or "Your contractor", invariant=1,
    )  # fmt: skip
    document.build(list(_story(letter)))
    return out.getvalue()


def _story(letter: OwnerLetter) -> Iterator[Flowable]:
    plain = ParagraphStyle("plain", fontName=font(), fontSize=10.5, leading=15, spaceAfter=8)
    head = ParagraphStyle("head", parent=plain, fontSize=13, leading=18, spaceBefore=10, spaceAfter=10)

    def line(text: str, style: ParagraphStyle = plain) -> Paragraph:
        return Paragraph(escape(text, quote=False), style)

    if letter.sender:
        yield from letterhead(letter.sender, LETTER[0] - 2 * 25 * mm - 12)
        yield Spacer(1, 5 * mm)
    yield line(letter.owner)
    for part in letter.address:
        yield line(part)
    yield Spacer(1, 6 * mm)
    yield line(letter.written_on)
    yield line(f"Please register your equipment with {letter.payer}", head)
    when = f", installed on {letter.installed}," if letter.installed else ""
    yield line(
        f"The equipment below{when} comes with the warranty “{letter.title}”. {letter.payer} takes its registration from "
        "the homeowner only, so we cannot do it for you. If it is registered in time, the warranty can run its full length."
    )
    if letter.last_day:
        yield line(f"Please do it by {letter.last_day}.", head)
    yield line("They will ask you for:")
    yield _units(letter, plain)
    yield Spacer(1, 5 * mm)
    yield line(
        "Please send us the registration number that you receive, or a copy of the confirmation, so that we can keep it "
        "with the record of your equipment. If anything is unclear, call us: we will go through it with you."
    )
    yield line("This is our reading of the manufacturer’s terms. The manufacturer decides.")
    yield line("Thank you.")


def _units(letter: OwnerLetter, plain: ParagraphStyle) -> Table:
    small = ParagraphStyle("small", parent=plain, fontSize=9.5, leading=13, spaceAfter=0)
    rows = [("Unit", "Manufacturer and model", "Serial"), *letter.units]
    drawn = [[Paragraph(escape(cell or "not on file", quote=False), small) for cell in row] for row in rows]
    ruled = TableStyle(
        [
            ("LINEBELOW", (0, 0), (-1, 0), 1, colors.black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, colors.grey),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ]
    )
    return Table(drawn, colWidths=[48 * mm, 60 * mm, 57 * mm], style=ruled, repeatRows=1, hAlign="LEFT")
