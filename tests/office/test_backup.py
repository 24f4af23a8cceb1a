"""A backup is all that is on file at one moment, and comes back whole or not at all."""

import io
import json
import zipfile
from decimal import Decimal
from io import StringIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection

from fleet import clock, models
from fleet.business.actions import house
from fleet.claims.actions import failures
from fleet.coverage.actions import terms
from fleet.derived import recheck
from fleet.office.facts import archive
from fleet.registry.actions import documents, unit_labels
from fleet.registry.queries import lookup
from tests import rows

TODAY = rows.TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _office(monkeypatch, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    monkeypatch.setattr(clock, "today", lambda: TODAY)


def more() -> None:
    """Two papers, somebody who may log in, a write-up with something left to check, and what the house settled."""
    owner = models.User.objects.create_user("zofia", password="plain-and-long", first_name="Žofia", role="owner")
    whose = models.Unit.objects.order_by("pk").first()
    for name in ("one", "two"):
        file = io.BytesIO(b"%PDF-1.4\n% " + name.encode() + b"\n1 0 obj\n<< >>\nendobj\ntrailer << >>\n%%EOF\n")
        documents.add(file=file, name=f"{name}.pdf", whose=whose, by=owner)
    write_up = models.WriteUp.objects.create(
        key=uuid4(),
        site=whose.system.site,
        on=TODAY,
        technician="Jules",
        by=owner,
        captured_at=clock.now(),
        clock_ahead=60,
    )
    models.Signature.objects.create(write_up=write_up, name="Łucja Ž", strokes="10,20 14,22;600,200 7,7")
    models.WriteUpCheck.objects.create(
        write_up=write_up, kind="unit", unit=whose, why="The unit was moved.", said="done: Clean the coil",
        settled_on=TODAY, settled_how="Entered by hand", settled_by=owner,
    )  # fmt: skip
    unit_labels.make(units=[whose.pk], blank=2, batch=uuid4(), by=owner)
    models.UnitReport.objects.create(
        unit=whose, kind="not there", said="Only a bracket", on=TODAY, by=owner, settled_on=TODAY,
        settled_how="It was moved", settled_by=owner,
    )  # fmt: skip
    row, _ = models.House.objects.get_or_create(pk=1)
    house.settle(was={"hourly_rate": row.hourly_rate}, facts={"hourly_rate": Decimal("92.50")}, by=None, on=TODAY)


@pytest.fixture
def company(_office):
    """Two customers with a unit each."""
    terms.load_tables([rows.TERMS], on=TODAY)
    rows.installed({"serial": "OC-100-A", "started_on": "2024-05-06"}, {"customer": "Łucja Ž", "serial": "OC-200-B"})
    # One of which nobody knows yet what failed.
    unit = models.Unit.objects.order_by("pk").first()
    failures.record(unit.pk, {"component": "not known yet", "failed_on": "2026-11-02"}, by=None, on=TODAY)
    more()


@pytest.fixture
def demo(_office, demo_company):
    """The demo company."""
    demo_company.load()
    more()


def backed_up(tmp_path: Path) -> Path:
    path = tmp_path / "ours.backup"
    call_command("backup", path, stdout=StringIO(), stderr=StringIO())
    return path


def restored(path: Path, **how: bool) -> str:
    out = StringIO()
    call_command("restore", path, stdout=out, **how)
    return out.getvalue()


def everything() -> dict[str, list]:
    return {
        table._meta.db_table: list(table._base_manager.order_by("pk").values_list()) for table in archive.tables(apps)
    }


def files() -> dict[str, bytes]:
    from django.conf import settings

    root = Path(settings.MEDIA_ROOT)
    return {str(path.relative_to(root)): path.read_bytes() for path in root.rglob("*") if path.is_file()}


def emptied() -> None:
    for table in archive.tables(apps):
        found = table._base_manager.all()
        found._raw_delete(found.db)


def test_it_comes_back_into_an_empty_place(demo, tmp_path, settings):
    rows_before, files_before = everything(), files()
    assert len(files_before) == 2
    path = backed_up(tmp_path)
    emptied()
    settings.MEDIA_ROOT = tmp_path / "elsewhere"
    assert "2 files of photos and papers" in restored(path)
    assert everything() == rows_before
    assert files() == files_before
    connection.check_constraints()
    assert not list(recheck.differences(on=TODAY))
    # Whoever is new has a key of their own.
    assert models.Customer.objects.create(name="Somebody new").pk > max(row[0] for row in rows_before["fleet_customer"])
    assert models.User.objects.get(username="zofia").check_password("plain-and-long")


def test_the_look_up_finds_what_came_back(company, tmp_path):
    path = backed_up(tmp_path)
    emptied()
    restored(path)
    assert [hit.title for hit in lookup.find("100a")] == ["OC-100-A"]


def test_where_customers_are_it_asks_to_be_told(company, tmp_path):
    path = backed_up(tmp_path)
    models.Customer.objects.create(name="Came later")
    before = everything()
    with pytest.raises(CommandError, match="--replace"):
        restored(path)
    assert everything() == before
    restored(path, replace=True)
    assert not models.Customer.objects.filter(name="Came later").exists()


def test_what_came_later_goes_with_its_files(company, tmp_path, settings):
    path = backed_up(tmp_path)
    later = Path(settings.MEDIA_ROOT) / "later.pdf"
    later.write_bytes(b"later")
    restored(path, replace=True)
    assert not later.exists()
    assert len(files()) == 2


@pytest.mark.parametrize("left", [0.0, 0.5, 0.999])
def test_a_torn_file_is_refused_and_nothing_changed(company, tmp_path, left):
    path = backed_up(tmp_path)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * left)])
    rows_before, files_before = everything(), files()
    with pytest.raises(CommandError, match="damaged"):
        restored(path, replace=True)
    assert (everything(), files()) == (rows_before, files_before)


