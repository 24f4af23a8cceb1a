"""What somebody answers of a file before it is taken. Each answer moves the file to its next step (`models.office.IMPORT_STEPS`)."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from fleet import models
from fleet.office.actions import import_columns, import_values
from fleet.office.actions.import_course import go_on, open_row
from fleet.office.actions.import_kinds import KINDS
from fleet.office.actions.import_rows import plan_of
from fleet.refusals import Refused
from fleet.rules.spreadsheets import headings
from fleet.rules.spreadsheets.cells import Meaning
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.places import Address
from fleet.rules.spreadsheets.plan import Plan, as_json


def choose_sheet(*, imported: models.Import, sheet: str, heading_row: int, by: models.User, on: dt.date) -> None:
    """Say which sheet is read and which of its rows names the columns."""
    with transaction.atomic():
        row = open_row(imported)
        if sheet not in [top["sheet"] for top in row.tops]:
            raise Refused("Choose one of the sheets of this file.", "sheet")
        row.sheet_name, row.heading_row = sheet, heading_row
        row.step, row.sheet, row.columns, row.plan, row.by = "columns", [], {}, {}, by
        go_on(row, on=on)


def match(
    *,
    imported: models.Import,
    columns: Mapping[str, str],
    given: Mapping[str, str] | None = None,
    ways: Mapping[str, Way] | None = None,
    by: models.User,
    on: dt.date,
) -> None:
    """Say which of our columns each of theirs is (those not named are left out), and how those that they lack are filled.

    It is remembered for sheets with the same headings.
    """
    with transaction.atomic():
        row = open_row(imported)
        kind = KINDS[row.kind]
        theirs = [column["heading"] for column in row.sheet]
        row.columns = {heading: name for heading, name in columns.items() if name and heading in theirs}
        matched = list(row.columns.values())
        row.plan |= {
            "given": {name: value for name, value in (given or {}).items() if name in kind.names},
            "ways": {
                name: way for name, way in (ways or {}).items() if (name, way) in kind.ways and name not in matched
            },
        }
        if missing := import_columns.missing(row):
            raise Refused(f"Each row needs {', '.join(map(headings.title, missing))}. Say where to find it.")
        once = [name for name in matched if name not in (headings.NOTE, "notes")]
        if len(set(once)) < len(once) or not set(matched) <= set(kind.targets):
            raise Refused("Two columns are matched to the same fact. Choose another for one of them.")
        import_columns.remember(row)
        row.plan["confirmed"] = []  # what it was said of may be read otherwise now
        row.step, row.by = "values", by
        go_on(row, on=on)


@dataclass(frozen=True, slots=True)
class Values:
    """What somebody says of what cannot be read: by column and text; of all other texts of a column; of how days are written."""

    meanings: Mapping[str, Mapping[str, Meaning]] = field(default_factory=dict)
    rest: Mapping[str, Meaning] = field(default_factory=dict)
    orders: Mapping[str, Order] = field(default_factory=dict)


def say_values(*, imported: models.Import, values: Values, by: models.User, on: dt.date) -> None:
    """Say what each text means that cannot be read, and remember it for the next file that has it."""
    with transaction.atomic():
        row = open_row(imported)
        if row.step not in ("values", "confirm", "ready"):
            raise Refused("Say what its columns are first.")
        said = as_json(Plan(row.columns, meanings=values.meanings, rest=values.rest, orders=values.orders))
        row.plan |= {name: said[name] for name in ("meanings", "rest", "orders")}
        for one in row.findings["values"]["unread"]:
            one["known"] = one["text"] in values.meanings.get(one["column"], {})
        if import_values.is_open(row):
            raise Refused("Say what each of these means.")
        models.ValueMemory.objects.bulk_create(
            [
                models.ValueMemory(kind=row.kind, column=column, text=text, act=meaning.act, value=meaning.value)
                for column, many in values.meanings.items()
                for text, meaning in many.items()
            ],
            update_conflicts=True,
            unique_fields=["kind", "column", "text"],
            update_fields=["act", "value"],
        )
        import_columns.remember(row)
        row.step, row.by = "confirm", by
        go_on(row, on=on)


@dataclass(frozen=True, slots=True)
class Twin:
    """What somebody says of serials that are the same or read alike: all are taken as they are, or one row, or one on file."""

    choice: str  # "as they are", "row 12" or "unit 7"
    serials: Mapping[int, str] = field(default_factory=dict)  # by row, as it should be


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What somebody says to what they are shown before a file is taken, by what each question is known by."""

    addresses: Mapping[str, Address] = field(default_factory=dict)  # by text, where they were put right
    names: Mapping[str, str] = field(default_factory=dict)  # the one name; blank: different customers
    whose: Mapping[str, str] = field(default_factory=dict)  # who is meant, as `Plan.whose` says it
    facts: Mapping[str, str] = field(default_factory=dict)
    twins: Mapping[str, Twin] = field(default_factory=dict)
    keys: frozenset[str] = frozenset()  # what they said yes to


