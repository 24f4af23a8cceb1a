"""A visit's sheet to take along: where, whom to see, what to bring; then each unit with its work, boxes and last readings."""

from collections.abc import Iterator
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer, Table, TableStyle

from fleet.care.pages.stops import OfUnit
from fleet.care.pages.visits import Sheet
from fleet.elements.drawing import RULE, bold, facts, heading, letterhead, numbered_pages, plain, quiet, small, text
from fleet.rules.company import Company
from fleet.rules.dates import in_words
from fleet.rules.wording.care import duration

_MARGIN = 18 * mm
_WIDTH = LETTER[0] - 2 * _MARGIN
_TICK = 3.6 * mm
_BOX = 8 * mm
_COIL = "Dirt (circle one). Coil: 0 clean, 1 light, 2 heavy, 3 blocked."
_GRADES = f"{_COIL} Blower wheel: 0 clean, 1 light, 2 heavy, 3 blocked."


def pdf(sheet: Sheet, *, company: Company) -> bytes:
    """Draw the sheet."""
    stop = sheet.stop
    return numbered_pages(
        _story(sheet, company),
        title=f"Visit to {stop.customer}, {stop.name}, {stop.on.isoformat()}",
        author=str(company),
        side=_MARGIN,
        top=15 * mm,
    )


def _title() -> ParagraphStyle:
    return ParagraphStyle("title", parent=heading(), fontSize=15, leading=19, spaceBefore=0)


def _story(sheet: Sheet, company: Company) -> Iterator[Flowable]:
    stop = sheet.stop
    yield from letterhead(company, _WIDTH)
    yield text(f"{stop.customer}, {stop.name}", _title())
    lines = [
        ("Visit", f"{in_words(stop.on)}, {sheet.technician or 'no technician yet'}"),
        ("Address", stop.address),
        ("Phone", stop.phone),
        ("Gate code", stop.gate_code),
        *((f"{one.role.capitalize()}", _joined(", ", one.name, one.phone, one.reach)) for one in stop.people),
        ("Time", duration(stop.minutes) + _driving(stop.drive_minutes)),
        ("Note", stop.note),
        ("Work", "; ".join(f"{title}: {', '.join(things)}" for title, things in stop.work)),
    ]
    yield facts([(name, value) for name, value in lines if value], _WIDTH)
    if stop.last:
        yield Spacer(1, 2 * mm)
        yield text(stop.last, small())
    yield text("Bring", heading())
    for thing in sheet.bring:
        yield text(f"• {thing}", small())
    yield from _cautions(sheet)
    for unit in stop.units:
        if unit.open or unit.broken:
            yield from _unit(unit)
    yield from _others(sheet)


def _driving(minutes: int | None) -> str:
    return f", including {duration(minutes)} of driving" if minutes else ", driving not counted"


def _joined(between: str, *parts: str) -> str:
    return between.join(filter(None, parts))


def _cautions(sheet: Sheet) -> Iterator[Flowable]:
    yield text("Before you begin", heading())
    yield text(
        "Turn the power off, lock it out and verify it is de-energized before opening a cover; capacitors "
        "hold a charge. Only EPA-certified technicians handle refrigerant, and some refrigerants are flammable. "
        "The manufacturer’s manual, local codes and the license of whoever does the work come first.",
        small(),
    )
    for title, lines in sheet.stop.cautions:
        yield Spacer(1, 1 * mm)
        yield text(f"{title}: {' '.join(lines)}", small())


def _unit(unit: OfUnit) -> Iterator[Flowable]:
    yield CondPageBreak(45 * mm)
    name = ParagraphStyle("name", parent=heading(), fontSize=12, leading=15, fontName=bold())
    head: list[Flowable] = [
        text(unit.name, name),
        text(
            _joined(
                "; ",
                f"{unit.unit.what} {unit.unit.model}",
                f"serial {unit.unit.serial}" if unit.unit.serial else "no serial on file",
                unit.system,
                f"access: {unit.access}" if unit.access else "",
            ),
            quiet(),
        ),
    ]
    yield KeepTogether([*head, _work(unit)])
    if unit.beware:
        yield text(unit.beware, small())
    for one in unit.broken:
        yield text(f"Not repaired yet: {one.words}. {one.pays}", small())
    if unit.last:
        yield text(f"Last time: {unit.last}", quiet())
    if unit.readings:
        yield text(f"Last readings: {'; '.join(unit.readings)}", quiet())
    if unit.notes:
        yield text(unit.notes, quiet())
    yield text(_GRADES if unit.role != "outdoor" else _COIL, small())
    yield Spacer(1, 1 * mm)
    yield _Line("Readings and notes")


def _work(unit: OfUnit) -> Table:
    rows: list[list[Any]] = [
        [_Box(), text(_joined(", ", ask.title, ask.of), plain()), text(ask.stands, small())] for ask in unit.open
    ] or [["", text("No maintenance is due on it; see what failed.", plain()), ""]]
    style: list[Any] = [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.3, RULE),
    ]
    widths = [_BOX, (_WIDTH - _BOX) * 0.6, (_WIDTH - _BOX) * 0.4]
    return Table(rows, colWidths=widths, hAlign="LEFT", style=TableStyle(style))


def _others(sheet: Sheet) -> Iterator[Flowable]:
    """The units that nothing is asked of, listed so that nobody wonders about them."""
    rest = [unit.name for unit in sheet.stop.units if not (unit.open or unit.broken)]
    if rest:
        yield Spacer(1, 3 * mm)
        yield text(f"Nothing is due on: {', '.join(rest)}.", quiet())


class _Box(Flowable):
    """A box to tick."""

    def __init__(self) -> None:
        super().__init__()
        self.width = self.height = _TICK

    def draw(self) -> None:
        """Draw its outline."""
        self.canv.setLineWidth(0.9)
        self.canv.setStrokeColor(colors.black)
        self.canv.rect(0.5, 0, _TICK, _TICK)


class _Line(Flowable):
    """A line to write on, under what belongs there."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._name = name
        self.width, self.height = _WIDTH, 9 * mm

    def draw(self) -> None:
        """Draw the words and the line."""
        self.canv.setFont(small().fontName, 8)
        self.canv.drawString(0, 1.2 * mm, self._name)
        self.canv.setLineWidth(0.4)
        self.canv.line(32 * mm, 0.6 * mm, _WIDTH, 0.6 * mm)
