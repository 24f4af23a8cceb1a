"""A sheet of labels: on each a QR code, and beside it what a person reads."""

import io
from collections.abc import Sequence

import zxingcpp
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from fleet.elements.drawing import bold, font
from fleet.registry.pages.unit_labels import Sticker
from fleet.rules.label_sheets import Sheet

# What stays free at a label's edge: a printer is off by that much.
_EDGE = 1.2 * mm
_GAP = 1 * mm
# A code this large is read at arm's length; a larger one takes room from the words.
_LARGEST_CODE = 25 * mm
_LARGEST, _SMALLEST = 12.0, 4.0
# Who we are is left out before the rest gets smaller than this.
_SMALL = 6.0
_LEADING = 1.22
# White around a code, in its own small squares, as its standard asks.
_QUIET = 4

Line = tuple[str, str]  # a font and the words


def pdf(stickers: Sequence[Sticker], sheet: Sheet, *, start: int) -> bytes:
    """Draw labels one after the other, the first at place `start` of the first sheet (1: its first place)."""
    out = io.BytesIO()
    width, height = map(float, sheet.page)
    canvas = Canvas(out, pagesize=(width, height), invariant=1)
    canvas.setTitle("Labels")
    for number, sticker in enumerate(stickers, start - 1):
        if number >= sheet.count and number % sheet.count == 0:
            canvas.showPage()
        left, top = map(float, sheet.corner(number % sheet.count))
        canvas.saveState()
        canvas.translate(left, height - top - float(sheet.points(sheet.height)))
        _draw(canvas, sticker, float(sheet.points(sheet.width)), float(sheet.points(sheet.height)))
        canvas.restoreState()
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def squares(address: str) -> list[str]:
    """The rows of a QR code, `#` for a dark square: the stronger correction where that makes it no larger."""
    image, stronger = (_image(address, level) for level in ("M", "Q"))
    image = stronger if stronger.shape == image.shape else image
    size = len(image)
    return ["".join("#" if image[row, column] == 0 else " " for column in range(size)) for row in range(size)]


def _image(address: str, level: str) -> "memoryview[int]":
    code = zxingcpp.create_barcode(address, zxingcpp.BarcodeFormat.QRCode, ec_level=level)
    # Its stub leaves out that an image is a buffer.
    return memoryview(code.to_image(scale=1, add_quiet_zones=False))  # type: ignore[arg-type]


def _draw(canvas: Canvas, sticker: Sticker, width: float, height: float) -> None:
    side = min(height, width * 0.5, _LARGEST_CODE)
    _code(canvas, squares(sticker.address), (height - side) / 2, side)
    left = side + _GAP
    _words(canvas, sticker, left, width - left - _EDGE, height - 2 * _EDGE)


def _code(canvas: Canvas, rows: list[str], bottom: float, side: float) -> None:
    """Draw a code with its white border into a square; as one shape, so that no line shows between its squares."""
    each = side / (len(rows) + 2 * _QUIET)
    path = canvas.beginPath()
    for number, row in enumerate(rows):
        below = bottom + side - (_QUIET + number + 1) * each
        start = 0
        while (start := row.find("#", start)) >= 0:
            end = next((place for place in range(start, len(row)) if row[place] != "#"), len(row))
            path.rect((_QUIET + start) * each, below, (end - start) * each, each)
            start = end
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _words(canvas: Canvas, sticker: Sticker, left: float, width: float, height: float) -> None:
    """Write what a person reads, as large as it fits; on a blank label a line to write the room on stands first."""
    first = [(bold(), sticker.words[0])] if sticker.words else [(font(), "")]
    lines = [*first, *((font(), line) for line in (*sticker.words[1:], sticker.code))]
    size, drawn = _fitted([*lines, *((font(), line) for line in sticker.ours)], width, height)
    if size < _SMALL:
        size, drawn = _fitted(lines, width, height)
    y = _EDGE + (height + len(drawn) * size * _LEADING) / 2 - size
    canvas.setFillGray(0)
    for name, line in drawn:
        if not line:
            canvas.setLineWidth(0.5)
            canvas.line(left, y - 1, left + width, y - 1)
        canvas.setFont(name, size)
        canvas.drawString(left, y, line)
        y -= size * _LEADING


def _fitted(lines: Sequence[Line], width: float, height: float) -> tuple[float, list[Line]]:
    """The largest size at which the lines fit, unbroken down to a size that is still easy to read; nothing is left out."""
    size = _LARGEST
    while size > _SMALLEST:
        drawn = [(name, part) for name, line in lines for part in _broken(line, name, size, width)]
        if len(drawn) * size * _LEADING <= height and (len(drawn) == len(lines) or size <= _SMALL + 1):
            return size, drawn
        size -= 0.25
    return size, [(name, part) for name, line in lines for part in _broken(line, name, size, width)]


def _broken(line: str, name: str, size: float, width: float) -> list[str]:
    """A line in parts that fit, broken between words, and inside a word that is too long by itself.

    >>> _broken("Guest bedroom 12", "Helvetica", 10, 70), _broken("ABCDEFGHJK", "Helvetica", 10, 40)
    (['Guest bedroom', '12'], ['ABCDE', 'FGHJK'])
    """
    parts, rest = [], line
    while len(rest) > 1 and stringWidth(rest, name, size) > width:
        end = next(
            (count for count in range(len(rest) - 1, 1, -1) if stringWidth(rest[:count], name, size) <= width), 1
        )
        space = rest.rfind(" ", 1, end + 1)
        end = space if space > 0 else end
        parts.append(rest[:end].rstrip())
        rest = rest[end:].lstrip()
    return [*parts, rest]
