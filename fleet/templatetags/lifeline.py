"""One drawing of a unit's life line.

It has some hundred shapes, and stands twice on the page; drawn node by node in a template they took a fifth of the page's time.
"""

from collections.abc import Iterator

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from fleet.front.pages.lifeline_drawing import Band, Bar, Drawing, Lane

register = template.Library()

# One shape for each sort of thing that happened: a cross, a ring, a triangle.
_MARKS = {
    "failure": '<path class="mark" d="M-5 -5L5 5M-5 5L5 -5"/>',
    "maintenance": '<circle class="mark" r="4.5"/>',
    "change": '<path class="mark" d="M0 -5.5L6 5H-6Z"/>',
}
_ONWARD = '<svg x="100%" y="{}" overflow="visible"><path class="onward" d="M-9 -1H2V17H-9L-2 8Z"/></svg>'


@register.simple_tag
def mark(sort: str) -> SafeString:
    """Draw the shape of one sort of thing that happened."""
    return mark_safe(_MARKS[sort])


@register.simple_tag
def draw(drawing: Drawing, words: str, name: str = "line") -> SafeString:
    """Draw the line, said in words to whoever cannot see it. Whatever somebody typed is escaped; `name` tells two of a page apart.

    Across everything is in percent, so letters keep their size on any screen; a nested svg carries a shape to its percent.
    """
    return mark_safe("".join(_drawn(drawing, words, name)))


def _drawn(drawing: Drawing, words: str, name: str) -> Iterator[str]:
    layout, foot, name = escape(drawing.layout), drawing.foot, escape(name)
    yield (
        f'<svg class="drawing" data-layout="{layout}" width="100%" height="{drawing.height}" role="img"'
        f' aria-labelledby="{name}_{layout} said_{name}_{layout}" focusable="false">'
        f'<title id="{name}_{layout}">Life line</title><desc id="said_{name}_{layout}">{escape(words)}</desc>'
    )
    yield from _ticks(drawing)
    yield f'<line class="axis" x1="{drawing.strip}%" x2="100%" y1="{foot}" y2="{foot}"/>'
    for band in drawing.bands:
        yield (
            f'<rect class="track" x="{drawing.strip}%" y="{band.y}" width="{drawing.strip_width}%"'
            f' height="{drawing.band_height}"/>'
        )
        for bar in band.bars:
            yield _bar(bar, band, drawing.band_height)
    yield from _today(drawing)
    # The names come last: above bands on a phone, they stand out from the lines behind them.
    yield from map(_named, drawing.bands)
    yield from map(_lane, drawing.lanes)
    yield "</svg>"


def _ticks(drawing: Drawing) -> Iterator[str]:
    for tick in drawing.ticks:
        lesser = "" if tick.year else "lesser "
        yield f'<line class="{lesser}year" x1="{tick.x}%" x2="{tick.x}%" y1="22" y2="{drawing.foot}"/>'
        if tick.year:
            place = f'x="{tick.x}%" y="{drawing.height}" dy="-6" text-anchor="middle"'
            yield f'<text class="number" {place}>{escape(tick.year)}</text>'


def _bar(bar: Bar, band: Band, height: int) -> str:
    place = f'x="{bar.x}%" y="{band.y}" width="{bar.width}%" height="{height}"'
    told = f'data-state="{escape(bar.state)}" data-payer="{escape(band.payer)}"'
    onward = _ONWARD.format(band.y) if bar.open_ended else ""
    title = f"<title>{escape(bar.words)}</title>"
    return f'<rect class="bar" {told} {place} fill="{escape(bar.fill)}">{title}</rect>{onward}'


def _today(drawing: Drawing) -> Iterator[str]:
    for drawn in ("halo today", "today"):
        yield f'<line class="{drawn}" x1="{drawing.today}%" x2="{drawing.today}%" y1="16" y2="{drawing.foot}"/>'
    beside = 'dx="1" text-anchor="end"' if drawing.today_from_right else 'dx="-1"'
    yield f'<text class="today" x="{drawing.today}%" y="12" {beside}>today</text>'


def _named(band: Band) -> str:
    components = f", {escape(band.components)}" if band.components else ""
    name = f'<text x="0" y="{band.name_y}"><tspan class="name">{escape(band.name)}</tspan>{components}</text>'
    return f'{name}<text class="caption" x="0" y="{band.caption_y}">{escape(band.caption)}</text>'


def _lane(lane: Lane) -> str:
    marks = (
        f'<svg x="{one.x}%" y="{lane.y}" overflow="visible"><title>{escape(one.words)}</title>{_MARKS[lane.sort]}</svg>'
        for one in lane.marks
    )
    return f'<text class="name" x="0" y="{lane.name_y}">{escape(lane.name)}</text>{"".join(marks)}'
