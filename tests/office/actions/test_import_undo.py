"""An import undone: every table is as it was before, or what depends on the import is named and nothing is changed."""

import io
from typing import Any

import pytest
from django.apps import apps

from fleet import models, tasks
from fleet.derived import recheck
from fleet.loading import agreements, history, installs
from fleet.office.actions import import_undo, imports
from fleet.office.actions.import_undo import ask
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct, merges
from fleet.registry.actions.correct import Edit
from tests import company

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("media")]
TODAY = company.TODAY
HEAD = {"customer": "Brit Sørby", "site": "Cabin", "system": "1", "role": "head", "maker": "Northrill", "model": "NH-9"}
# What an import leaves behind by design, undone or not.
_LEFT = ("import", "load", "change", "job", "columnmemory", "valuememory")
WHY = "wrong file"


def every_table() -> dict[str, list[Any]]:
    """All rows of every table, those that are worked out without their keys, which no two runs share."""
    tables = {}
    for table in apps.get_app_config("fleet").get_models():
        name = str(table._meta.model_name)
        if name in _LEFT:
            continue
        fields = [field.attname for field in table._meta.concrete_fields]
        if name.endswith("row") and name != "historyrow" or name == "lookupentry":
            fields.remove("id")
        tables[name] = sorted(table.objects.values_list(*fields), key=repr)
    return tables


def taken(office, rows: list[dict[str, str]], kind: str = "installs", *, correcting: bool = False) -> models.Import:
    """A file of our own columns, imported."""
    header = list(dict.fromkeys(name for row in rows for name in row))
    lines = [header, *([row.get(name, "") for name in header] for row in rows)]
    file = io.BytesIO("\n".join(",".join(line) for line in lines).encode())
    found = imports.bring(file=file, name=f"{kind}.csv", kind=kind, by=office, on=TODAY)
    tasks.drain()
    found.refresh_from_db()
    assert found.state in ("checked", "refused"), (found.state, found.step, found.report, found.findings)
    imports.ask(imported=found, correcting=correcting, checking=False, by=office)
    tasks.drain()
    found.refresh_from_db()
    assert found.state == "taken", found.report
    return found


def undone(found: models.Import) -> models.Import:
    ask(imported=found, why=WHY, by=found.by)
    tasks.drain()
    found.refresh_from_db()
    return found


def some_house() -> None:
    """What is on file before: one house with blanks that a file fills and facts that it corrects."""
    installs.load_rows(
        [
            HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Den", "serial": "A-1", "use": "rental"},
            HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Loft", "style": "wall"},
            HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Annex", "room": "Hall", "serial": "A-9", "started_on": "2021-03-01"},
            HEAD | {"customer": "Odd Frame", "site": "Home", "system": "Main", "room": "Hall", "serial": "O-1"},
        ],
        on=TODAY,
    )  # fmt: skip


