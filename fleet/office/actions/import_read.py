"""Reading through a file that was brought: its columns with samples, how their days can be read, and what they may mean."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from fleet import models
from fleet.office.actions import import_files
from fleet.office.actions.import_kinds import KINDS
from fleet.rules import datestyles, headings
from fleet.rules.datestyles import Style
from fleet.sheets import Problem
from fleet.sheets.matched import own_rows

SAMPLES = 3
LONGEST_SAMPLE = 60
LOT = 2_000


@dataclass(slots=True)
class _Seen:
    """What was seen of one column."""

    samples: list[str] = field(default_factory=list)
    filled: int = 0
    days: datestyles.Column = field(default_factory=datestyles.Column)

    def see(self, row: int, cell: str) -> None:
        self.filled += 1
        if len(self.samples) < SAMPLES and cell[:LONGEST_SAMPLE] not in self.samples:
            self.samples.append(cell[:LONGEST_SAMPLE])
        self.days.see(row, cell)

    def told(self, heading: str) -> dict[str, Any]:
        days = self.days
        odd = [days.before_row, days.before_cell[:40], days.odd_row, days.odd_cell[:40]] if days.is_mixed else []
        return {
            "heading": heading,
            "samples": self.samples,
            "filled": self.filled,
            "days": days.days,
            "unread": days.unread,
            "styles": [style.value for style in days.styles],
            "mixed": odd,
        }


def look_through(stored: str, name: str, *, tell: Callable[[int], None]) -> tuple[list[dict[str, Any]], int]:
    """What each column of a file holds, and the number of rows; raises Problem."""
    seen: dict[str, _Seen] = {}
    count = 0
    for row, cells in own_rows(import_files.path_of(stored), name):
        if not seen:
            seen = {heading: _Seen() for heading in cells}
        count += 1
        for heading, cell in cells.items():
            if cell:
                seen[heading].see(row, cell)
        if not count % LOT:
            tell(count)
    if not count:
        raise Problem(name, 0, "", "a header row and at least one row below it")
    return [column.told(heading) for heading, column in seen.items()], count


def settle(imported: models.Import) -> None:
    """Match the columns where somebody matched them before, or where they bear our own names; the row is not saved."""
    ours = KINDS[imported.kind].names
    theirs = [column["heading"] for column in imported.sheet]
    memory = models.ColumnMemory.objects.filter(kind=imported.kind, heading=headings.digest(theirs)).first()
    if memory:
        meant = {memory.columns.get(headings.fold(heading), ""): heading for heading in theirs}
        imported.columns = {heading: name for name, heading in meant.items() if name in ours}
    elif {heading.casefold() for heading in theirs} - {headings.WRONG.casefold()} <= set(ours):
        imported.columns = {heading: heading.casefold() for heading in theirs if heading.casefold() in ours}
    imported.date_styles = fitting(imported, memory.date_styles if memory else {})


def fitting(imported: models.Import, chosen: dict[str, str]) -> dict[str, str]:
    """The style of each column of days: the only one that fits, or the one chosen among those that do."""
    found = {}
    for name, column in day_columns(imported).items():
        styles = column["styles"]
        if len(styles) == 1:
            found[name] = styles[0]
        elif chosen.get(name) in styles:
            found[name] = chosen[name]
    return found


def day_columns(imported: models.Import) -> dict[str, dict[str, Any]]:
    """What was seen of the columns that are matched with days, by our names."""
    seen = {column["heading"]: column for column in imported.sheet}
    days = KINDS[imported.kind].days
    return {name: seen[heading] for heading, name in imported.columns.items() if name in days}


def styles_of(imported: models.Import) -> dict[str, Style]:
    """The styles in which the import's columns of days are read, by our names."""
    return {name: Style(style) for name, style in imported.date_styles.items()}