def confirm(*, imported: models.Import, said: Confirmed, by: models.User, on: dt.date) -> None:
    """Say how addresses, customers, facts and serials are meant that somebody has to see before the file is taken."""
    with transaction.atomic():
        row = open_row(imported)
        if row.step not in ("confirm", "ready"):
            raise Refused("Say first what the values mean that were not understood.")
        _record(row, said)
        row.step, row.by = "confirm", by
        go_on(row, on=on)


def _record(row: models.Import, said: Confirmed) -> None:
    """Set down what was confirmed, beside what was before: a long file is asked about in several rounds."""
    questions, plan = row.findings["confirm"], plan_of(row)
    names, facts = dict(plan.names), dict(plan.facts)
    for one in questions.get("names", ()):
        for other in one["names"]:
            names.pop(other["name"], None)
            if name := said.names.get(one["key"]):
                names[other["name"]] = name
    whose = dict(plan.whose)
    for one in questions.get("whose", ()):
        if answer := said.whose.get(one["key"]):
            whose[one["customer"], one["same_street"]] = answer
    for one in questions.get("facts", ()):
        if one["key"] in said.facts:
            customer = names.get(one["customer"], one["customer"])
            facts[customer, one["site"], one["column"]] = said.facts[one["key"]]
    left_out, serials = set(plan.left_out), dict(plan.serials)
    for one in questions.get("twins", ()):
        if one["key"] in said.twins:
            _settle(one, said.twins[one["key"]], left_out, serials)
    answers = Plan(
        row.columns,
        addresses={**plan.addresses, **said.addresses},
        names=names,
        facts=facts,
        left_out=left_out,
        serials=serials,
        whose=whose,
        confirmed={*plan.confirmed, *said.keys, *said.names, *said.whose, *said.facts, *said.twins},
    )
    plain = as_json(answers)
    row.plan |= {
        name: plain[name] for name in ("addresses", "names", "whose", "facts", "left_out", "serials", "confirmed")
    }
    twins = {key: [twin.choice, {str(n): text for n, text in twin.serials.items()}] for key, twin in said.twins.items()}
    row.plan["twins"] = row.plan.get("twins", {}) | twins


def _settle(group: Any, twin: Twin, left_out: set[int], serials: dict[int, str]) -> None:
    """Leave rows out, and put serials right, as somebody says of units that are alike."""
    rows = {one["row"]: one["serial"] for one in group["rows"]}
    left_out.difference_update(rows)
    for number, serial in rows.items():
        serials.pop(number, None)
        if (right := twin.serials.get(number, serial)) != serial:
            serials[number] = right
    which, _, chosen = twin.choice.partition(" ")
    if which == "row":
        left_out.update(rows.keys() - {int(chosen)})
    elif which == "unit":
        (unit,) = [one for one in group["on_file"] if one["unit"] == int(chosen)]
        serials.update(dict.fromkeys(rows, unit["serial"]))
