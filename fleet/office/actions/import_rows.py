"""The rows of a file that was brought, as they are read by what was said of it; worked out further where that is wanted."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import groupby
from typing import Any

from fleet import models
from fleet.facts.terms import terms_on_file
from fleet.loading import namesakes
from fleet.loading.installs.levels import LEVELS
from fleet.loading.loading import Cells, Columns
from fleet.loading.staging import Stage
from fleet.office.actions import import_files, import_sites
from fleet.office.actions.import_kinds import KINDS
from fleet.rules.spreadsheets import filling, headings, people, places
from fleet.rules.spreadsheets import plan as plans
from fleet.rules.spreadsheets.cells import Act
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.plan import Plan, Reader, Row
from fleet.rules.terms import Terms
from fleet.rules.words import alike, key
from fleet.sheets import Problems, own
from fleet.sheets.own import OwnSheet

# What rows are grouped by while they are worked out.
KEYS = ("same_name", "same_street", "serial_key", "alike", "address")
OF_CUSTOMER, OF_SITE = (level.facts for level in LEVELS[:2])


def plan_of(row: models.Import) -> Plan:
    """What is said of a file so far."""
    return plans.from_json(row.columns, row.plan)


def read(row: models.Import, plan: Plan, *, on: dt.date) -> Iterator[tuple[int, Row | None, dict[str, str]]]:
    """Each row as it is read, with its number and its cells by their headings; nothing where it is left out."""
    path = import_files.path_of(row.stored)
    shape = own.shape_of(path, row.name, row.sheet_name)
    reader = Reader(plan, KINDS[row.kind].ours(on))
    table = OwnSheet(row.name, sheet=row.sheet_name, heading_row=row.heading_row, shape=shape)
    for number, theirs in own.own_rows(path, table):
        theirs.pop(headings.WRONG, None)
        yield number, reader.row(number, theirs), theirs


def to_load(row: models.Import, columns: Columns, problems: Problems, *, on: dt.date) -> Iterator[tuple[int, Cells]]:
    """The rows to be taken, by our columns; whatever nobody has said yet is a problem."""
    plan = plan_of(row)
    readable = _readable(row, plan, problems, on=on)
    if not plan.ways and not plan.facts:
        yield from ((one.number, dict.fromkeys(columns, "") | one.cells) for one in readable)
        return
    with staged(columns) as stage:
        set_down(stage, readable)
        import_sites.tell_apart(stage, plan)
        work_out(stage, plan, terms_on_file().all)
        yield from rows_of(stage, columns)


def _readable(row: models.Import, plan: Plan, problems: Problems, *, on: dt.date) -> Iterator[Row]:
    for number, one, _ in read(row, plan, on=on):
        if one is None or one.is_empty:
            continue
        for column, text in one.ambiguous:
            problems.note(number, column, f"a day that can be read one way, not {text[:60]!r}")
        for column, text in one.unread:
            problems.note(number, column, f"something that can be understood, not {text[:60]!r}" if text else "a value")
        yield one


@contextmanager
def staged(columns: Mapping[str, object]) -> Iterator[Stage]:
    """A place on disk for rows while they are worked out: however many they are, memory stays as it is."""
    with Stage((*columns, *KEYS)) as stage:
        yield stage


def set_down(stage: Stage, rows: Iterator[Row]) -> None:
    """Set rows down with what they are grouped by."""
    stage.add((one.number, _keyed(one)) for one in rows)
    for name in KEYS:
        stage.run(f"CREATE INDEX staged_by_{name} ON staged ({name})")
    if "customer" in stage.columns:
        stage.run("CREATE INDEX staged_by_customer ON staged (customer)")


def _keyed(one: Row) -> dict[str, str]:
    cells = one.cells
    return cells | {
        "same_name": people.same_name(cells.get("customer", "")),
        "same_street": places.same_street(cells.get("street", "")),
        "serial_key": key(cells.get("serial", "")),
        "alike": alike(cells.get("serial", "")),
        "address": one.texts.get(headings.ADDRESS, ""),
    }


def rows_of(stage: Stage, columns: Mapping[str, object]) -> Iterator[tuple[int, Cells]]:
    """The rows as they are worked out, in the order of the file."""
    for number, *cells in stage.select(f"SELECT row, {', '.join(columns)} FROM staged ORDER BY n"):
        values = {name: cell or "" for name, cell in zip(columns, cells, strict=True)}
        yield number, values | {"customer": namesakes.name_of(values["customer"])}


# -- worked out


def work_out(stage: Stage, plan: Plan, terms: Sequence[Terms]) -> None:
    """Work out what the file does not say, once customers are told apart: which of several facts holds, systems, manufacturers."""
    settle(stage, plan)
    if way := plan.ways.get("system"):
        (_systems_by_day if way is Way.SYSTEM_DAY else _systems_by_outdoor)(stage)
    if "maker" in plan.ways:
        _makers(stage, plan, terms)


def settle(stage: Stage, plan: Plan) -> None:
    """Have one value hold where a customer's or a site's rows say several; another one that says something else goes to the notes."""
    for (customer, site, column), value in plan.facts.items():
        where, names = ("customer = ? AND site = ?", [customer, site]) if site else ("customer = ?", [customer])
        others = list(
            stage.select(
                f"SELECT n, {column}, notes FROM staged WHERE {where} AND {column} IS NOT NULL AND {column} != ?",
                [*names, value],
            )
        )
        stage.run_many(
            f"UPDATE staged SET {column} = ?, notes = ? WHERE n = ?",
            ((value, _noted(notes, column, said, value), n) for n, said, notes in others),
        )


def _noted(notes: str | None, column: str, said: str, value: str) -> str | None:
    if filling.is_same_fact(column, said, value):
        return notes
    return "; ".join(filter(None, [notes, f"{headings.title(column)}: {said}"]))


def _systems_by_day(stage: Stage) -> None:
    stage.run("CREATE TABLE days_at AS SELECT DISTINCT customer, site, installed_on AS day FROM staged")
    stage.run("CREATE TABLE named_systems (customer, site, day, system, PRIMARY KEY (customer, site, day))")
    of_sites = groupby(
        stage.select("SELECT customer, site, day FROM days_at ORDER BY customer, site"), key=lambda line: line[:2]
    )
    stage.run_many("INSERT INTO named_systems VALUES (?, ?, ?, ?)", _named_by_day(of_sites))
    stage.run(
        "UPDATE staged SET system = (SELECT s.system FROM named_systems s WHERE s.customer IS staged.customer"
        " AND s.site IS staged.site AND s.day = COALESCE(staged.installed_on, ''))"
    )


def _named_by_day(of_sites: Iterable[tuple[Any, Iterable[Any]]]) -> Iterator[tuple[str, str, str, str]]:
    for (customer, site), lines in of_sites:
        days = {day or "" for *_, day in lines}
        for day in days:
            yield customer, site, day, filling.system_by_day(day, days - {""})


def _systems_by_outdoor(stage: Stage) -> None:
    stage.run("CREATE TABLE named_systems (n INTEGER PRIMARY KEY, system)")
    units = stage.select("SELECT customer, site, n, role FROM staged ORDER BY customer, site, n")
    stage.run_many(
        "INSERT INTO named_systems VALUES (?, ?)", _named_by_outdoor(groupby(units, key=lambda line: line[:2]))
    )
    stage.run("UPDATE staged SET system = (SELECT s.system FROM named_systems s WHERE s.n = staged.n)")


def _named_by_outdoor(of_sites: Iterable[tuple[Any, Iterable[Any]]]) -> Iterator[tuple[int, str]]:
    for _, lines in of_sites:
        units = list(lines)
        yield from zip(
            (n for *_, n, _ in units), filling.systems_by_outdoor(role or "" for *_, role in units), strict=True
        )


def maker_of(model: str, plan: Plan, terms: Sequence[Terms]) -> str:
    """Who makes a model: whoever somebody said, else the one whose terms name it; blank where nobody can say."""
    said = plan.meaning("maker", model)
    return said.value if said is not None and said.act in (Act.VALUE, Act.BOTH) else filling.maker(model, terms)


def _makers(stage: Stage, plan: Plan, terms: Sequence[Terms]) -> None:
    stage.run("CREATE TABLE models AS SELECT DISTINCT model FROM staged WHERE model IS NOT NULL AND maker IS NULL")
    stage.run("CREATE TABLE makers (model PRIMARY KEY, maker)")
    stage.run_many(
        "INSERT INTO makers VALUES (?, ?)",
        ((model, maker_of(model, plan, terms) or None) for (model,) in stage.select("SELECT model FROM models")),
    )
    stage.run(
        "UPDATE staged SET maker = (SELECT m.maker FROM makers m WHERE m.model = staged.model) WHERE maker IS NULL"
    )