NEW = [
    HEAD | {"serial": "N-1", "room": "Den", "started_on": "2021-03-01", "registered_on": "2021-03-02", "attached": "ours-1", "use": "business", "phone": "207-555-0134"},
    HEAD | {"serial": "N-2", "room": "Loft", "system": "2"},
    # At a house on file: a new unit, a new system, blanks filled, terms promised, a registration.
    HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Bath", "serial": "A-2", "phone": "207-555-0199"},
    HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Third", "room": "Bath", "serial": "A-3", "street": "9 Tar Lane"},
    HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Loft", "serial": "A-4", "installed_on": "2020-01-05"},
    HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Den", "serial": "A-1", "registered_on": "2021-03-04", "attached": "ours-1", "notes": "new filter"},
    HEAD | {"customer": "Odd Frame", "site": "Home", "system": "Main", "room": "Hall", "serial": "O-1", "use": "owner home"},
]  # fmt: skip
OTHERWISE = [
    HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Attic", "serial": "A 1", "use": "business"},
    HEAD | {"customer": "Ada Quill", "site": "Home", "system": "Main", "room": "Hall", "serial": "A-9", "started_on": "2021-04-01", "licensed_installer": "yes"},
]  # fmt: skip
LIVED = [
    {"serial": "A-1", "day": "2022-05-01", "kind": "failure", "component": "compressor", "parts_cost": "120.00"},
    {"serial": "A-1", "day": "2022-06-01", "kind": "maintenance", "task": "wash head", "technician": "Robin"},
    {"serial": "A-1", "day": "2022-07-01", "kind": "moved", "to_system": "Barn"},
    {"serial": "A-1", "day": "2022-08-01", "kind": "idle"},
    {"serial": "A-1", "day": "2022-09-01", "kind": "back in use"},
    {"serial": "A-9", "day": "2022-07-01", "kind": "exchanged", "under_warranty": "yes", "new_serial": "A-9B"},
    {"serial": "A-9B", "day": "2023-07-01", "kind": "exchanged", "under_warranty": "no", "new_serial": "A-9C"},
    {"serial": "A-9C", "day": "2024-07-01", "kind": "removed"},
    {"serial": "O-1", "day": "2023-01-05", "kind": "sold"},
    {"serial": "O-1", "day": "2023-01-06", "kind": "notified", "terms": "northrill-1"},
    {"serial": "O-1", "day": "2023-01-07", "kind": "attached", "terms": "ours-1"},
    {"serial": "O-1", "day": "2023-01-08", "kind": "registered", "terms": "northrill-1"},
]  # fmt: skip
AGREED = [
    {"customer": "Ada Quill", "site": "Home", "start_on": "2025-01-01", "months": "12", "visits_per_year": "2", "first_head": "120", "notes": "keys at the desk"},
    {"customer": "Odd Frame", "site": "Home", "start_on": "2025-06-01", "months": "12", "visits_per_year": "1", "first_head": "140"},
]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "rows", "correcting"),
    [("installs", NEW, False), ("installs", OTHERWISE, True), ("history", LIVED, False), ("agreements", AGREED, False)],
    ids=["new rows", "corrections", "history", "agreements"],
)
def test_every_table_is_as_before_and_the_file_can_be_taken_again(kind, rows, correcting, office):
    some_house()
    if kind == "agreements":
        agreements.load_rows([AGREED[0] | {"notes": ""}], on=TODAY)
    before = every_table()
    found = taken(office, rows, kind, correcting=correcting)
    after = every_table()
    assert before != after
    assert undone(found).state == "undone", found.report
    now = every_table()
    assert [name for name in now if now[name] != before[name]] == []
    assert not list(recheck.differences(on=TODAY))
    assert taken(office, rows, kind, correcting=correcting).report["added"] == found.report["added"]
    assert len(every_table()["unit"]) == len(after["unit"])


def test_it_is_logged_with_who_undid_it_and_why(office):
    found = undone(taken(office, NEW[:2]))
    change = models.Change.objects.get(table="load", object_id=found.load_id, field="import")
    assert (change.before, change.by, change.why) == (
        "installs.csv: 1 attachment, 1 registration, 2 units, 2 systems, 1 site, 1 customer", office, WHY,
    )  # fmt: skip


def unit() -> models.Unit:
    return models.Unit.objects.get(serial="N-1")


def told(kind: str, **cells: str) -> None:
    history.load_rows([{"serial": "N-1", "day": "2026-02-28", "kind": kind} | cells], on=TODAY)


def another_unit(office) -> None:
    installs.load_rows([HEAD | {"serial": "N-7", "system": "7"}], by=office, on=TODAY)


def merge_away(office) -> None:
    other = company.unit("", room="Den", customer="Brit Sørby", site="Cabin")
    differing = merges.contradictions("unit", other, unit())
    merges.merge("unit", other.pk, unit().pk, chosen={one.field: "gone" for one in differing}, by=office, on=TODAY)


