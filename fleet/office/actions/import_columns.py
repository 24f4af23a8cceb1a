"""Reading through a file that was brought: its sheets, its columns with samples, and what was said of such columns before."""

from collections.abc import Callable
from dataclasses import asdict, dataclass, field

from fleet import models
from fleet.loading.loading import every
from fleet.office.actions import import_files
from fleet.office.actions.import_kinds import KINDS
from fleet.rules.spreadsheets import headings
from fleet.sheets import Problem, own
from fleet.sheets.own import OwnSheet

SAMPLES = 6
LONGEST_SAMPLE = 60
LOT = 2_000


def begin(row: models.Import) -> None:
    """Set down how each sheet of a file begins, and choose one where there is no question; raises Problem. The row is not saved."""
    tops = [
        top for top in own.tops(import_files.path_of(row.stored), row.name) if any(any(cells) for _, cells in top.lines)
    ]
    if not tops:
        raise Problem(row.name, 0, "", "a header row and at least one row below it")
    row.tops = [asdict(top) for top in tops]
    shown = [top for top in tops if top.is_visible] or tops
    sure = [top for top in shown if top.is_sure]
    best = (sure or shown)[0]
    row.sheet_name, row.heading_row = best.sheet, best.heading_row
    row.step = "columns" if len(shown) == 1 and (best.is_sure or _is_plain(best)) else "sheet"


def _is_plain(top: own.Top) -> bool:
    """Whether a sheet begins with what can only be its headings: its first line, in which every column is named."""
    first, *below = [cells for _, cells in top.lines if any(cells)]
    return all(first) and all(len(cells) <= len(first) for cells in below)


@dataclass(slots=True)
class _Seen:
    """What was seen of one column."""

    samples: list[str] = field(default_factory=list)
    filled: int = 0

    def see(self, cell: str) -> None:
        self.filled += 1
        if len(self.samples) < SAMPLES and cell[:LONGEST_SAMPLE] not in self.samples:
            self.samples.append(cell[:LONGEST_SAMPLE])


def look_through(row: models.Import, *, tell: Callable[[int], None]) -> None:
    """Set down what each column of the chosen sheet holds, and how many rows there are; raises Problem. The row is not saved."""
    path = import_files.path_of(row.stored)
    shape = own.shape_of(path, row.name, row.sheet_name)
    table = OwnSheet(row.name, sheet=row.sheet_name, heading_row=row.heading_row, shape=shape)
    seen: dict[str, _Seen] = {}
    count = 0
    for _, cells in every(LOT, own.own_rows(path, table), tell):
        count += 1
        for heading, cell in cells.items():
            if cell:
                seen.setdefault(heading, _Seen()).see(cell)
    if not count:
        raise Problem(row.name, 0, "", "a header row and at least one row below it")
    row.row_count = count
    row.sheet = [
        {
            "heading": heading,
            "samples": seen[heading].samples if heading in seen else [],
            "filled": seen[heading].filled if heading in seen else 0,
            "hidden": place in shape.hidden,
        }
        for place, heading in enumerate(table.header)
    ]
    row.findings = {"merged": len(shape.merged)}
    _recall(row)


def _recall(row: models.Import) -> None:
    """Match the columns where somebody matched them before, or where they bear our own names."""
    kind = KINDS[row.kind]
    theirs = [column["heading"] for column in row.sheet]
    memory = models.ColumnMemory.objects.filter(kind=row.kind, heading=headings.digest(theirs)).first()
    if memory:
        meant = {memory.columns.get(headings.fold(heading), ""): heading for heading in theirs}
        notes = [heading for heading in theirs if memory.columns.get(headings.fold(heading)) == headings.NOTE]
        row.columns = {heading: name for name, heading in meant.items() if name in kind.targets}
        row.columns |= dict.fromkeys(notes, headings.NOTE)
        row.plan = memory.plan
    elif {heading.casefold() for heading in theirs} - {headings.WRONG.casefold()} <= set(kind.names):
        row.columns = {heading: heading.casefold() for heading in theirs if heading.casefold() in kind.names}
    if row.columns and not missing(row):
        row.step = "values"


def missing(row: models.Import) -> list[str]:
    """Our columns that each row needs and that are neither matched, given nor worked out."""
    known = {*row.columns.values(), *row.plan.get("given", ()), *row.plan.get("ways", ())}
    if known & {headings.FIRST_NAME, headings.LAST_NAME}:
        known.add("customer")
    return [name for name in KINDS[row.kind].required if name not in known]


def remember(row: models.Import) -> None:
    """Remember how the columns of such a sheet are matched, and what was said of it as a whole."""
    said = {name: row.plan[name] for name in ("given", "ways", "orders", "rest") if row.plan.get(name)}
    models.ColumnMemory.objects.update_or_create(
        kind=row.kind,
        heading=headings.digest(column["heading"] for column in row.sheet),
        defaults={"columns": {headings.fold(heading): name for heading, name in row.columns.items()}, "plan": said},
    )
