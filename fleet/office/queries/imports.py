"""Files brought to be imported: the list, the columns of one, and where it stands."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from fleet import models
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import List
from fleet.elements.named import local, local_moment
from fleet.office.pages import imports as pages
from fleet.office.pages.import_steps import WAYS, rows_in_words, shown
from fleet.office.queries import import_steps
from fleet.rules.dates import in_words
from fleet.rules.spreadsheets import headings
from fleet.rules.spreadsheets.filling import Way


def imports(titles: Mapping[str, str]) -> List:
    """The list of the files that were brought; `titles` are the words for their kinds."""
    return List(
        file="imports",
        caption="Files uploaded",
        rows=lambda filters, on: models.Import.objects.select_related("by", "job"),
        usual="-at",
        columns=(
            Column("name", "File", value=lambda row: Cell(row.name, Link("import", row.pk)), order=("name", "pk")),
            Column("kind", "What it brings", value=lambda row: titles.get(row.kind, row.kind)),
            Column("state", "Status", value=lambda row: pages.STANDINGS[_standing(row)]),
            Column("rows", "Rows", "number", value="row_count"),
            Column("by", "Uploaded by", value=lambda row: str(row.by or "")),
            Column("at", "Uploaded", "moment", value=lambda row: local(row.at), order=("at", "pk")),
        ),
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
        at=local_moment(row.at),
        standing=standing,
        rows=row.row_count,
        done=job.parts_done if job and standing in ("running", "reading") else 0,
        worked_out=how_far[0],
        to_work_out=how_far[1],
        stop_asked=bool(job and job.stop_asked),
        checking=row.checking,
        correcting=row.correcting,
        why=job.why if job and standing in ("failed", "waiting") else "",
        is_ready=row.step == "ready",
        can_undo=standing == "taken" and row.load_id is not None,
        in_the_way=_in_the_way(row) if standing == "taken" else "",
        undone=_undone(row) if standing == "undone" else "",
        steps=import_steps.steps(row, "ready"),
        pairs=tuple(pages.Pair(heading, headings.title(name)) for heading, name in _in_order(row)),
        filled=tuple(_filled(row)),
        left_out=tuple(
            column["heading"] for column in row.sheet if column["heading"] not in {*row.columns, headings.WRONG}
        ),
        messages=tuple(_messages(row)),
        other_sheets=tuple(
            top["sheet"] for top in row.tops if row.stored and row.state == "taken" and top["sheet"] != row.sheet_name
        ),
        faults=tuple(pages.Fault(*fault) for fault in report.get("problems", ())),
        fault_count=report.get("count", 0),
        has_file_with_faults=bool(row.problems_stored),
        outcome=_outcome(report),
        record=_record(report) if standing == "checked" else None,
        asks_who_did_it=row.kind == "history",
        done_by=row.plan.get("done_by", ""),
    )


def _standing(row: models.Import) -> str:
    """Where a file stands: while a job has it, where the job stands."""
    if row.state == "taken" and row.job is not None and _is_undoing(row) and row.job.state in ("waiting", "running"):
        return "undoing"
    if row.state in ("taken", "undone", "refused") or not row.stored:
        return row.state if row.state in ("taken", "undone", "refused") else "gone"
    if row.state in ("reading", "waiting"):
        state = row.job.state if row.job else "waiting"
        if state in ("stopped", "failed"):
            return state
        return "reading" if row.state == "reading" else "running" if state == "running" else "waiting"
    return "ready" if row.state == "asking" and row.step == "ready" else row.state


def _is_undoing(row: models.Import) -> bool:
    return row.job is not None and row.job.name == "undo_import"


def _in_the_way(row: models.Import) -> str:
    """Why an import could not be undone, if somebody tried."""
    failed = row.job.why if row.job is not None and _is_undoing(row) and row.job.state == "failed" else ""
    return str(row.report.get("in_the_way", "")) or failed


def _undone(row: models.Import) -> str:
    """When, by whom and why an import was undone."""
    if row.load_id is None:
        return ""
    change = (
        models.Change.objects.filter(table="load", object_id=row.load_id, field="import").select_related("by").last()
    )
    if change is None:
        return ""
    return f"{local_moment(change.at)}{f', by {change.by}' if change.by else ''}: {change.why}"


def _in_order(row: models.Import) -> Iterator[tuple[str, str]]:
    """The matched columns, theirs and ours, in the order of the file."""
    for column in row.sheet:
        if name := row.columns.get(column["heading"]):
            yield column["heading"], name


def _messages(row: models.Import) -> Iterator[str]:
    """What somebody should know of how a file is read."""
    values = row.findings.get("values", {})
    if (empty := values.get("empty", {})).get("count"):
        where = rows_in_words(tuple(empty["rows"]), empty["count"])
        yield f"{where[:1].upper()}{where[1:]} {'has' if empty['count'] == 1 else 'have'} no unit and {'was' if empty['count'] == 1 else 'were'} skipped."
    if left_out := row.plan.get("left_out"):
        where = rows_in_words(tuple(left_out[:20]), len(left_out))
        yield f"{where[:1].upper()}{where[1:]} {'is' if len(left_out) == 1 else 'are'} skipped, as you said."
    if any(meanings.get("", [""])[0] == "leave out" for meanings in row.plan.get("meanings", {}).values()):
        yield "Rows without a value you said they need are skipped."
    if day := row.plan.get("record_from"):
        yield f"Our maintenance record starts on {in_words(dt.date.fromisoformat(day))}."
    if merged := row.findings.get("merged"):
        yield f"{merged:,} merged cell{'s are' if merged > 1 else ' is'} read in each of {'their' if merged > 1 else 'its'} rows."
    if row.findings.get("values", {}).get("has_short_years"):
        yield "Two-digit years are read as 1950 to 2049."


def _filled(row: models.Import) -> Iterator[pages.Pair]:
    """What is given for all rows, or worked out."""
    for name, value in row.plan.get("given", {}).items():
        yield pages.Pair(shown(name, value), f"{headings.title(name)}, in all rows")
    for name, way in row.plan.get("ways", {}).items():
        yield pages.Pair(WAYS[Way(way)], headings.title(name))
    if done_by := row.plan.get("done_by"):
        yield pages.Pair(done_by, "Who did the work, where a row does not say")


def _record(report: dict[str, Any]) -> pages.Record | None:
    if "record" not in report:
        return None
    return pages.Record(report["record"].get("tasks", 0), report["record"].get("sites", 0))


def _outcome(report: dict[str, Any]) -> pages.Outcome | None:
    if "added" not in report:
        return None
    changes = tuple(
        pages.Corrected(one["what"], headings.title(one["field"]), one["before"], one["after"])
        for one in report["changes"]
    )
    counts = {name: report[name] for name in ("rows", "added", "filled", "corrected", "unchanged")}
    counted = report.get("made", {})  # PostgreSQL keeps no order of keys
    made = tuple(
        (f"{name}{'s' if counted[name] > 1 else ''}", counted[name])
        for name in ("customer", "site", "system")
        if name in counted
    )
    return pages.Outcome(
        **counts,
        same=_spans(report.get("same", ())),
        made=made,
        joined=tuple(report.get("joined", ())),
        changes=changes,
    )


def _spans(spans: Iterable[Sequence[int]]) -> str:
    """Rows as people write them.

    >>> _spans([(4, 4), (9, 12)])
    '4, 9–12'
    """
    return ", ".join(f"{first:,}" if first == last else f"{first:,}–{last:,}" for first, last in spans)
