"""What lies on the disk: closed to others, safe from a power cut, and on any disk there is."""

import errno
import io
import os
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

import fleet.settings

ROOT = Path(__file__).resolve().parent.parent


def migrated(folder: Path) -> None:
    environment = {"PATH": os.environ["PATH"], "DATA_DIR": str(folder)}
    command = [sys.executable, "manage.py", "migrate", "fleet", "zero", "--verbosity", "0"]
    subprocess.run(command, cwd=ROOT, env=environment, check=True, umask=0o022)


def modes(folder: Path) -> dict[str, str]:
    return {path.name: oct(path.stat().st_mode & 0o777) for path in (folder, *folder.iterdir())}


def test_a_new_data_folder_and_the_database_are_for_their_owner_alone(tmp_path):
    migrated(tmp_path / "data")
    found = modes(tmp_path / "data")
    assert found.pop("data") == "0o700"
    assert {"db.sqlite3", "secret_key"} <= set(found)
    assert set(found.values()) == {"0o600"}


def test_a_data_folder_that_was_open_is_closed(tmp_path):
    data = tmp_path / "data"
    data.mkdir()
    (data / "db.sqlite3").touch()
    for path, mode in ((data, 0o755), (data / "db.sqlite3", 0o644)):
        path.chmod(mode)
    migrated(data)
    assert (modes(data)["data"], modes(data)["db.sqlite3"]) == ("0o700", "0o600")


def test_a_folder_that_others_use_too_stays_as_it_is(tmp_path):
    """As root, DATA_DIR=/srv must not shut out whatever else lives there; a folder like /tmp not even later."""
    (tmp_path / "of others").touch()
    tmp_path.chmod(0o755)
    fleet.settings._data_dir(tmp_path)
    assert tmp_path.stat().st_mode & 0o777 == 0o755
    (tmp_path / "secret_key").touch()
    tmp_path.chmod(0o1777)
    fleet.settings._data_dir(tmp_path)
    assert tmp_path.stat().st_mode & 0o7777 == 0o1777


def test_a_disk_that_knows_no_owners_is_no_reason_to_stop(tmp_path, monkeypatch):
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    tmp_path.chmod(0o777)
    monkeypatch.setattr(Path, "chmod", refused)
    assert fleet.settings._data_dir(tmp_path) == tmp_path


def test_what_was_acknowledged_outlives_a_power_cut(tmp_path):
    """Each commit is on the disk before it is answered: 2 is FULL."""
    with sqlite3.connect(tmp_path / "db.sqlite3") as there:
        there.executescript(fleet.settings._sqlite(tmp_path / "db.sqlite3")["OPTIONS"]["init_command"])
        assert there.execute("PRAGMA synchronous").fetchone() == (2,)
    there.close()


@pytest.mark.django_db
def test_the_database_that_is_open_here_waits_for_the_disk_too():
    if connection.vendor != "sqlite":
        pytest.skip("about SQLite's pragma")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous")
        assert cursor.fetchone() == (2,)


@pytest.fixture
def without_links(monkeypatch) -> None:
    """A disk such as exFAT, on which a file has one name."""

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)


def test_the_key_is_made_without_links_and_once(tmp_path, without_links):
    path = tmp_path / "secret_key"
    with ThreadPoolExecutor(8) as several:
        keys = set(several.map(fleet.settings._kept_secret, [path] * 32))
    assert keys == {path.read_text()}
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.django_db
def test_a_backup_is_written_without_links(tmp_path, without_links):
    call_command("backup", tmp_path / "ours.backup", stdout=io.StringIO())
    assert [path.name for path in tmp_path.iterdir()] == ["ours.backup"]
    assert (tmp_path / "ours.backup").stat().st_mode & 0o777 == 0o600