def changed(path: Path, part: str, content: bytes | None) -> None:
    """Write the file anew with another content of one part, or without it."""
    with zipfile.ZipFile(path) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    if content is None:
        del parts[part]
    else:
        parts[part] = content
    with zipfile.ZipFile(path, "w") as out:
        for name, told in parts.items():
            out.writestr(name, told)


def parts_of(path: Path) -> dict:
    with zipfile.ZipFile(path) as source:
        return json.loads(source.read(archive.LIST))


@pytest.mark.parametrize(
    ("part", "content"),
    [
        pytest.param("tables/fleet_customer", b'["id"]\n', id="a part that was changed"),
        pytest.param("tables/fleet_customer", None, id="a part that is gone"),
        pytest.param("media/more.pdf", b"more", id="a part too many"),
        pytest.param(archive.LIST, b"{}", id="a list that says nothing"),
        pytest.param(archive.LIST, b"{", id="a list that cannot be read"),
        pytest.param(archive.LIST, b"[" * 100_000, id="a list that is nested too deeply"),
    ],
)
def test_a_file_that_somebody_changed_is_refused_and_nothing_changed(company, tmp_path, part, content):
    path = backed_up(tmp_path)
    changed(path, part, content)
    before = everything()
    with pytest.raises(CommandError, match="damaged"):
        restored(path, replace=True)
    assert everything() == before


@pytest.mark.parametrize("told", [{"migration": "9999_later"}, {"format": archive.FORMAT + 1}])
def test_a_file_of_a_later_version_is_refused(company, tmp_path, told):
    path = backed_up(tmp_path)
    changed(path, archive.LIST, json.dumps(parts_of(path) | told).encode())
    before = everything()
    with pytest.raises(CommandError, match="later version"):
        restored(path, replace=True)
    assert everything() == before


def test_a_file_of_an_earlier_version_says_how_it_is_taken(company, tmp_path, monkeypatch):
    path = backed_up(tmp_path)
    changed(path, archive.LIST, json.dumps(parts_of(path) | {"migration": "0001_tables"}).encode())
    monkeypatch.setattr(archive, "migration_of_rows", lambda: "9999_later")
    monkeypatch.setattr(archive, "migration_of_code", lambda: "9999_later")
    before = everything()
    with pytest.raises(CommandError, match="migrate fleet 0001_tables, restore, migrate"):
        restored(path, replace=True)
    assert everything() == before


@pytest.mark.parametrize(("began", "migration"), [(1, "0026_sums_by_index"), (2, "0032_signatures_and_reasons")])
def test_a_file_from_before_the_tables_began_anew_is_too_old(company, tmp_path, began, migration):
    path = backed_up(tmp_path)
    changed(path, archive.LIST, json.dumps(parts_of(path) | {"format": began, "migration": migration}).encode())
    before = everything()
    with pytest.raises(CommandError, match="^The backup is too old"):
        restored(path, replace=True)
    assert everything() == before


