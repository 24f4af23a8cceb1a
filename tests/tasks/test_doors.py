"""The server of `make run` for real: hostile requests over a wire, workers killed amid saves, a full disk, a backup amid saves."""

import io
import os
import signal
import sqlite3
import subprocess
import threading
import time
import uuid
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection, transaction

from fleet import clock, models
from fleet.derived import recheck
from tests import company
from tests.hostile import Answer, Fuzzer
from tests.hostile_server import gunicorn
from tests.office.test_backup import emptied
from tests.tasks.conftest import Programs, free_port, until
from tests.tasks.test_web import answers
from tests.web.test_busy import sent_again
from tests.wire import Wire, session_of

pytestmark = pytest.mark.slow


@pytest.fixture
def alone(programs, monkeypatch) -> Programs:
    """Programs that were told of no queue, and that take up the sessions of this one."""
    monkeypatch.delitem(programs.environment, "REDIS_URL")
    monkeypatch.setitem(programs.environment, "SECRET_KEY", settings.SECRET_KEY)
    return programs


@pytest.fixture
def wire() -> Iterator[Callable[..., Wire]]:
    """What begins a connection, to be closed at the end."""
    begun: list[Wire] = []

    def wire(*args: Any, **named: Any) -> Wire:
        begun.append(Wire(*args, **named))
        return begun[-1]

    yield wire
    for one in begun:
        one.door.close()


def started(programs: Programs) -> tuple[subprocess.Popen[bytes], int]:
    """The server as `make run` starts it, on the tests' door, and its port."""
    port = free_port()
    server = programs.start(*gunicorn(port, "tests.tasks.door"))
    until(lambda: answers(port), within=120)
    return server, port


@pytest.fixture
def unit(transactional_db) -> models.Unit:
    company.on_file()
    made = company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return made


@pytest.mark.any_database
def test_hostile_requests_break_nothing_and_drop_no_connection(alone, wire, demo_company):
    demo_company.load()
    _, port = started(alone)
    fuzzer = Fuzzer(int(os.environ.get("FUZZ_SEED", "2")), wire(port))
    assert list(fuzzer.run(200)) == []


@pytest.mark.any_database
def test_a_connection_serves_the_next_request_whatever_came_before_it(alone, unit, wire):
    """Gunicorn by itself closes one that rests for two seconds, and one on which 64 kB were not read: a save on it is lost."""
    _, port = started(alone)
    office = wire(port, "office")
    for number, (what, address) in enumerate(
        [("rest", ""), ("rest", ""), ("send", "/nowhere"), ("send", f"/units/{2**63}")]
    ):
        if what == "rest":
            time.sleep(4)
        else:
            assert office.send("POST", address, {"notes": "x" * 300_000}).status == 404
        assert office.send("POST", contacts_of(unit), contact(f"Ida {number}")).status == 302
    assert office.used == 7


def contact(name: str) -> dict[str, str]:
    """What the form of a contact is sent with."""
    return {"name": name, "role": "tenant", "phone": "207-555-0101", "email": "", "reach": ""}


def contacts_of(unit: models.Unit) -> str:
    return f"/sites/{unit.system.site_id}/contacts/add"


class Saves(threading.Thread):
    """Somebody who saves one thing after the other: failures, each until somebody says that it is kept, and contacts once."""

    def __init__(self, wire: Wire, unit: models.Unit, who: str) -> None:
        super().__init__(daemon=True)
        self.wire, self.who, self.over = wire, who, threading.Event()
        self.failures, self.contacts = f"/units/{unit.pk}/failure", contacts_of(unit)
        self.acknowledged: list[str] = []
        self.unknown: list[str] = []
        self.dropped = 0
        self.wrong: list[Answer] = []

    def run(self) -> None:
        number = 0
        while not self.over.is_set():
            number += 1
            name, key = f"{self.who} {number}", str(uuid.uuid4())
            told = {"component": "sensor", "failed_on": "2026-02-20", "key": key, "notes": name}
            while not self._save(self.failures, told | {"measured-rows": "2", "weighed-rows": "1"}):
                pass
            self.acknowledged.append(name)
            kept = self._save(self.contacts, contact(name))
            (self.acknowledged if kept else self.unknown).append(f"contact {name}")

    def _save(self, address: str, told: dict[str, Any]) -> bool:
        answer = self.wire.send("POST", address, told)
        self.dropped += bool(answer.dropped)
        if not answer.dropped and answer.status != 302:
            self.wrong.append(answer)
        return answer.status == 302


def saving(wire: Callable[..., Wire], port: int, unit: models.Unit) -> list[Saves]:
    """Four people who save at once."""
    people = [Saves(wire(port, "office"), unit, who) for who in ("Ada", "Ben", "Cy", "Dee")]
    for person in people:
        person.start()
    return people


