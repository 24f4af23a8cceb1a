"""What imports leave on file: half answered they come back from a backup, and what was remembered serves after a merge or a move."""

import io
from io import StringIO
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import transaction

from fleet import models, tasks
from fleet.loading import history
from fleet.office.actions import import_answers, import_files, import_undo, imports
from fleet.office.facts import archive
from fleet.refusals import Conflict
from fleet.registry.actions import merges
from fleet.rules.spreadsheets.cells import Act, Meaning
from fleet.rules.spreadsheets.days import Order
from tests import company, sheets

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("media")]
TODAY = company.TODAY
SAID = import_answers.Values(
    {"serial": {"SB-2 (old)": Meaning(Act.BOTH, "SB-2")}}, orders={"installed_on": Order.MONTH_FIRST}
)


def sheet(*serials: str) -> io.BytesIO:
    return sheets.as_csv(*(sheets.row(number, "3/8/2021", serial=serial) for number, serial in enumerate(serials, 1)))


def settled(found: models.Import) -> models.Import:
    tasks.drain()
    found.refresh_from_db()
    return found


def asked(office, *serials: str) -> models.Import:
    """A sheet whose columns are matched, so far as it is read without another answer."""
    found = settled(imports.bring(file=sheet(*serials), name="units.csv", kind="installs", by=office, on=TODAY))
    if found.step == "columns":
        import_answers.match(imported=found, columns=sheets.MATCHING, by=office, on=TODAY)
    return settled(found)


def taken(found: models.Import, *, correcting: bool = False) -> models.Import:
    assert found.state == "checked", (found.step, found.report)
    imports.ask(imported=found, correcting=correcting, checking=False, by=found.by)
    return settled(found)


def everything() -> dict[str, list]:
    return {
        table._meta.db_table: list(table._base_manager.order_by("pk").values_list()) for table in archive.tables(apps)
    }


def through_a_backup(tmp_path: Path, settings) -> None:
    """Back all of it up, lose it, and take it back into another place."""
    path, before = tmp_path / "ours.backup", everything()
    call_command("backup", path, stdout=StringIO(), stderr=StringIO())
    with transaction.atomic():  # keys are looked at in the end
        for table in archive.tables(apps):
            rows = table._base_manager.all()
            rows._raw_delete(rows.db)
    settings.MEDIA_ROOT = tmp_path / "elsewhere"
    call_command("restore", path, stdout=StringIO())
    assert everything() == before


def test_half_answered_it_comes_back_and_goes_on_where_it_was(office, tmp_path, settings):
    found = asked(office, "SB-1", "SB-2 (old)")
    assert (found.state, found.step) == ("asking", "values")
    through_a_backup(tmp_path, settings)
    found = models.Import.objects.get()
    import_answers.say_values(imported=found, values=SAID, by=found.by, on=TODAY)
    assert taken(settled(found)).report["added"] == 2
    unit = models.Unit.objects.get(serial="SB-2")
    assert (unit.notes, unit.installed_on) == ("Serial: SB-2 (old)", company.day("2021-03-08"))


def test_what_was_remembered_comes_back_and_serves_the_next_file(office, tmp_path, settings):
    found = asked(office, "SB-1", "SB-2 (old)")
    import_answers.say_values(imported=found, values=SAID, by=office, on=TODAY)
    taken(settled(found))
    through_a_backup(tmp_path, settings)
    assert {(one.column, one.text): (one.act, one.value) for one in models.ValueMemory.objects.all()} == {
        ("serial", "SB-2 (old)"): ("both", "SB-2")
    }
    again = asked(models.User.objects.get(username="office"), "SB-1", "SB-2 (old)", "SB-3")
    assert again.state == "checked"  # nothing was asked
    assert (taken(again).report["added"], again.report["unchanged"]) == (1, 2)


def test_an_import_that_came_back_can_be_undone(office, tmp_path, settings):
    found = asked(office, "SB-1")
    import_answers.say_values(imported=found, values=import_answers.Values(orders=SAID.orders), by=office, on=TODAY)
    taken(settled(found))
    through_a_backup(tmp_path, settings)
    found = models.Import.objects.get()
    import_undo.ask(imported=found, why="wrong file", by=found.by)
    assert settled(found).state == "undone"
    assert not models.Unit.objects.exists()
    through_a_backup(tmp_path / "media", settings)
    assert models.Import.objects.get().state == "undone"


def test_a_file_that_is_gone_from_the_disk_is_asked_for_again(office):
    found = asked(office, "SB-1")
    import_files.path_of(found.stored).unlink()
    with pytest.raises(Conflict, match="its file was deleted"):
        import_answers.say_values(imported=found, values=SAID, by=office, on=TODAY)


def imported(office, *serials: str) -> models.Import:
    found = asked(office, *serials)
    if found.step == "values":
        import_answers.say_values(imported=found, values=import_answers.Values(orders=SAID.orders), by=office, on=TODAY)
    return taken(settled(found))


def test_after_customers_were_merged_or_a_unit_moved_the_same_sheet_brings_nothing_new(office):
    imported(office, "SB-1", "SB-2")
    first, second = models.Customer.objects.order_by("name")
    kept = models.Site.objects.get(customer=second)
    kept.name = "Cabin"
    kept.save()
    merges.merge("customer", first.pk, second.pk, chosen={"name": "kept"}, by=office, on=TODAY)
    history.load_rows([{"serial": "SB-1", "day": "2025-02-28", "kind": "moved", "to_system": "Annex"}], on=TODAY)
    again = asked(office, "SB-1")
    assert (taken(again).report["added"], again.report["unchanged"]) == (0, 1)
    assert (models.Customer.objects.count(), models.Unit.objects.count()) == (1, 2)


def test_what_it_corrects_is_logged_with_the_import_and_who_imported_it(office):
    imported(office, "SB-1")
    found = settled(
        imports.bring(
            file=sheets.as_csv(sheets.row(1, "3/8/2021", room="Loft")),
            name="units.csv",
            kind="installs",
            by=office,
            on=TODAY,
        )
    )
    taken_now = taken_anyway(found)
    change = models.Change.objects.get(table="unit", field="room")
    assert (change.before, change.after, change.by, change.load) == ("Den", "Loft", office, taken_now.load)


def taken_anyway(found: models.Import) -> models.Import:
    """A sheet that says otherwise than what is on file is refused by its check, and taken where facts are to be changed."""
    assert found.state == "refused"
    imports.ask(imported=found, correcting=True, checking=False, by=found.by)
    return settled(found)