def test_nothing_of_it_is_taken_where_one_row_cannot_be(company, tmp_path, settings):
    """A file with right digests whose rows do not hold together: the last moment at which something may go wrong."""
    path = backed_up(tmp_path)
    told = parts_of(path)
    with zipfile.ZipFile(path) as source:
        lines = source.read("tables/fleet_customer").splitlines(keepends=True)
    content = b"".join(lines[:-1])
    for part in told["parts"]:
        if part["name"] == "tables/fleet_customer":
            part |= {"digest": archive.hashlib.sha256(content).hexdigest(), "size": len(content)}
            part["rows"] -= 1
    changed(path, "tables/fleet_customer", content)
    changed(path, archive.LIST, json.dumps(told).encode())
    settings.MEDIA_ROOT = tmp_path / "elsewhere"
    before = everything()
    with pytest.raises(CommandError, match="hold together"):
        restored(path, replace=True)
    assert everything() == before
    assert files() == {}


def rewritten(path: Path, table: str, change) -> None:
    """A file whose digests are right, though somebody changed the rows of a table."""
    told = parts_of(path)
    with zipfile.ZipFile(path) as source:
        header, *lines = source.read(f"tables/{table}").splitlines()
    names = json.loads(header)
    rows = [json.dumps(change(dict(zip(names, json.loads(line), strict=True)))).encode() for line in lines]
    content = b"\n".join([header, *rows]) + b"\n"
    for part in told["parts"]:
        if part["name"] == f"tables/{table}":
            part |= {"digest": archive.hashlib.sha256(content).hexdigest(), "size": len(content)}
    changed(path, f"tables/{table}", content)
    changed(path, archive.LIST, json.dumps(told).encode())


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("fleet_customer", "name", 7),
        ("fleet_customer", "name", {"a": 1}),
        ("fleet_customer", "name", "x" * 100_000),
        ("fleet_customer", "name", None),
        ("fleet_customer", "id", "one"),
        ("fleet_customer", "id", True),
        ("fleet_customer", "id", 2**63),
        ("fleet_unit", "started_on", 20_240_506),
        ("fleet_unit", "started_on", "soon"),
        ("fleet_user", "is_active", "yes"),
        ("fleet_user", "is_active", 1),
        ("fleet_house", "hourly_rate", "a lot"),
        ("fleet_house", "hourly_rate", 1.5),
    ],
)
def test_a_file_with_right_digests_and_wrong_types_is_refused(company, tmp_path, table, column, value):
    path = backed_up(tmp_path)
    rewritten(path, table, lambda row: list((row | {column: value}).values()))
    before = everything()
    with pytest.raises(CommandError, match="hold together"):
        restored(path, replace=True)
    assert everything() == before


@pytest.mark.parametrize("line", [{"id": 1}, [1], "customer", None, 5])
def test_a_row_that_is_no_row_is_refused(company, tmp_path, line):
    path = backed_up(tmp_path)
    rewritten(path, "fleet_customer", lambda _: line)
    before = everything()
    with pytest.raises(CommandError, match="hold together"):
        restored(path, replace=True)
    assert everything() == before


def test_a_backup_replaces_no_file(company, tmp_path):
    path = backed_up(tmp_path)
    content = path.read_bytes()
    with pytest.raises(CommandError, match="there already"):
        call_command("backup", path, stdout=StringIO())
    assert path.read_bytes() == content
    assert path.stat().st_mode & 0o077 == 0
    assert [one.name for one in tmp_path.iterdir() if one.suffix == ".part"] == []


def test_papers_that_are_not_on_the_disk_are_told(company, tmp_path, settings):
    document = models.Document.objects.first()
    (Path(settings.MEDIA_ROOT) / document.stored).unlink()
    err = StringIO()
    call_command("backup", tmp_path / "less.backup", stdout=StringIO(), stderr=err)
    assert err.getvalue().startswith("1 photos or papers")


def test_every_table_of_ours_is_in_it():
    named = {table._meta.db_table for table in archive.tables(apps)}
    ours = {table._meta.db_table for table in apps.get_app_config("fleet").get_models()}
    assert ours <= named
    assert "fleet_user_groups" in named