def ended(people: list[Saves]) -> None:
    for person in people:
        person.over.set()
    for person in people:
        person.join(120)
        assert not person.is_alive()
        assert [(answer.status, answer.body[:300]) for answer in person.wrong] == []


def on_file() -> Counter[str]:
    failures = models.Failure.objects.values_list("notes", flat=True)
    contacts = models.Contact.objects.values_list("name", flat=True)
    return Counter([*failures, *(f"contact {name}" for name in contacts)])


def workers(server: subprocess.Popen[bytes]) -> list[int]:
    return [int(pid) for pid in Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()]


def test_every_acknowledged_save_is_on_file_once_though_workers_are_killed(alone, unit, wire):
    server, port = started(alone)
    people = saving(wire, port, unit)

    def acknowledged() -> int:
        return sum(len(person.acknowledged) for person in people)

    for kill in range(6):
        before = acknowledged()
        until(lambda before=before: acknowledged() >= before + 8, within=120)
        os.kill(workers(server)[kill % 2], signal.SIGKILL)
    before = acknowledged()
    until(lambda: acknowledged() >= before + 8, within=120)
    ended(people)
    assert sum(person.dropped for person in people) > 0, "no worker was killed in the middle of a save"
    found = on_file()
    assert {name: found[name] for person in people for name in person.acknowledged if found[name] != 1} == {}
    assert {name: found[name] for person in people for name in person.unknown if found[name] > 1} == {}
    assert list(recheck.differences(on=clock.today())) == []


def test_a_backup_amid_saves_is_whole_and_comes_back(alone, unit, wire, tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    server, port = started(alone)
    people = saving(wire, port, unit)
    until(lambda: sum(len(person.acknowledged) for person in people) >= 16, within=120)
    before = [name for person in people for name in tuple(person.acknowledged)]
    path = tmp_path / "ours.backup"
    backup = alone.start("tests.tasks.run", "backup", str(path))
    assert alone.wait(backup) == 0
    ended(people)
    server.send_signal(signal.SIGTERM)
    alone.wait(server)
    later = on_file()
    with transaction.atomic():
        emptied()
    call_command("restore", path, stdout=io.StringIO())
    found = on_file()
    assert set(before) <= set(found) <= set(later)
    assert set(found.values()) == {1}
    assert list(recheck.differences(on=clock.today())) == []


# ------------------------------------------------------------------------------------------------- a full disk


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of six megabytes."""
    where = tmp_path / "small"
    where.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", where], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("mounting a small disk is for root, and not in every container")
    yield where
    subprocess.run(["umount", "--lazy", where], check=True)


def test_a_full_disk_is_told_in_words_and_what_was_typed_is_taken_once_there_is_room(alone, unit, wire, small_disk):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL's files are its server's own")
    session = session_of("office")
    place = {"DATA_DIR": small_disk, "TMPDIR": small_disk, "SQLITE_FILE": small_disk / "db.sqlite3"}
    alone.environment |= {name: str(path) for name, path in place.items()}
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(place["SQLITE_FILE"])])
    _, port = started(alone)
    office = wire(port, session=session)
    filler = small_disk / "filler"
    with filler.open("wb") as file:
        free = os.statvfs(small_disk).f_bavail * os.statvfs(small_disk).f_frsize
        file.write(bytes(free - 400_000))

    paper = SimpleUploadedFile("paper.pdf", b"%PDF-1.7\n" + b"0" * 4_000_000)
    answer = office.send("POST", f"/units/{unit.pk}/documents", {"documents": paper, "caption": "the old paper"})
    assert (answer.status, "The disk is full" in answer.body.decode()) == (507, True)
    assert sent_again(answer.body.decode())["caption"] == "the old paper"

    kept = 0
    for number in range(1_000):
        typed = contact(f"Ida {number}") | {"reach": "x" * 300}
        answer = office.send("POST", contacts_of(unit), typed)
        if answer.status != 302:
            break
        kept += 1
    page = answer.body.decode()
    assert (answer.status, "The disk is full" in page, sent_again(page)) == (507, True, typed)
    assert 0 < kept < 1_000
    assert office.send("GET", f"/units/{unit.pk}", {}).status == 200

    filler.unlink()
    assert office.send("POST", contacts_of(unit), sent_again(page)).status == 302
    with sqlite3.connect(place["SQLITE_FILE"]) as there:
        names = [name for (name,) in there.execute("SELECT name FROM fleet_contact ORDER BY id")]
    there.close()
    assert names == [f"Ida {number}" for number in range(kept + 1)]
