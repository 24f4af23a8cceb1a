"""What every paper is drawn with: letters for any name, escaped text, ruled tables, numbered pages."""

import io
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from html import escape
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Image, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from fleet.rules.company import Company

_FOLDERS = ("/usr/share/fonts/truetype/dejavu", "/usr/share/fonts/TTF", "/usr/share/fonts/dejavu")
QUIET = colors.HexColor("#5c594f")
# The most that a logo takes up.
_LOGO = (38 * mm, 18 * mm)
RULE = colors.HexColor("#b9b4a4")


@lru_cache
def font() -> str:
    """Find a font that draws every letter of a name; the one that comes with reportlab draws most of them."""
    return _first("DejaVuSans", "Vera") or "Helvetica"


@lru_cache
def bold() -> str:
    """Find the same font for headings."""
    return _first("DejaVuSans-Bold", "VeraBd") or "Helvetica-Bold"


def _first(wanted: str, bundled: str) -> str:
    # The same input must give the same bytes: no moment of making, no random mark.
    rl_config.invariant = 1
    for name, path in (
        *((wanted, f"{folder}/{wanted}.ttf") for folder in _FOLDERS if Path(folder).is_dir()),
        (bundled, f"{bundled}.ttf"),
    ):
        try:
            pdfmetrics.registerFont(TTFont(name, path))
        except TTFError:
            continue
        return name
    return ""


@lru_cache
def plain() -> ParagraphStyle:
    """The style of running text."""
    return ParagraphStyle("plain", fontName=font(), fontSize=9.5, leading=13.5, spaceAfter=3)


@lru_cache
def small() -> ParagraphStyle:
    """The style of a table's cells."""
    return ParagraphStyle("small", parent=plain(), fontSize=9, leading=12, spaceAfter=0)


@lru_cache
def quiet() -> ParagraphStyle:
    """The style of the names beside facts, and of what stands under a picture."""
    return ParagraphStyle("quiet", parent=small(), textColor=QUIET)


@lru_cache
def right() -> ParagraphStyle:
    """The style of amounts, which line up under one another by their cents."""
    return ParagraphStyle("right", parent=small(), alignment=2)


@lru_cache
def heading() -> ParagraphStyle:
    """The style of a section's heading."""
    return ParagraphStyle(
        "heading", parent=plain(), fontName=bold(), fontSize=10.5, leading=14, spaceBefore=10, spaceAfter=4
    )


def text(words: str, style: ParagraphStyle) -> Paragraph:
    """Make a paragraph of words as somebody typed them: no markup is read in them, and their lines stay lines."""
    return Paragraph("<br/>".join(escape(line, quote=False) for line in words.splitlines()), style)


def letterhead(company: Company, width: float) -> Iterator[Flowable]:
    """The head of a paper that we send: our logo, our name, and where we are; nothing before a name is entered."""
    if not company:
        return
    words = [text(company.name, heading()), *(text(line, quiet()) for line in company.below)]
    if not company.logo:
        yield from words
    else:
        wide, high = ImageReader(io.BytesIO(company.logo)).getSize()
        scale = min(_LOGO[0] / wide, _LOGO[1] / high)
        logo = Image(io.BytesIO(company.logo), width=wide * scale, height=high * scale)
        beside = wide * scale + 4 * mm
        yield Table(
            [[logo, words]], colWidths=[beside, width - beside], hAlign="LEFT",
            style=TableStyle([*_BARE, ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]),
        )  # fmt: skip
    yield Spacer(1, 3 * mm)


def facts(told: Sequence[tuple[str, str]], width: float) -> Table:
    """Draw facts beside their names."""
    drawn = [[text(name, quiet()), text(value, small())] for name, value in told]
    return Table(
        drawn, colWidths=[42 * mm, width - 42 * mm], hAlign="LEFT", splitInRow=1,
        style=TableStyle([*_BARE, ("LINEBELOW", (0, 0), (-1, -1), 0.3, RULE)]),
    )  # fmt: skip


_BARE = (
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 6),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
)


def ruled(columns: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float], *, sums: bool) -> Table:
    """Draw a table under its heads, which stand again on each page; with `sums`, amounts in the last column."""
    last = len(columns) - 1

    def cell(place: int, words: str) -> Paragraph:
        return text(words, right() if sums and place == last else small())

    head = [text(name, quiet()) for name in columns]
    if sums:
        head[last] = text(columns[last], ParagraphStyle("head", parent=quiet(), alignment=2))
    style: list[Any] = [
        *_BARE,
        ("RIGHTPADDING", (last, 0), (last, -1), 0),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
    ]
    if sums:
        style.append(("LINEABOVE", (0, -1), (-1, -1), 0.8, colors.black))
    drawn = [head, *([cell(place, words) for place, words in enumerate(row)] for row in rows)]
    return Table(drawn, colWidths=list(widths), repeatRows=1, hAlign="LEFT", splitInRow=1, style=TableStyle(style))


class NumberedCanvas(Canvas):
    """A canvas that writes "page n of m" on each page, once it knows how many there are."""

    def __init__(self, *args: object, **named: object) -> None:
        super().__init__(*args, **named)  # type: ignore[arg-type]
        self._drawn: list[dict[str, object]] = []

    def showPage(self) -> None:
        """Keep the page until all are there."""
        self._drawn.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        """Number the pages, and write them."""
        for number, page in enumerate(self._drawn, 1):
            self.__dict__.update(page)
            self.setFont(font(), 8)
            self.setFillColor(QUIET)
            self.drawRightString(LETTER[0] - 20 * mm - 6, 11 * mm, f"page {number} of {len(self._drawn)}")
            super().showPage()
        super().save()


def numbered_pages(story: Iterable[Flowable], *, title: str, author: str, side: float, top: float) -> bytes:
    """A paper on letter pages, numbered, the same bytes for the same story; margins at the sides and the top are in points."""
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, leftMargin=side, rightMargin=side, topMargin=top, bottomMargin=18 * mm,
        title=title, author=author or "Your contractor", invariant=1,
    )  # fmt: skip
    document.build(list(story), canvasmaker=NumberedCanvas)
    return out.getvalue()
