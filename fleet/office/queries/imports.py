"""Files brought to be imported: the list, the columns of one, and where it stands."""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from django.utils import timezone

from fleet import models
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import List
from fleet.elements.named import local
from fleet.elements.pieces import moment
from fleet.office.pages import imports as pages
from fleet.rules import datestyles, headings
from fleet.rules.dates import in_words
from fleet.rules.datestyles import Style

# How many sheets of one kind are looked through for what a heading meant before.
REMEMBERED = 20


def imports(titles: Mapping[str, str]) -> List:
    """The list of the files that were brought; `titles` are the words for their kinds."""
    return List(
        file="imports",
        caption="Files brought",
        rows=lambda filters, on: models.Import.objects.select_related("by", "job"),
        usual="-at",
        columns=(
            Column("name", "File", value=lambda row: Cell(row.name, Link("import", row.pk)), order=("name", "pk")),
            Column("kind", "What it brings", value=lambda row: titles.get(row.kind, row.kind)),
            Column("state", "Where it stands", value=lambda row: pages.STANDINGS[_standing(row)]),
            Column("rows", "Rows", "number", value="row_count"),
            Column("by", "Brought by", value=lambda row: str(row.by or "")),
            Column("at", "Brought", "moment", value=lambda row: local(row.at), order=("at", "pk")),
        ),
    )


def columns(pk: int, kind: pages.Kind) -> pages.ColumnsPage | None:
    """Show the columns of a file beside ours, each with what it is or most likely means."""
    row = models.Import.objects.filter(pk=pk).exclude(sheet=[]).first()
    if row is None:
        return None
    theirs = [column["heading"] for column in row.sheet if column["heading"] != headings.WRONG]
    matched = row.columns or headings.suggest(theirs, kind.names, _known(row.kind))
    return pages.ColumnsPage(
        pk=row.pk,
        name=row.name,
        kind=kind.title,
        rows=row.row_count or 0,
        columns=tuple(
            pages.Theirs(
                column["heading"], tuple(column["samples"]), column["filled"], matched.get(column["heading"], "")
            )
            for column in row.sheet
            if column["heading"] != headings.WRONG
        ),
        ours=tuple(pages.Ours(name, headings.label(name), name in kind.required) for name in kind.names),
        missing=tuple(headings.label(name) for name in kind.required if name not in matched.values()),
    )


def one(pk: int, kind: pages.Kind, *, how_far: tuple[int, int]) -> pages.ImportPage | None:
    """Show one file, where it stands and what came of it; `how_far` is what its load says outside the database."""
    row = models.Import.objects.select_related("by", "job").filter(pk=pk).first()
    if row is None:
        return None
    standing, job = _standing(row), row.job
    report = row.report
    return pages.ImportPage(
        pk=row.pk,
        name=row.name,
        kind=kind,
        by=str(row.by or ""),
        at=_moment(row.at),
        standing=standing,
        rows=row.row_count,
        done=job.parts_done if job and standing in ("running", "reading") else 0,
        worked_out=how_far[0],
        to_work_out=how_far[1],
        stop_asked=bool(job and job.stop_asked),
        checking=row.checking,
        correcting=row.correcting,
        why=job.why if job and standing in ("failed", "waiting") else "",
        pairs=tuple(pages.Pair(heading, headings.label(name)) for heading, name in _in_order(row)),
        left_out=tuple(
            column["heading"] for column in row.sheet if column["heading"] not in {*row.columns, headings.WRONG}
        ),
        days=tuple(_days(row, kind)),
        faults=tuple(pages.Fault(*fault) for fault in report.get("problems", ())),
        fault_count=report.get("count", 0),
        has_file_with_faults=bool(row.problems_stored),
        outcome=_outcome(report),
    )


def _standing(row: models.Import) -> str:
    """Where a file stands: while a job has it, where the job stands."""
    if row.state in ("taken", "refused") or not row.stored:
        return row.state if row.state in ("taken", "refused") else "gone"
    if row.state in ("reading", "waiting"):
        state = row.job.state if row.job else "waiting"
        if state in ("stopped", "failed"):
            return state
        return "reading" if row.state == "reading" else "running" if state == "running" else "waiting"
    if row.state == "to match" and row.columns:
        return "ready"
    return row.state


def _known(kind: str) -> dict[str, str]:
    """What headings meant in other sheets of this kind, the latest first."""
    found: dict[str, str] = {}
    for memory in models.ColumnMemory.objects.filter(kind=kind).order_by("-pk")[:REMEMBERED]:
        found = memory.columns | found
    return found


def _in_order(row: models.Import) -> Iterator[tuple[str, str]]:
    """The matched columns, theirs and ours, in the order of the file."""
    for column in row.sheet:
        if name := row.columns.get(column["heading"]):
            yield column["heading"], name


def _days(row: models.Import, kind: pages.Kind) -> Iterator[pages.DayColumn]:
    seen = {column["heading"]: column for column in row.sheet}
    for heading, name in _in_order(row):
        if name in kind.days and seen[heading]["filled"]:
            yield _day(seen[heading], name, row.date_styles.get(name, ""))


def _day(column: dict[str, Any], name: str, chosen: str) -> pages.DayColumn:
    mixed = ""
    if column["mixed"]:
        row, cell, odd_row, odd_cell = column["mixed"]
        mixed = f"row {row} has {cell!r}, row {odd_row} has {odd_cell!r}"
    cell = _telling(column["samples"])
    styles = tuple(
        pages.DayStyle(style, cell, in_words(day) if (day := datestyles.read(cell, Style(style))) else "")
        for style in column["styles"]
    )
    return pages.DayColumn(name, headings.label(name), column["heading"], styles, chosen, column["days"], mixed)


def _telling(samples: list[str]) -> str:
    """The sample with the most different days among its styles, which shows best what the choice changes."""
    return max(samples, key=lambda cell: len(set(datestyles.readings(cell).values())), default="")


def _outcome(report: dict[str, Any]) -> pages.Outcome | None:
    if "added" not in report:
        return None
    changes = tuple(
        pages.Corrected(one["what"], headings.label(one["field"]), one["before"], one["after"])
        for one in report["changes"]
    )
    counts = {name: report[name] for name in ("rows", "added", "filled", "corrected", "unchanged")}
    return pages.Outcome(**counts, changes=changes)


def _moment(at: dt.datetime) -> str:
    return moment(at.astimezone(timezone.get_default_timezone()))
