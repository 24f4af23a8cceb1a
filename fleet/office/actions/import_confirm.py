"""What somebody has to see before a file is taken: addresses taken apart, customers that are most likely one, rows that disagree
about a house, and serials that stand in two rows or are read alike."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import groupby
from typing import Any

from fleet import models
from fleet.facts.terms import terms_on_file
from fleet.loading.loading import every
from fleet.loading.namesakes import name_of
from fleet.loading.staging import Stage
from fleet.office.actions import import_rows, import_sites, import_whose
from fleet.office.actions.import_kinds import KINDS
from fleet.rules import words
from fleet.rules.spreadsheets import people, places
from fleet.rules.spreadsheets.plan import Plan, Row

LOT = 2_000
# So many of each are asked at once, which a form has room for: those that nobody has answered first.
SHOWN, UNSURE_SHOWN, SURE_SHOWN, ROWS_SHOWN = 80, 50, 150, 6
# What is shown of each of two rows side by side.
BESIDE = ("customer", "site", "street", "system", "role", "style", "room", "maker", "model", "serial", "installed_on")


def survey(row: models.Import, *, on: dt.date, tell: Callable[[int], None]) -> bool:
    """Go through the file for what is to be confirmed, and whether there is any; the row is not saved.

    It is gone through without what was confirmed before, so that answers can be changed.
    """
    plan = import_rows.plan_of(row)
    bare = replace(plan, names={}, addresses={}, left_out=(), serials={}, facts={})
    columns = KINDS[row.kind].columns_on(on)
    unread: dict[tuple[str, str], list[int]] = {}
    with import_rows.staged(columns) as stage:
        rows = every(LOT, import_rows.read(row, bare, on=on), tell)
        import_rows.set_down(stage, _noting_unread(rows, unread))
        questions: dict[str, Any] = {}
        if row.kind == "installs":
            questions |= {"addresses": _addresses(stage, plan), "names": _first(_names(stage, plan), plan)}
            _apply(stage, questions["names"], plan)
            questions["whose"] = _first(import_whose.questions(stage, plan), plan)
            answers = {
                (one["customer"], one["same_street"]): one["answer"] for one in questions["whose"] if one["answer"]
            }
            import_sites.tell_apart(stage, replace(plan, whose={**plan.whose, **answers}))
            questions["facts"] = _first(_facts(stage, plan, {one["answer"] for one in questions["names"]}), plan)
            import_rows.work_out(stage, plan, terms_on_file().all)
            questions["twins"] = _first(_twins(stage), plan)
    row.findings |= {"confirm": questions}
    if unread:
        _reopen(row, unread)
    return is_open(row)


def is_open(row: models.Import) -> bool:
    """Whether something is not confirmed."""
    return any(key not in import_rows.plan_of(row).confirmed for key in keys(row))


def keys(row: models.Import) -> list[str]:
    """What each question is known by."""
    questions = row.findings.get("confirm", {})
    addresses = [questions["addresses"]["key"]] if questions.get("addresses", {}).get("count") else []
    return [
        *addresses,
        *(one["key"] for name in ("names", "whose", "facts", "twins") for one in questions.get(name, ())),
    ]


def _noting_unread(rows: Iterator[Any], unread: dict[tuple[str, str], list[int]]) -> Iterator[Row]:
    for number, one, _ in rows:
        if one is None or one.is_empty:
            continue
        for text in (*one.unread, *one.ambiguous):
            if text in unread or len(unread) < SHOWN:
                unread.setdefault(text, []).append(number)
        yield one


def _reopen(row: models.Import, unread: dict[tuple[str, str], list[int]]) -> None:
    """Ask again for what still cannot be read: what was said of it does not hold for its row."""
    row.step = "values"
    listed = row.findings["values"]["unread"]
    again = {(column, text) for column, text in unread}
    row.findings["values"]["unread"] = [
        *(one for one in listed if (one["column"], one["text"]) not in again),
        *(
            {
                "column": column,
                "text": text,
                "count": len(rows),
                "rows": rows[:ROWS_SHOWN],
                "known": False,
                "act": "",
                "value": "",
            }
            for (column, text), rows in unread.items()
        ),
    ]


def _first(questions: Iterable[dict[str, Any]], plan: Plan) -> list[dict[str, Any]]:
    """As many questions as can be asked at once: those that nobody has answered first."""
    still_open: list[dict[str, Any]] = []
    answered: list[dict[str, Any]] = []
    for one in questions:
        some = answered if one["key"] in plan.confirmed else still_open
        if len(some) < SHOWN:
            some.append(one)
    return [*still_open, *answered][:SHOWN]


def _addresses(stage: Stage, plan: Plan) -> dict[str, Any]:
    """Addresses of one cell, each once: those whose street and city only their words tell apart, and the others."""
    addresses: dict[str, Any] = {"count": 0, "unsure": [], "answered": [], "sure": [], "beyond": 0}
    is_all_shown = True
    for text, times, first in stage.select(
        "SELECT address, COUNT(*), MIN(row) FROM staged WHERE address IS NOT NULL GROUP BY address ORDER BY MIN(n)"
    ):
        said = plan.addresses.get(text) or places.take_apart(text)
        which = "answered" if text in plan.addresses else "sure" if said.is_sure else "unsure"
        addresses["count"] += 1
        if len(addresses[which]) >= (SURE_SHOWN if which == "sure" else UNSURE_SHOWN):
            addresses["beyond"] += 1
            is_all_shown = is_all_shown and which != "unsure"
            continue
        parts = {"street": said.street, "city": said.city, "region": said.region, "postcode": said.postcode}
        addresses[which].append({"text": text, "count": times, "row": first} | parts)
    addresses["unsure"] = [*addresses["unsure"], *addresses.pop("answered")][:UNSURE_SHOWN]
    # Of a long file, the next round has others to ask about.
    return addresses | {"key": "addresses" if is_all_shown else f"addresses from row {addresses['unsure'][0]['row']}"}


def _names(stage: Stage, plan: Plan) -> Iterator[dict[str, Any]]:
    """Customers whose names are most likely written for one, with how often each is."""
    lines = stage.select(
        "SELECT same_name, customer, COUNT(*), MIN(row) FROM staged WHERE same_name IN"
        " (SELECT same_name FROM staged WHERE same_name != '' GROUP BY same_name HAVING COUNT(DISTINCT customer) > 1)"
        " GROUP BY same_name, customer ORDER BY same_name, COUNT(*) DESC, MIN(row)"
    )
    for same, group in groupby(lines, key=lambda line: line[0]):
        names = [{"name": name, "count": times, "row": row} for _, name, times, row in group]
        said = next((plan.names[one["name"]] for one in names if one["name"] in plan.names), "")
        is_answered = f"name {same}" in plan.confirmed
        yield {"key": f"name {same}", "names": names, "answer": said if is_answered else names[0]["name"]}


def _apply(stage: Stage, names: list[dict[str, Any]], plan: Plan) -> None:
    """Have customers be one, and addresses as they were put right, while what depends on them is looked for."""
    one_name = dict(plan.names)
    for one in names:
        if one["answer"]:
            one_name |= dict.fromkeys((other["name"] for other in one["names"]), one["answer"])
    stage.run_many(
        "UPDATE staged SET customer = ? WHERE customer = ?", ((name, other) for other, name in one_name.items())
    )
    stage.run_many(
        "UPDATE staged SET street = ?, city = ?, region = ?, postcode = ?, same_street = ? WHERE address = ?",
        (
            (
                *(part or None for part in (one.street, one.city, one.region, one.postcode)),
                places.same_street(one.street),
                text,
            )
            for text, one in plan.addresses.items()
        ),
    )
    if "site" in plan.ways:
        import_sites.sites(stage, plan.ways["site"])


def _facts(stage: Stage, plan: Plan, united: set[str]) -> Iterator[dict[str, Any]]:
    """What the rows of one customer, or of one site, say differently, with the value that most of them have first.

    Of customers that are one (`united`), a question is the same whichever of the names stays.
    """
    for columns, names in ((import_rows.OF_CUSTOMER, ("customer",)), (import_rows.OF_SITE, ("customer", "site"))):
        for column in columns:
            for whose, group in groupby(_differing(stage, column, names), key=lambda line: line[: len(names)]):
                values = [{"value": value, "count": times, "row": row} for *_, value, times, row in group]
                customer, site = whose[0], whose[1] if len(whose) > 1 else ""
                known_by = people.same_name(customer) if customer in united else customer
                yield {
                    "key": f"fact {column} {known_by}\t{site}",
                    "customer": customer,
                    "called": name_of(customer),
                    "site": site,
                    "column": column,
                    "values": values,
                    "answer": plan.facts.get((customer, site, column), values[0]["value"]),
                }


def _differing(stage: Stage, column: str, names: tuple[str, ...]) -> Iterator[tuple[Any, ...]]:
    of = ", ".join(names)
    return stage.select(
        f"SELECT {of}, {column}, COUNT(*), MIN(row) FROM staged WHERE {column} IS NOT NULL AND ({of}) IN"
        f" (SELECT {of} FROM staged GROUP BY {of} HAVING COUNT(DISTINCT {column}) > 1)"
        f" GROUP BY {of}, {column} ORDER BY {of}, COUNT(*) DESC, MIN(row)"
    )


def _twins(stage: Stage) -> Iterator[dict[str, Any]]:
    """Units whose serials are the same or read alike, side by side; those on file that read like one of the file among them."""
    stage.run("CREATE TABLE on_file (alike, unit INTEGER)")
    stage.run("CREATE INDEX on_file_by_alike ON on_file (alike)")
    stage.run_many("INSERT INTO on_file VALUES (?, ?)", _on_file(stage))
    groups = stage.select(
        "SELECT alike FROM staged WHERE alike != '' GROUP BY alike"
        " HAVING COUNT(*) > 1 OR EXISTS (SELECT 1 FROM on_file f WHERE f.alike = staged.alike) ORDER BY MIN(n)"
    )
    columns = tuple(name for name in stage.columns if name not in import_rows.KEYS)
    for (alike,) in groups:
        rows = [
            {"row": row} | {name: cell or "" for name, cell in zip(columns, cells, strict=True)}
            for row, *cells in stage.select(
                f"SELECT row, {', '.join(columns)} FROM staged WHERE alike = ? ORDER BY n LIMIT {ROWS_SHOWN}", [alike]
            )
        ]
        units = [pk for (pk,) in stage.select(f"SELECT unit FROM on_file WHERE alike = ? LIMIT {ROWS_SHOWN}", [alike])]
        beside = [
            {name: row[name] for name in ("row", *BESIDE)} | {"customer": name_of(row["customer"])} for row in rows
        ]
        yield {"key": f"serial {alike}", "rows": beside, "on_file": [_beside(pk) for pk in units]} | _sameness(
            rows, units
        )


def _sameness(rows: list[dict[str, Any]], units: list[int]) -> dict[str, Any]:
    """Whether all rows have one serial of one maker and model, and then agree in all else, so that they are one unit as they are."""
    plates = {tuple(words.key(row[name]) for name in ("maker", "model", "serial")) for row in rows}
    rest = [name for name in rows[0] if name not in ("row", "maker", "model", "serial")]
    agree = all(len({row[name] for row in rows} - {""}) <= 1 for name in rest)
    is_one = len(plates) == 1 and not units
    return {"one_plate": is_one, "answer": "as they are" if is_one and agree else ""}


def _on_file(stage: Stage) -> Iterator[tuple[str, int]]:
    """Units on file whose serial only reads like one of the file: one that has the very same is that unit, as ever."""
    for pk, serial, key in (
        models.Unit.objects.exclude(serial_key="").values_list("pk", "serial", "serial_key").iterator()
    ):
        alike = words.alike(serial)
        there = [found for (found,) in stage.select("SELECT DISTINCT serial_key FROM staged WHERE alike = ?", [alike])]
        if there and key not in there:
            yield alike, pk


def _beside(pk: int) -> dict[str, Any]:
    unit = models.Unit.objects.select_related("system__site__customer").get(pk=pk)
    site = unit.system.site
    said = {name: getattr(unit, name) for name in ("role", "style", "room", "maker", "model", "serial")}
    where = {"customer": site.customer.name, "site": site.name, "street": site.street, "system": unit.system.name}
    return {"unit": pk} | where | said | {"installed_on": unit.installed_on.isoformat() if unit.installed_on else ""}
