"""What a phone keeps for when there is no signal: the page, its worker and manifest, and the stops. Asked on March 2, 2026."""

import gzip
import json
import re

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.care.actions import bookings
from fleet.care.views import phone as views
from tests import company, stops
from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def units():
    return stops.house(2)


@pytest.fixture
def phone(units):
    return company.as_role("technician")


def book(units, username: str = "technician", *, day: str = "2026-03-02") -> models.Booking:
    tech = models.User.objects.get(username=username)
    tasks = [(units[0].pk, "coil")]
    site, on = units[0].system.site_id, company.day(day)
    return bookings.book(site, tasks, day=on, technician=tech.pk, why="As asked", by=None, on=stops.TODAY)


def kept(client) -> dict:
    return client.get("/phone/stops").json()


def test_the_page_is_the_same_for_everybody_and_names_nobody(phone, units):
    book(units)
    mine, nobodys = phone.get("/phone"), Client().get("/phone")
    assert mine.content == nobodys.content
    assert not any(name in words(mine) for name in ("Wynn", "Odile", "csrf"))


def test_the_worker_is_asked_for_anew_each_time_and_names_files_that_are_there(client):
    answer = client.get("/phone-worker.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer["Cache-Control"]
    text = answer.content.decode()
    files = json.loads(re.search(r"const FILES = (\[.*\]);", text)[1])
    assert len(files) == len(views.FILES)
    assert all(finders.find(name.removeprefix("/static/")) for name in files)
    # Whatever its page needs is among them.
    page = client.get("/phone").content.decode()
    assert set(re.findall(r'"(/static/[^"]+)"', page)) <= set(files)
    assert re.search(r'"phone-[0-9a-f]{16}"', text)


def test_a_change_of_any_file_is_another_release(monkeypatch, tmp_path):
    views._release.cache_clear()
    before = views._release()
    changed = tmp_path / "changed.js"
    changed.write_text("changed")
    monkeypatch.setattr(views.finders, "find", lambda name: changed)
    views._release.cache_clear()
    assert views._release() != before
    views._release.cache_clear()


def test_switched_off_the_worker_removes_itself(client, settings):
    settings.PHONE_WORKER = False
    text = client.get("/phone-worker.js").content.decode()
    assert "unregister" in text
    assert "fetch" not in text


def test_the_app_can_be_installed(client):
    said = json.loads(client.get("/manifest.webmanifest").content)
    assert (said["start_url"], said["display"]) == ("/phone", "standalone")
    assert [icon["sizes"] for icon in said["icons"]] == ["192x192", "512x512"]
    assert all(finders.find(icon["src"].removeprefix("/static/")) for icon in said["icons"])
    page = company.as_role("technician").get("/terms").content.decode()
    assert 'rel="manifest" href="/manifest.webmanifest"' in page


def test_a_stop_is_kept_with_all_that_is_needed_there(phone, units):
    models.Site.objects.update(gate_code="4711#")
    models.Unit.objects.filter(role="head").update(filter_size="16 x 25 x 1")
    visit = book(units)
    said = kept(phone)
    me = models.User.objects.get(username="technician")
    assert (said["person"], said["zone"]) == (me.pk, "America/New_York")
    (stop,) = said["stops"]
    assert (stop["booking"], stop["site"], stop["on"]) == (visit.pk, visit.site_id, "2026-03-02")
    assert stop["when"] == "Monday, March 2, 2026"
    for wanted in (
        "7 Tar Lane",
        "4711#",
        "555-0100",
        "Clean the coil",
        "Covered today: parts until",
        "Power off and locked out",
        'href="geo:0,0?q=7%20Tar%20Lane"',
        "Clean the coil: Room 1",
        "<strong>Bring:</strong> 2 filters 16 x 25 x 1 for Room 1, Room 2.",
    ):
        assert wanted in stop["card"], wanted
    assert f'name="done-{units[0].pk}:coil"' in stop["form"]
    assert f'data-site="{visit.site_id}"' in stop["form"]
    # The key belongs to the draft, and no token lies about.
    assert re.search(r'name="key"(?! value)', stop["form"])
    assert "csrfmiddlewaretoken" not in stop["form"]


def test_only_ones_own_stops_of_today_and_tomorrow(phone, units):
    models.User.objects.create_user("kim", password="quiet-ledger-9", role="technician")
    visit = book(units, "kim")
    assert kept(phone)["stops"] == []
    models.Booking.objects.update(technician=models.User.objects.get(username="technician"))
    assert len(kept(phone)["stops"]) == 1
    models.Booking.objects.filter(pk=visit.pk).update(on=company.day("2026-03-03"))
    assert kept(phone)["stops"][0]["on"] == "2026-03-03"
    models.Booking.objects.filter(pk=visit.pk).update(on=company.day("2026-03-04"))
    assert kept(phone)["stops"] == []


def test_a_site_that_nobody_booked_is_kept_in_the_same_shape(phone, units):
    visit = book(units)
    site = visit.site_id
    said = phone.get(f"/phone/stops?site={site}").json()
    (booked,), (stop, ahead) = kept(phone)["stops"], said["stops"]
    assert ahead["booking"] == booked["booking"] == visit.pk
    assert said.keys() == kept(phone).keys()
    assert stop.keys() == booked.keys()
    assert (stop["booking"], stop["site"], stop["title"]) == (None, site, booked["title"])
    assert "7 Tar Lane" in stop["card"]
    assert f'href="/sites/{site}/write-up"' in stop["card"]
    # It is nobody's visit, and its card leads to none.
    assert "booking" not in stop["card"]
    assert "/visits/" not in stop["card"]
    assert "None" not in stop["card"] + stop["form"]
    assert "This stop was not booked." in stop["form"]
    assert f'name="done-{units[0].pk}:coil"' in stop["form"]
    assert phone.get(f"/phone/stops?site={site}&have={said['digest']}").json()["same"] is True


def test_a_site_with_four_visits_ahead_asks_as_much_as_with_one(phone, units):
    first = book(units)
    address = f"/phone/stops?site={first.site_id}"
    phone.get(address)
    with CaptureQueriesContext(connection) as one:
        assert [stop["booking"] for stop in phone.get(address).json()["stops"]] == [None, first.pk]
    days = ("2026-03-03", "2026-03-05", "2026-03-09", "2026-03-10")
    keys = [
        models.Booking.objects.create(site=first.site, on=company.day(on), state="booked", minutes=60, price=0).pk
        for on in days
    ]
    with CaptureQueriesContext(connection) as four:
        told = phone.get(address).json()["stops"]
    assert [(stop["booking"], stop["on"]) for stop in told[1:]] == list(
        zip([first.pk, *keys[:3]], ["2026-03-02", *days[:3]], strict=True)
    )
    assert len(four) == len(one)


@pytest.mark.parametrize("site", ["999999", "x", "", "-1", "9" * 30, "²"])
def test_a_site_that_is_not_there_is_told_in_json(site, phone):
    answer = phone.get("/phone/stops", {"site": site})
    assert (answer.status_code, answer.json()["faults"]) == (404, {"": "No such site is on file."})


def test_stops_travel_packed(phone, units):
    book(units)
    packed = phone.get("/phone/stops", headers={"Accept-Encoding": "gzip"})
    assert packed["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(packed.content)) == kept(phone)
    assert len(packed.content) * 5 < len(json.dumps(kept(phone)))


@pytest.mark.parametrize(("role", "keeps"), [("technician", True), ("owner", True), ("office", False)])
def test_whoever_drives_out_keeps_the_sites_they_open(role, keeps, units):
    site = units[0].system.site_id
    for address in (f"/sites/{site}", f"/units/{units[0].pk}"):
        page = company.as_role(role).get(address).content.decode()
        assert (f'phone_stops.js" defer data-site="{site}"' in page) is keeps, address


def test_what_did_not_change_is_not_sent_again(phone, units):
    book(units)
    digest = kept(phone)["digest"]
    again = phone.get(f"/phone/stops?have={digest}").json()
    assert again == {"person": models.User.objects.get(username="technician").pk, "same": True}
    models.Site.objects.update(gate_code="4711#")
    assert "stops" in phone.get(f"/phone/stops?have={digest}").json()


@pytest.mark.parametrize("asked_for", ["", "?site={site}"])
def test_as_many_queries_for_three_units_as_for_one(asked_for, phone, units):
    address = f"/phone/stops{asked_for.format(site=book(units).site_id)}"
    counts = []
    for _ in range(2):
        phone.get(address)
        with CaptureQueriesContext(connection) as asked:
            phone.get(address)
        counts.append(len(asked))
        models.Unit.objects.filter(pk__in=[unit.pk for unit in units[1:]]).update(
            removed_on=stops.TODAY, removal_reason="removed"
        )
    assert counts[0] == counts[1] <= 30
