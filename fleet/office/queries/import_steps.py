"""What somebody is asked of a file before it is taken, a step at a time, with what was answered already."""

from collections.abc import Iterable, Iterator
from typing import Any

from fleet import models
from fleet.office.pages import import_steps as pages
from fleet.office.pages.imports import Kind
from fleet.registry.queries import namesakes
from fleet.rules.dates import in_words
from fleet.rules.spreadsheets import days, headings, serials
from fleet.rules.spreadsheets.cells import HOUSEHOLD
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.plan import APART, NEW_CUSTOMER, ONE, Plan, from_json

# How many sheets of one kind are looked through for what a heading meant before.
REMEMBERED = 20
CELLS_SHOWN = 12
OPEN = ("asking", "checked", "refused", "waiting", "reading")


def _row(pk: int) -> models.Import | None:
    return models.Import.objects.filter(pk=pk, state__in=OPEN).exclude(stored="").exclude(tops=[]).first()


def _head(row: models.Import, kind: Kind, step: str) -> pages.Head:
    return pages.Head(row.pk, row.name, kind.title, row.row_count or 0, steps(row, step))


def steps(row: models.Import, step: str) -> tuple[pages.Step, ...]:
    """The steps of a file, and which can be gone to."""
    there = {
        "sheet": bool(row.tops),
        "columns": bool(row.sheet),
        "values": "values" in row.findings,
        "confirm": "confirm" in row.findings,
        "ready": row.step == "ready",
    }
    return tuple(pages.Step(title, address, name == step, there[name]) for name, title, address in pages.STEPS)


def sheet(pk: int, kind: Kind) -> pages.SheetPage | None:
    """The sheets of a file, each with its first lines."""
    row = _row(pk)
    if row is None:
        return None
    tops = [top for top in row.tops if top["lines"]]
    return pages.SheetPage(
        _head(row, kind, "sheet"),
        tuple(
            pages.Top(
                top["sheet"],
                top["is_visible"],
                tuple(
                    pages.TopLine(f"{place}:{number}", number, tuple(cells[:CELLS_SHOWN]))
                    for number, cells in top["lines"]
                    if any(cells)
                ),
                f"{place}:-1",
                top["heading_row"],
                top["sheet"] == row.sheet_name,
            )
            for place, top in enumerate(tops)
        ),
        next((f"{place}:{row.heading_row}" for place, top in enumerate(tops) if top["sheet"] == row.sheet_name), ""),
    )


def columns(pk: int, kind: Kind) -> pages.ColumnsPage | None:
    """The columns of a file beside ours, each with what it is or most likely means."""
    row = _row(pk)
    if row is None or not row.sheet:
        return None
    theirs = [column for column in row.sheet if column["heading"] != headings.WRONG]
    samples = {column["heading"]: column["samples"] for column in theirs}
    matched = row.columns or headings.suggest(list(samples), samples, kind.targets, _known(row.kind))
    return pages.ColumnsPage(
        head=_head(row, kind, "columns"),
        columns=tuple(
            pages.Theirs(
                column["heading"],
                tuple(column["samples"][:3]),
                column["filled"],
                column["hidden"],
                matched.get(column["heading"], ""),
            )
            for column in theirs
        ),
        ours=tuple(
            pages.Ours(
                name,
                headings.title(name),
                name in kind.required,
                tuple((way, pages.WAYS[way]) for column, way in kind.ways if column == name),
            )
            for name in kind.targets
        ),
        given=row.plan.get("given", {}),
        ways=row.plan.get("ways", {}),
        merged=row.findings.get("merged", 0),
    )


def _known(kind: str) -> dict[str, str]:
    """What headings meant in other sheets of this kind, the latest first."""
    columns: dict[str, str] = {}
    for memory in models.ColumnMemory.objects.filter(kind=kind).order_by("-pk")[:REMEMBERED]:
        columns = memory.columns | columns
    return columns


def values(pk: int, kind: Kind) -> pages.ValuesPage | None:
    """What cannot be read in a file."""
    row = _row(pk)
    if row is None or "values" not in row.findings:
        return None
    questions, plan = row.findings["values"], from_json(row.columns, row.plan)
    heading_of = {name: heading for heading, name in row.columns.items()}
    unread = tuple(_unread(one, kind, heading_of, plan) for one in questions["unread"])
    return pages.ValuesPage(
        head=_head(row, kind, "values"),
        unread=tuple(one for one in unread if not one.is_known),
        known=tuple(one for one in unread if one.is_known),
        days=tuple(_days(one, heading_of, plan) for one in questions["days"]),
        others=tuple(
            pages.Others(one["column"], _title(one["column"], heading_of), one["count"], _rest(plan, one["column"]))
            for one in questions["others"]
        ),
        read_as=tuple(
            pages.ReadAs(
                _title(one["column"], heading_of), one["text"], pages.shown(one["column"], one["value"]), one["count"]
            )
            for one in questions["read_as"]
        ),
        empty=questions["empty"]["count"],
        empty_rows=tuple(zip(questions["empty"]["rows"], questions["empty"]["texts"], strict=True)),
    )


def _title(column: str, heading_of: dict[str, str]) -> str:
    return heading_of.get(column) or headings.title(column)


def _rest(plan: Plan, column: str) -> str:
    return plan.rest[column].act if column in plan.rest else ""


def _unread(one: dict[str, Any], kind: Kind, heading_of: dict[str, str], plan: Plan) -> pages.Unread:
    column = one["column"]
    of_model = column == "maker" and "maker" in plan.ways
    return pages.Unread(
        column=column,
        title="Manufacturer of model" if of_model else _title(column, heading_of),
        text=one["text"],
        count=one["count"],
        where=pages.rows_in_words(tuple(one["rows"]), one["count"]),
        is_known=one["known"],
        act=one["act"],
        value=one["value"],
        choices=kind.choices.get(column, ()),
        can_be_blank=column not in kind.required and bool(one["text"]),
        is_of_house=column in HOUSEHOLD or one["act"] == "above",
    )