LATER = {
    "a failure": (lambda office: told("failure", component="compressor"), "1 failure on Northrill NH-9 N-1"),
    "a move": (lambda office: told("moved", to_system="Barn"), "1 move on Northrill NH-9 N-1"),
    "another unit": (another_unit, "1 system put in since on Cabin"),
    "a correction": (
        lambda office: correct.unit(unit().pk, {"room": Edit("Den", "Study")}, by=office, on=TODAY),
        "Room of Northrill NH-9 N-1, which office changed",
    ),
    "a merge": (merge_away, "the merge with Northrill NH-9 N-1"),
    "an agreement": (
        lambda office: agreements.load_rows([AGREED[0] | {"customer": "Brit Sørby", "site": "Cabin"}], on=TODAY),
        "1 agreement on Cabin",
    ),
    "a contact": (
        lambda office: models.Contact.objects.create(site=unit().system.site, name="Gate"),
        "1 contact on Cabin",
    ),
    "a fact filled and changed since": (
        lambda office: correct.customer(
            models.Customer.objects.get(name="Ada Quill").pk, {"phone": Edit("207-555-0199", "207-555-0101")}, by=office, on=TODAY
        ),
        "Phone of Ada Quill, which this import wrote, was changed since",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("hang", "said"), LATER.values(), ids=LATER)
def test_what_depends_on_it_is_named_and_nothing_is_changed(hang, said, office):
    some_house()
    found = taken(office, NEW)
    hang(office)
    before = every_table()
    assert undone(found).state == "taken"
    assert said in found.report["in_the_way"]
    assert every_table() == before
    assert not models.Change.objects.filter(field="import").exists()


@pytest.mark.parametrize(
    ("rows", "later", "said"),
    [
        (LIVED[2:3], {"serial": "A-1", "day": "2024-07-01", "kind": "removed"}, "moved on 2022-07-01"),
        (LIVED[5:6], {"serial": "A-9B", "day": "2024-07-01", "kind": "maintenance"}, "1 record of maintenance"),
        (LIVED[5:8], {"serial": "A-1", "day": "2024-07-01", "kind": "removed"}, ""),
    ],
    ids=["a later removal", "upkeep of the new unit", "something of another unit"],
)
def test_history_is_undone_unless_something_became_of_its_units_since(rows, later, said, office):
    some_house()
    found = taken(office, rows, "history")
    history.load_rows([later], on=TODAY)
    before = every_table()
    undone(found)
    assert (found.state == "taken") == bool(said)
    assert said in found.report.get("in_the_way", "")
    assert (every_table() == before) == bool(said)


def test_a_file_that_filled_in_what_an_earlier_one_told_is_not_undone(office):
    some_house()
    history.load_rows([LIVED[0] | {"reference": "W-1", "parts_cost": ""}], on=TODAY)
    found = taken(office, [LIVED[0] | {"reference": "W-1"}], "history")
    before = every_table()
    undone(found)
    assert "changed a row of an earlier file" in found.report["in_the_way"]
    assert every_table() == before


def test_a_file_that_brought_nothing_or_was_undone_is_not_undone_again(office):
    found = taken(office, NEW[:2])
    again = taken(office, NEW[:2])
    with pytest.raises(Conflict, match="brought nothing"):
        ask(imported=again, why=WHY, by=office)
    with pytest.raises(Refused, match="Say why"):
        ask(imported=found, why=" ", by=office)
    ask(imported=found, why=WHY, by=office)
    with pytest.raises(Conflict, match="being undone already"):
        ask(imported=found, why=WHY, by=office)
    tasks.drain()
    with pytest.raises(Conflict, match="undid this import"):
        ask(imported=found, why=WHY, by=office)


def test_a_failed_try_leaves_it_as_it_was_and_the_next_one_undoes_it(office, monkeypatch):
    found = taken(office, NEW[:2])
    before = every_table()
    with monkeypatch.context() as broken:
        broken.setattr(import_undo.refresh, "refresh", lambda *_, **__: 1 / 0)
        ask(imported=found, why=WHY, by=office)
        tasks.drain()
    assert every_table() == before
    models.Job.objects.filter(name="undo_import").update(not_before=None)
    tasks.drain()
    found.refresh_from_db()
    assert found.state == "undone"


def test_a_label_of_a_unit_that_was_brought_is_blank_again_and_stands_not_in_the_way(office):
    some_house()
    found = taken(office, NEW[:1])
    unit = models.Unit.objects.get(serial="N-1")
    label = models.Label.objects.create(code="K7QM3RTX9W", unit=unit)
    assert undone(found).state == "undone"
    label.refresh_from_db()
    assert label.unit is None
    change = models.Change.objects.get(table="label", object_id=label.pk)
    assert (change.field, change.before, change.after, change.why) == ("unit", str(unit), "", "import undone")
