"""A write-up from a real browser to the server of `make run`, which is killed amid it: on file once, whenever that was."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Browser, expect

from fleet import clock, models
from fleet.rules.dates import add_months
from tests import company, stops
from tests.browser.test_phone import WIDTH, booked, flush, on_file, save, states, where, write
from tests.hostile_server import gunicorn
from tests.tasks.conftest import Programs, free_port, until
from tests.tasks.test_web import answers

pytestmark = [pytest.mark.browser, pytest.mark.on_postgres, pytest.mark.django_db(transaction=True)]


def started(programs: Programs, port: int) -> Any:
    server = programs.start(*gunicorn(port, "tests.tasks.stopping_door"))
    until(lambda: answers(port), within=60)
    return server


@pytest.mark.parametrize("moment", ["before", "after"])
def test_the_server_is_killed_amid_a_write_up(moment, programs, chromium: Browser, monkeypatch, tmp_path: Path):
    """Killed by SIGKILL before the commit or after it: the phone waits, sends it again to the next server, and it is on file once."""
    today = clock.today()
    units = stops.house(2, began=add_months(today, -12).isoformat(), on=today)
    visit = booked(units)
    stopped, port = tmp_path / "stopped", free_port()
    monkeypatch.delitem(programs.environment, "REDIS_URL")
    programs.environment |= {"SECRET_KEY": settings.SECRET_KEY, "STOP_AT": moment, "STOPPED": str(stopped)}
    server = started(programs, port)
    context = chromium.new_context(base_url=f"http://127.0.0.1:{port}", viewport=WIDTH, service_workers="block")
    try:
        cookie = company.as_role("technician").cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([
            {"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": f"http://127.0.0.1:{port}"}
        ])  # fmt: skip
        page = context.new_page()
        page.goto(where(visit))
        write(page, units)
        save(page)
        until(stopped.exists)
        programs.kill(server)
        expect(page.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
        assert states(page) == ["waiting"]
        assert models.WriteUp.objects.count() == {"before": 0, "after": 1}[moment]
        assert models.MaintenanceRecord.objects.count() == models.WriteUp.objects.count()
        programs.environment["STOP_AT"] = ""
        started(programs, port)
        flush(page)
        assert states(page) == ["sent"]
    finally:
        context.close()
    assert on_file().booking == visit
