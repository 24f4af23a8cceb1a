"""Maintenance records from a file: ours, or another company's where somebody says so at the import."""

import io

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.test import Client

from fleet import models, tasks
from fleet.calls.facts.works import works
from fleet.care.facts import visits
from fleet.derived import recheck
from fleet.facts import companies
from fleet.office.actions import import_undo, imports
from tests import company, stops
from tests.rows import day

pytestmark = pytest.mark.django_db(transaction=True)

SPAN = {"since": day("2026-01-01"), "before": day("2026-03-02")}
FILE = "serial,day,kind,task,component,repaired_on,technician\n" + "\n".join(
    (
        "SB-1,2026-01-10,maintenance,coil,,,",
        "SB-1,2026-01-20,maintenance,coil,,,Ike",
        "SB-1,2026-01-30,maintenance,wash,,,",
        "SB-1,2026-02-02,failure,,compressor,2026-02-03,",
        "SB-1,2026-02-04,failure,,filter,,",
    )
)


@pytest.fixture
def office(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    stops.house(1, began="2019-05-01")
    with time_machine.travel(company.NOON, tick=True):
        yield company.as_role("office")


def brought() -> models.Import:
    by = models.User.objects.get(role="office")
    file = io.BytesIO(FILE.encode())
    row = settled(imports.bring(file=file, name="history.csv", kind="history", by=by, on=company.TODAY))
    assert row.state == "checked", row.report
    return row


def settled(row: models.Import) -> models.Import:
    tasks.drain()
    row.refresh_from_db()
    return row


def taken(office: Client, row: models.Import, **said: str) -> models.Import:
    assert office.post(f"/import/{row.pk}", {"do": "take", **said}).status_code == 302
    row = settled(row)
    assert row.state == "taken", row.report
    return row


def made() -> list[str]:
    site = models.Site.objects.get().pk
    return [one.isoformat() for one in visits.made([site], **SPAN).get(site, ())]


def ours() -> list[tuple[str, str]]:
    return [(work.on.isoformat(), work.kind) for work in works(None, first=SPAN["since"], last=SPAN["before"])]


def test_records_are_ours_unless_somebody_says_otherwise(office):
    row = brought()
    page = office.get(f"/import/{row.pk}").content.decode()
    assert "Who did this work, where a row does not say" in page
    taken(office, row)
    assert made() == ["2026-01-10", "2026-01-20"]
    assert {on for on, kind in ours()} == {"2026-01-10", "2026-01-20", "2026-02-03"}


def test_another_companys_work_is_on_file_and_no_visit_of_ours(office):
    row = taken(office, brought(), who_did_it="another", other_company=" Gull Air ")
    named = models.MaintenanceRecord.objects.order_by("done_on").values_list("technician", flat=True)
    assert list(named) == ["Gull Air", "Ike", ""], "a row that says who did it, and what customers do, stay as they are"
    failed = models.Failure.objects.order_by("failed_on").values_list("technician", flat=True)
    assert list(failed) == ["Gull Air", ""], "nobody repaired the second"
    assert made() == ["2026-01-20"]
    assert {on for on, kind in ours()} == {"2026-01-20"}
    page = office.get(f"/import/{row.pk}").content.decode()
    assert "Gull Air" in page
    assert "Who did the work, where a row does not say" in page
    assert not list(recheck.differences(on=company.TODAY))
    again = taken(office, brought(), who_did_it="us")
    assert again.report["unchanged"] == 5, "the same rows are the same, whoever did them"


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("", "Enter the name of the other company."),
        ("Wynn Office", "is one of us"),
        ("US", "is one of us"),
    ],
)
def test_a_name_is_needed_that_is_none_of_ours(office, name, fault):
    row = brought()
    response = office.post(f"/import/{row.pk}", {"do": "take", "who_did_it": "another", "other_company": name})
    assert response.status_code == 422
    assert fault in response.content.decode()
    assert settled(row).state == "checked"


def test_undoing_the_import_undoes_that_too(office):
    row = taken(office, brought(), who_did_it="another", other_company="Gull Air")
    assert companies.others({"Gull Air", "Ike"}) == {"Gull Air"}
    import_undo.ask(imported=row, why="not theirs", by=models.User.objects.get(role="office"))
    assert settled(row).state == "undone"
    assert not models.MaintenanceRecord.objects.exists()
    assert companies.others({"Gull Air", "Ike"}) == set()


def test_the_command_takes_the_same_word(office, tmp_path):
    file = tmp_path / "history.csv"
    file.write_text(FILE)
    with pytest.raises(CommandError, match="at most 120"):
        call_command("load_history", str(file), "--done-by", "x" * 121)
    call_command("load_history", str(file), "--done-by", "Gull Air")
    assert models.Load.objects.latest("pk").done_by == "Gull Air"
    assert made() == ["2026-01-20"]


def test_a_file_of_units_asks_nothing_of_the_kind(office):
    by = models.User.objects.get(role="office")
    text = "customer,site,system,role,maker,model,serial\nGil Ashby,Home,1,head,Northrill,NH-9,SB-9\n"
    row = settled(imports.bring(file=io.BytesIO(text.encode()), name="u.csv", kind="installs", by=by, on=company.TODAY))
    assert "Who did this work" not in office.get(f"/import/{row.pk}").content.decode()