def _days(one: dict[str, Any], heading_of: dict[str, str], plan: Plan) -> pages.DaysAsked:
    column, samples = one["column"], one["samples"]
    readings = tuple(
        pages.Reading(order.value, "; ".join(f"{cell} is {in_words(found[order])}" for cell, found in read))
        for order in Order
        if (read := [(cell, found) for cell in samples if order in (found := days.readings(cell))])
    )
    counts = {order: count for order, count in one["orders"].items() if count}
    evidence = "; ".join(
        f"{count:,} other date{'s' if count > 1 else ''} can only be {order}" for order, count in counts.items()
    )
    chosen = plan.orders.get(column) or (next(iter(counts)) if len(counts) == 1 else "")
    where = pages.rows_in_words(tuple(one["rows"]), one["count"])
    return pages.DaysAsked(column, _title(column, heading_of), where, readings, evidence, str(chosen))


def confirm(pk: int, kind: Kind) -> pages.ConfirmPage | None:
    """What is to be seen before a file is taken."""
    row = _row(pk)
    if row is None or "confirm" not in row.findings:
        return None
    questions = row.findings["confirm"]
    addresses = questions.get("addresses", {})
    return pages.ConfirmPage(
        head=_head(row, kind, "confirm"),
        addresses_key=addresses.get("key", ""),
        unsure=tuple(_addresses(addresses.get("unsure", ()))),
        sure=tuple(_addresses(addresses.get("sure", ()))),
        beyond=addresses.get("beyond", 0),
        names=tuple(
            pages.Several(one["key"], "", _several(one["names"], "name"), one["answer"])
            for one in questions.get("names", ())
        ),
        whose=tuple(map(_whose, questions.get("whose", ()))),
        facts=tuple(
            pages.Several(one["key"], _fact_title(one), _several(one["values"], "value", one["column"]), one["answer"])
            for one in questions.get("facts", ())
        ),
        twins=tuple(_twins(one, row.plan.get("twins", {}).get(one["key"])) for one in questions.get("twins", ())),
    )


def _addresses(lines: Iterable[dict[str, Any]]) -> Iterator[pages.AddressAsked]:
    for one in lines:
        yield pages.AddressAsked(one["text"], one["count"], one["street"], one["city"], one["region"], one["postcode"])


def _several(lines: Iterable[dict[str, Any]], name: str, column: str = "") -> tuple[pages.Value, ...]:
    return tuple(pages.Value(one[name], pages.shown(column, one[name]), one["count"], one["row"]) for one in lines)


def _whose(one: dict[str, Any]) -> pages.Whose:
    name, row = one["customer"], f"row {one['row']:,}"
    if not one["same_street"]:
        streets = " and ".join(filter(None, ("; ".join(one["streets"][:-1]), one["streets"][-1])))
        title = f"{name} is at {streets} (first in {row}). Is that one customer?"
        choices = (ONE, f"One customer named {name}, with a house at each"), (APART, "Different customers of that name")
        return pages.Whose(one["key"], title, choices, one["answer"])
    title = f"{name} at {one['street']} ({row}): who is it?"
    known = (
        (str(of.pk), f"{of.words}. This is another of their houses.") for of in namesakes.of_keys(one["customers"])
    )
    another = NEW_CUSTOMER, f"Another customer named {name}"
    return pages.Whose(one["key"], title, (*known, another), one["answer"])


def _fact_title(one: dict[str, Any]) -> str:
    whose = ", ".join(filter(None, (one["called"], one["site"])))
    return f"{whose}: {headings.title(one['column'])}"


def _twins(one: dict[str, Any], said: list[Any] | None) -> pages.Twins:
    first = one["rows"][0]["serial"]
    right = {int(row): text for row, text in (said[1] if said else {}).items()}
    units = tuple(_beside(each, first, right) for each in (*one["rows"], *one["on_file"]))
    must_differ = one["one_plate"] and not one["answer"]
    return pages.Twins(one["key"], must_differ, units, tuple(_choices(one)), said[0] if said else one["answer"], right)


def _beside(one: dict[str, Any], first: str, right: dict[int, str]) -> pages.Beside:
    serial = one["serial"]
    where = ", ".join(
        filter(None, (one["customer"], one["site"], one["street"] if one["street"] != one["site"] else ""))
    )
    kind = f"{one['style']} {one['role']}".strip()
    what = ", ".join(filter(None, (f"{one['maker']} {one['model']}".strip(), kind, one["room"], one["installed_on"])))
    marked = set(serials.differing(serial, first))
    cut = tuple((sign, place in marked) for place, sign in enumerate(serial))
    row = one.get("row", 0)
    return pages.Beside(row, one.get("unit", 0), where, what, right.get(row, serial), cut)


def _choices(one: dict[str, Any]) -> Iterator[tuple[str, str]]:
    if one["one_plate"] and one["answer"]:
        yield "as they are", "The same unit: use what all of these rows say"
    else:
        yield "as they are", "Different units: use the serial shown for each"
    if len(one["rows"]) > 1:
        for each in one["rows"]:
            yield (
                f"row {each['row']}",
                f"The same unit: use row {each['row']:,} and skip the other{'s' if len(one['rows']) > 2 else ''}",
            )
    for each in one["on_file"]:
        yield f"unit {each['unit']}", f"It is the unit on file: {each['serial']}"
