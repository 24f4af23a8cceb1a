"""What any test may ask for: a server with a browser on it, PostgreSQL, and no way out of this computer."""

import gc
import ipaddress
import os
import shutil
import socket
from collections.abc import Iterator
from typing import NoReturn

import hypothesis
import pytest
import time_machine
from django.contrib.contenttypes.management import create_contenttypes
from django.db import connections
from django.db.models.signals import post_migrate
from django.utils import timezone
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from tests import company
from tests import postgres as postgres_server
from tests.demo_company import DemoCompany

# A slow machine is not a failure; and CI tries the same inputs each time, so that red means the change.
hypothesis.settings.register_profile("default", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "default")
expect.set_options(timeout=20_000)


# What was collected stays to the end: looked over again and again for what is garbage, it took an eighth of a run's processor.
gc.set_threshold(100_000, 20, 50)


def pytest_collection_finish() -> None:
    gc.freeze()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--database-only", action="store_true", help="leave out the tests that use no database")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        # Whatever drives a browser says so, also where its author forgot: on PostgreSQL only those run that the database decides.
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)
    # The long files first, so that at the end of a run no worker waits for another's.
    long = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in long)
    if not config.getoption("--database-only"):
        return
    left_out = [item for item in items if not _uses_database(item)]
    config.hook.pytest_deselected(items=left_out)
    items[:] = filter(_uses_database, items)


# Tests of what a screen or paper says and refuses. Its queries run on PostgreSQL in test_every_address.
SAY = frozenset(["web", "papers", "pages"])


def _uses_database(item: pytest.Item) -> bool:
    """Whether the database may decide how it ends, by DEVELOPERS.md, Commands."""
    if item.get_closest_marker("any_database"):
        return False
    if item.get_closest_marker("on_postgres"):
        return True
    asked_for = set(getattr(item, "fixturenames", ()))
    marker = item.get_closest_marker("django_db")
    if SAY.intersection(item.nodeid.split("/")[:-1]):
        return "transactional_db" in asked_for or bool(marker and marker.kwargs.get("transaction"))
    return marker is not None or bool(asked_for & {"db", "transactional_db", "django_db_setup"})


def lacking(what: str) -> NoReturn:
    """Skip, saying what this computer lacks; on CI, which must have it, fail."""
    if os.environ.get("CI"):
        pytest.fail(what, pytrace=False)
    pytest.skip(what)


@pytest.fixture(autouse=True, scope="session")
def no_permissions() -> None:
    """Nobody asks for Django's own permissions, which each flush after a test of a page would write anew."""
    post_migrate.disconnect(create_contenttypes)
    post_migrate.disconnect(dispatch_uid="django.contrib.auth.management.create_permissions")


@pytest.fixture(autouse=True, scope="session")
def no_way_out() -> Iterator[None]:
    """No test reaches another computer: only this one and its unix sockets can be connected to."""
    connect, connect_ex = socket.socket.connect, socket.socket.connect_ex

    def check(self: socket.socket, address: object) -> None:
        if self.family == socket.AF_UNIX:
            return
        host = address[0] if isinstance(address, tuple) else address
        if host == "localhost":
            return
        try:
            inside = ipaddress.ip_address(str(host)).is_loopback
        except ValueError:
            inside = False
        if not inside:
            raise RuntimeError(f"A test tried to reach {host!r}, outside this computer.")

    def guarded(self: socket.socket, address: object) -> None:
        check(self, address)
        connect(self, address)  # type: ignore[arg-type]

    def guarded_ex(self: socket.socket, address: object) -> int:
        check(self, address)
        return connect_ex(self, address)  # type: ignore[arg-type]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket.socket, "connect", guarded)
        patch.setattr(socket.socket, "connect_ex", guarded_ex)
        yield


@pytest.fixture(autouse=True)
def noon(request: pytest.FixtureRequest) -> Iterator[None]:
    """Every test of a page is asked on the same day."""
    timezone.deactivate()  # a request leaves its company's zone to its thread
    if "web" not in request.path.parent.parts:
        yield
        return
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture(scope="session")
def demo_company(tmp_path_factory: pytest.TempPathFactory) -> DemoCompany:
    """What loads the demo company, in a folder that the processes of one run share."""
    own = tmp_path_factory.getbasetemp()
    return DemoCompany(own.parent if os.environ.get("PYTEST_XDIST_WORKER") else own)


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The address of a PostgreSQL server: the one that the run is on, or one of its own."""
    if os.environ.get("DATABASE_URL"):
        yield os.environ["DATABASE_URL"]
        return
    try:
        with postgres_server.running() as url:
            yield url
    except postgres_server.NoServer as why:
        lacking(str(why))


@pytest.fixture(scope="session")
def chromium_program() -> str:
    """The system's own Chromium: without its windows where there is one, since drawing those is a third of a page's work."""
    for name in ("chromium-headless-shell", "chromium", "chromium-browser"):
        if found := shutil.which(name):
            return found
    lacking("Chromium is not installed (Debian: apt-get install chromium-headless-shell)")


@pytest.fixture(scope="session")
def chromium(chromium_program: str) -> Iterator[Browser]:
    """A browser that finds no other computer and fetches nothing for itself."""
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright's loop runs in this thread, which Django would take for asynchronous code.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        browser = playwright.chromium.launch(
            executable_path=chromium_program,
            args=[
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
            ],
        )
        yield browser
        browser.close()
        # With Playwright's loop in it this thread had connections of its own, which go with the loop and nobody closes then;
        # PostgreSQL drops no database under one.
        connections.close_all()


@pytest.fixture
def live(live_server):
    """The project's pages on a real port; `page.goto("/...")` needs only the path."""
    return live_server


@pytest.fixture
def desk(chromium: Browser, live) -> Iterator[Page]:
    """A page on the office's screen."""
    yield from _page(chromium, live.url, {"width": 1440, "height": 900})


@pytest.fixture
def phone(chromium: Browser, live) -> Iterator[Page]:
    """A page on the technician's phone."""
    yield from _page(chromium, live.url, {"width": 360, "height": 740})


def _page(chromium: Browser, url: str, viewport: ViewportSize) -> Iterator[Page]:
    """A page in a fresh profile; at the end, a script that failed or a broken content policy fails the test."""
    context = chromium.new_context(base_url=url, viewport=viewport, service_workers="block")
    page = context.new_page()
    page.set_default_timeout(20_000)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(f"script error: {error}"))
    page.on(
        "console",
        lambda line: faults.append(line.text) if "Content Security Policy" in line.text else None,
    )
    yield page
    context.close()
    assert faults == []
