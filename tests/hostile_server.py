"""Hostile requests over a wire, to a real server: python -m tests.hostile_server [--requests 20000] [--seed 1] [--postgres]

The server is started as `make run` starts it, on the demo company in a folder that is thrown away. It ends with what broke
(answers of 500 and more) and which connections were dropped, and with 1 if there were any.
"""

import argparse
import contextlib
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def say(text: str) -> None:
    """Report to the terminal at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def gunicorn(port: int, application: str = "fleet.wsgi") -> list[str]:
    """What follows `python -m` where `make run` starts the server, on a port of our own."""
    for line in (ROOT / "Makefile").read_text().splitlines():
        _, starts, words = line.partition("@exec $(BIN)/gunicorn ")
        if starts:
            words = words.replace("$(HOST):$(PORT)", f"127.0.0.1:{port}").replace("fleet.wsgi", application)
            return ["gunicorn", *words.split()]
    raise LookupError("the Makefile starts no server")


@contextlib.contextmanager
def served(environment: dict[str, str], log: Path) -> Iterator[int]:
    """The port of a server like that of `make run`, on a migrated database with the demo company."""
    python = [sys.executable, "manage.py"]
    for command in (["migrate", "--verbosity", "0"], ["load_demo"], ["collectstatic", "--noinput", "--verbosity", "0"]):
        subprocess.run([*python, *command], cwd=ROOT, env=environment, check=True)
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
    with log.open("wb") as file:
        server = subprocess.Popen(
            [sys.executable, "-m", *gunicorn(port)], cwd=ROOT, env=environment, stdout=file, stderr=file
        )
    try:
        until = time.monotonic() + 60
        while time.monotonic() < until:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
                break
            time.sleep(0.2)
        yield port
    finally:
        server.terminate()
        server.wait(60)


def main() -> int:
    """Start a server, send it what it gets, and say what broke."""
    options = argparse.ArgumentParser(prog="tests.hostile_server")
    options.add_argument("--requests", type=int, default=20_000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--postgres", action="store_true", help="on a PostgreSQL server of its own")
    chosen = options.parse_args()
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="fleet-hostile-")))
        environment = {"PATH": os.environ["PATH"], "DATA_DIR": str(folder / "data")}
        if chosen.postgres:
            from tests.postgres import running

            environment["DATABASE_URL"] = stack.enter_context(running())
        port = stack.enter_context(served(environment, folder / "log"))
        os.environ.update(environment, DJANGO_SETTINGS_MODULE="fleet.settings")
        if not chosen.postgres:
            os.environ.pop("DATABASE_URL", None)
        import django

        django.setup()
        from tests.hostile import Fuzzer
        from tests.wire import Wire

        fuzzer, broken = Fuzzer(chosen.seed, Wire(port)), []
        for found in fuzzer.run(chosen.requests):
            broken.append(found)
            say(found[:1_000])
        say(f"{fuzzer.count} requests, {fuzzer.filled} of them forms of pages: {len(broken)} broke or were dropped.")
        if broken:
            say((folder / "log").read_text(errors="replace")[-20_000:])
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
