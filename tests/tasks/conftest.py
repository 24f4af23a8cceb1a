"""A real Redis, and real workers and beats on the database of the test."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
import redis
from django.conf import settings
from django.db import connection

from fleet import later
from tests.conftest import lacking

# What other programs run; imported here it would change the jobs of every test.
collect_ignore = ["door.py", "office.py", "run.py", "settings.py", "stopping_door.py"]

ROOT = Path(__file__).resolve().parent.parent.parent


def until(true: Callable[[], bool], *, within: float = 60) -> None:
    """Wait for something to become true; fail when it takes too long."""
    end = time.monotonic() + within
    while not true():
        assert time.monotonic() < end, "it took too long"
        time.sleep(0.05)


def free_port() -> int:
    """A port of this computer that nobody listens on."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


class Queue:
    """A Redis of its own on a free port, which can be down."""

    def __init__(self, folder: Path) -> None:
        program = shutil.which("redis-server")
        if program is None:
            lacking("Redis is not installed (Debian: apt-get install redis-server)")
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self._command = [
            program, "--bind", "127.0.0.1", "--port", str(self.port), "--save", "", "--appendonly", "no",
            "--dir", str(folder), "--daemonize", "no",
        ]  # fmt: skip
        self.server: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it answers."""
        self.server = subprocess.Popen(self._command, stdout=subprocess.DEVNULL)
        with redis.Redis(port=self.port) as client:
            until(lambda: _answers(client))

    def length(self) -> int:
        """How many messages nobody has taken yet."""
        with redis.Redis(port=self.port, decode_responses=True) as client:
            return client.llen("celery")

    def stop(self) -> None:
        """End it, if it runs."""
        if self.server is not None:
            self.server.send_signal(signal.SIGCONT)
            self.server.terminate()
            self.server.wait(10)
            self.server = None


def _answers(client: redis.Redis) -> bool:
    try:
        return bool(client.ping())
    except redis.ConnectionError:
        return False


class Programs:
    """The programs that a test started, each the leader of a group of its own."""

    def __init__(self, environment: dict[str, str], log: Path) -> None:
        self.environment, self._log = environment, log
        self._started: list[subprocess.Popen[bytes]] = []

    def start(self, *command: str) -> subprocess.Popen[bytes]:
        """Start a program with the test's database and queue around it."""
        with self._log.open("ab") as log:
            program = subprocess.Popen(
                [sys.executable, "-m", *command],
                cwd=ROOT, env=self.environment, stdout=log, stderr=log, start_new_session=True,
            )  # fmt: skip
        self._started.append(program)
        return program

    def celery(self, *words: str) -> subprocess.Popen[bytes]:
        """Start a worker or a beat."""
        return self.start("celery", "-A", "tests.tasks.office", *words, "--loglevel=WARNING")

    def worker(self) -> subprocess.Popen[bytes]:
        """Start a worker with two processes."""
        return self.celery("worker", "--concurrency=2", "--without-gossip", "--without-mingle", "--without-heartbeat")

    def beat(self) -> subprocess.Popen[bytes]:
        """Start a beat, which sweeps twice a second here."""
        return self.celery("beat")

    def kill(self, program: subprocess.Popen[bytes]) -> None:
        """End a program and its processes at once, as a power cut would."""
        self._started.remove(program)
        os.killpg(program.pid, signal.SIGKILL)
        program.wait(10)

    def wait(self, program: subprocess.Popen[bytes]) -> int:
        """Wait for a program that was told to end; give how it ended."""
        self._started.remove(program)
        try:
            return program.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(program.pid, signal.SIGKILL)
            raise

    def stop(self) -> None:
        """End all that were not killed; each must have lasted until now."""
        ended_by_itself = [program.args for program in self._started if program.poll() is not None]
        for program in tuple(self._started):
            if program.poll() is None:
                self.kill(program)
        assert not ended_by_itself

    def said(self) -> str:
        """What they wrote to the terminal."""
        return self._log.read_text() if self._log.exists() else ""


@pytest.fixture
def queue(tmp_path: Path) -> Iterator[Queue]:
    """A Redis that is not started yet."""
    queue = Queue(tmp_path)
    yield queue
    queue.stop()


@pytest.fixture
def programs(transactional_db: None, queue: Queue, tmp_path: Path, monkeypatch) -> Iterator[Programs]:
    """What starts a worker or a beat on this test's database and queue; this process knows the queue too."""
    monkeypatch.setattr(settings, "CELERY_BROKER_URL", queue.url, raising=False)
    monkeypatch.setattr(later, "_quiet_until", 0.0)
    environment = {
        "PATH": os.environ["PATH"],
        "DJANGO_SETTINGS_MODULE": "tests.tasks.settings",
        "DATA_DIR": str(tmp_path / "data"),
        "REDIS_URL": queue.url,
        **_database(),
    }
    programs = Programs(environment, tmp_path / "log")
    yield programs
    # pytest shows it where the test failed.
    sys.stderr.write(programs.said())
    programs.stop()


def _database() -> dict[str, str]:
    """What leads another program to the database that this test is on."""
    at = connection.settings_dict
    if connection.vendor == "sqlite":
        return {"SQLITE_FILE": str(at["NAME"])}
    password = quote(at["PASSWORD"], safe="")
    return {"DATABASE_URL": f"postgres://{at['USER']}:{password}@{at['HOST']}:{at['PORT']}/{at['NAME']}"}
