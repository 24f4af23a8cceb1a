"""Drawings on paper: bars under their words, and lines over years."""

from collections.abc import Sequence
from typing import Any

from reportlab.graphics.shapes import Drawing, PolyLine, Rect, String
from reportlab.graphics.shapes import Line as Stroke
from reportlab.lib import colors

from fleet.elements.chart import WIDE, Bar, Chart
from fleet.elements.drawing import QUIET, RULE, font

_INK = colors.HexColor("#27515f")
_DASHES: tuple[Any, ...] = (None, [6, 3], [1.5, 2.5], [8, 2.5, 1.5, 2.5])


def bars(told: Sequence[Bar], width: float) -> Drawing:
    """Draw bars, each with its name before it and its words behind."""
    tall, name, words = 15.0, width * 0.30, width * 0.16
    drawing = Drawing(width, tall * len(told) + 2)
    for number, bar in enumerate(told):
        y = tall * (len(told) - 1 - number) + 4
        drawing.add(String(0, y + 1, _short(bar.name, name), fontName=font(), fontSize=8.5))
        for piece in bar.pieces:
            room = width - name - words
            solid: dict[str, Any] = {"fillColor": _INK, "strokeColor": None}
            drawing.add(Rect(name + piece.x / WIDE * room, y, piece.width / WIDE * room, 8, **solid))
        drawing.add(String(width, y + 1, bar.words, fontName=font(), fontSize=8.5, textAnchor="end"))
    return drawing


def _short(text: str, width: float) -> str:
    """Cut a name that is longer than its room."""
    most = int(width / 4.8)
    return text if len(text) <= most else f"{text[: most - 1]}…"


def lines(chart: Chart, width: float, height: float) -> Drawing:
    """Draw lines over their axes, with what each dash stands for under them."""
    left, foot = 50.0, 30.0 + 12 * ((len(chart.lines) + 1) // 2)
    across, up = width - left - 10, height - foot - 8
    drawing = Drawing(width, height)
    for tick in chart.y:
        y = foot + tick.at * up
        drawing.add(Stroke(left, y, left + across, y, strokeColor=RULE, strokeWidth=0.4))
        drawing.add(
            String(left - 4, y - 2.5, tick.words, fontName=font(), fontSize=7.5, textAnchor="end", fillColor=QUIET)
        )
    for tick in chart.x:
        x = left + tick.at * across
        drawing.add(
            String(x, foot - 11, tick.words, fontName=font(), fontSize=7.5, textAnchor="middle", fillColor=QUIET)
        )
    drawing.add(
        String(left + across, foot - 21, "years", fontName=font(), fontSize=7.5, textAnchor="end", fillColor=QUIET)
    )
    for line in chart.lines:
        spots = [point for x, y in line.spots for point in (left + x * across, foot + y * up)]
        dash = _DASHES[line.number % len(_DASHES)]
        drawing.add(PolyLine(spots, strokeColor=_INK, strokeWidth=1.6, strokeDashArray=dash))
        column, row = line.number % 2, line.number // 2
        x, y = left + column * across / 2, foot - 32 - 12 * row
        drawing.add(Stroke(x, y + 3, x + 26, y + 3, strokeColor=_INK, strokeWidth=1.6, strokeDashArray=dash))
        drawing.add(String(x + 32, y, _short(line.name, across / 2 - 40), fontName=font(), fontSize=8.5))
    return drawing
