"""A phone on a slow line, with a slow processor: what is usable when, the first time and from then on.

Every byte goes through a line of 400 ms there and back and 400 kbit/s, also what the app's worker fetches. The bounds leave room
for a busy machine; the figures stand in DEVELOPERS.md.
"""

import contextlib
import socket
import threading
import time
from collections.abc import Callable, Iterator
from queue import SimpleQueue
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Page, expect

from fleet import clock
from fleet.rules.dates import add_months
from tests import company, stops
from tests.browser.test_phone import WIDTH, booked, keeps, until
from tests.browser.waiting import unfold

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]

THERE = 0.2  # seconds one way
BYTES_A_SECOND = 400_000 / 8
SLOWER = 4  # how many times the processor is slowed


class SlowLine:
    """A port of this computer that leads to another, slowly; all connections share the line."""

    def __init__(self, to: tuple[str, int]) -> None:
        self._to = to
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listener.getsockname()[1]
        self._free_at = {"up": 0.0, "down": 0.0}
        self._lock = threading.Lock()
        self._ends: list[socket.socket] = []
        self._threads: list[threading.Thread] = []
        self._run(self._accept)

    def close(self) -> None:
        """Break all connections off, and take no more."""
        for end in (self._listener, *self._ends):
            _shut(end)
        for thread in self._threads:
            thread.join(10)
        for end in (self._listener, *self._ends):
            end.close()

    def _run(self, work: Callable[..., None], *words: object) -> None:
        thread = threading.Thread(target=work, args=words, daemon=True)
        self._threads.append(thread)
        thread.start()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _ = self._listener.accept()
                self._ends.append(near)
                far = socket.create_connection(self._to)
                self._ends.append(far)
                self._run(self._carry, "up", near, far)
                self._run(self._carry, "down", far, near)

    def _carry(self, way: str, source: socket.socket, target: socket.socket) -> None:
        on_the_way: SimpleQueue[tuple[float, bytes]] = SimpleQueue()
        self._run(self._arrive, on_the_way, source, target)
        with contextlib.suppress(OSError):
            while data := source.recv(4096):
                with self._lock:
                    self._free_at[way] = max(self._free_at[way], time.monotonic()) + len(data) / BYTES_A_SECOND
                    on_the_way.put((self._free_at[way] + THERE, data))
        on_the_way.put((0, b""))

    @staticmethod
    def _arrive(on_the_way: SimpleQueue[tuple[float, bytes]], source: socket.socket, target: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while (arriving := on_the_way.get())[1]:
                time.sleep(max(0.0, arriving[0] - time.monotonic()))
                target.sendall(arriving[1])
        _shut(source)
        _shut(target)


def _shut(end: socket.socket) -> None:
    with contextlib.suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)


@pytest.fixture
def far_away(chromium: Browser, live) -> Iterator[Page]:
    """A technician's phone at the other end of a slow line."""
    at = urlsplit(live.url)
    line = SlowLine((at.hostname, at.port))
    url = f"http://localhost:{line.port}"
    context = chromium.new_context(base_url=url, viewport=WIDTH)
    cookie = company.as_role("technician").cookies[settings.SESSION_COOKIE_NAME]
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie.value, "url": url}])
    page = context.new_page()
    page.set_default_timeout(90_000)
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    yield page
    context.close()
    line.close()


def test_stops_and_a_write_up_are_usable_on_a_slow_line(far_away: Page):
    today = clock.today()
    units = stops.house(8, began=add_months(today, -12).isoformat(), on=today)
    visit = booked(units)
    page, took = far_away, {}

    def usable() -> None:
        expect(page.get_by_role("link", name="Write up this stop")).to_be_visible(timeout=90_000)

    def timed(what: str, *acts: Callable[[], object]) -> None:
        began = time.monotonic()
        for act in acts:
            act()
        took[what] = time.monotonic() - began

    began = time.monotonic()
    timed("stops, the first time", lambda: page.goto("/todays-stops", wait_until="commit"), usable)
    keeps(page)
    took["kept for no signal"] = time.monotonic() - began
    timed("stops, from then on", lambda: page.goto("/phone", wait_until="commit"), usable)
    timed(
        "write-up, from then on",
        page.get_by_role("link", name="Write up this stop").click,
        lambda: until(page, "async () => !!(await WriteUp.ready)"),
        lambda: unfold(page, units[0].room).get_by_label("Clean the coil", exact=False).first.check(),
    )
    assert page.url.endswith(f"?booking={visit.pk}")
    packed = page.evaluate("async () => (await Store.get('kept', Outbox.STOPS)).packed.byteLength")
    print(f"a stop of eight heads, packed: {packed} bytes")  # noqa: T201
    assert packed < 20_000
    print({what: round(seconds, 1) for what, seconds in took.items()})  # noqa: T201 - the figures are what this is for
    assert took["stops, the first time"] < 30
    assert took["kept for no signal"] < 60
    # Neither waits for the line, which alone would take longer for the page and its files.
    assert took["stops, from then on"] < 8
    assert took["write-up, from then on"] < 8
