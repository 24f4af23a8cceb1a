"""Sheets of labels, by their measures: how many, how large, and where the first one stands.

The measures are those that such sheets commonly have, from memory, without a source; print on plain paper first and hold it
against the sheet. A sheet is the same left and right, and top and bottom.
"""

from dataclasses import dataclass
from decimal import Decimal

# Points, in which a paper is drawn: 72 to the inch of 25.4 mm.
_POINTS = {"in": Decimal(72), "mm": Decimal(72) / Decimal("25.4")}
# The width and height of a paper, in the unit that it is measured in.
PAPERS = {"Letter": ("in", Decimal("8.5"), Decimal(11)), "A4": ("mm", Decimal(210), Decimal(297))}


@dataclass(frozen=True, slots=True)
class Sheet:
    """One kind of sheet: how many labels across and down, and in the paper's unit the size of one, the margins, and the steps.

    A step is from one label's edge to the same edge of the next.
    """

    paper: str
    columns: int
    rows: int
    width: Decimal
    height: Decimal
    left: Decimal
    top: Decimal
    step_across: Decimal
    step_down: Decimal

    @property
    def key(self) -> str:
        """Its code in addresses and forms."""
        return f"{self.paper}-{self.columns}x{self.rows}-{self.width}x{self.height}".lower()

    @property
    def unit(self) -> str:
        """Inches or millimeters, as `in` or `mm`."""
        return PAPERS[self.paper][0]

    @property
    def count(self) -> int:
        """How many labels a sheet has."""
        return self.columns * self.rows

    @property
    def title(self) -> str:
        """What it is called: by its measures."""
        return f"{self.paper}: {self.count} labels, {self.width} × {self.height} {self.unit}, {self.columns} across and {self.rows} down"

    def points(self, measure: Decimal) -> Decimal:
        """A measure of the sheet, in points."""
        return measure * _POINTS[self.unit]

    @property
    def page(self) -> tuple[Decimal, Decimal]:
        """The paper's width and height, in points."""
        unit, width, height = PAPERS[self.paper]
        return width * _POINTS[unit], height * _POINTS[unit]

    def corner(self, place: int) -> tuple[Decimal, Decimal]:
        """Where the label at a place (0 is the first, then along each row) begins: from the left and from the top, in points."""
        row, column = divmod(place, self.columns)
        return self.points(self.left + column * self.step_across), self.points(self.top + row * self.step_down)


def _sheet(paper: str, columns: int, rows: int, *measures: str) -> Sheet:
    return Sheet(paper, columns, rows, *map(Decimal, measures))


# Width, height; left and top margin; step across and down.
SHEETS = {
    sheet.key: sheet
    for sheet in (
        _sheet("Letter", 3, 10, "2.625", "1", "0.1875", "0.5", "2.75", "1"),
        _sheet("Letter", 2, 10, "4", "1", "0.15625", "0.5", "4.1875", "1"),
        _sheet("Letter", 2, 5, "4", "2", "0.15625", "0.5", "4.1875", "2"),
        _sheet("Letter", 4, 20, "1.75", "0.5", "0.28125", "0.5", "2.0625", "0.5"),
        _sheet("A4", 3, 8, "63.5", "33.9", "7.21", "12.9", "66.04", "33.9"),
        _sheet("A4", 3, 7, "63.5", "38.1", "7.21", "15.15", "66.04", "38.1"),
        _sheet("A4", 2, 7, "99.1", "38.1", "4.65", "15.15", "101.6", "38.1"),
        _sheet("A4", 5, 13, "38.1", "21.2", "4.75", "10.7", "40.6", "21.2"),
    )
}
USUAL = next(iter(SHEETS))
