"""An eight-head house in a real browser: put in, booked at the desk, written up on a phone, and due again a year on."""

import io

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.care.actions import bookings, care_sheets
from fleet.claims.actions import failures
from fleet.derived import recheck
from fleet.registry.actions import new_install
from fleet.registry.pages.new_install import Told
from fleet.rules.dates import add_months, in_words
from tests import company, stops
from tests.browser.waiting import open_all, unfold

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ROOMS = ("Behind the shed", "Den", "Kitchen", "Hall", "Study", "Loft", "Cabin", "Porch", "Nursery")


def go(page: Page) -> None:
    """Press the link or button that has the focus."""
    with page.expect_navigation():
        page.keyboard.press("Enter")


def put_in() -> None:
    """Put in an outdoor unit and eight heads, a year ago, as the page of a new install does (test_new_install)."""
    began = add_months(clock.today(), -12).isoformat()
    install = {
        "customer": "Odile Marsh",
        "site": "Home",
        "system": "System 2",
        "installed_on": began,
        "started_on": began,
    }
    kinds = ({"role": "outdoor", "model": "NX-36"}, *[{"role": "head", "style": "cassette", "model": "NH-9"}] * 8)
    cells = {
        number: {**kind, "maker": "Northrill", "room": room, "serial": f"NW-{301 + number}77"}
        for number, (kind, room) in enumerate(zip(kinds, ROOMS, strict=True))
    }
    new_install.save(Told(install, cells), by=models.User.objects.get(username="office"), on=clock.today())


def test_from_install_to_visit_to_the_next_due_days(live, desk: Page, phone: Page, log_in):
    today = clock.today()
    company.on_file()
    company.unit("OU-4400", role="outdoor", style="", model="NX-36", installed_on=today.isoformat())
    company.unit("SB-1002", style="cassette", installed_on=today.isoformat())
    care_sheets.load_table(stops.SHEET, on=today)
    company.worked_out(today)
    log_in(desk, "office")
    put_in()

    # The office books what the plan asks for, by keys.
    desk.goto("/visits")
    expect(desk.locator(".lead")).to_contain_text("1 visit to book by")
    row = desk.get_by_role("row").filter(has_text="Odile Marsh")
    expect(row).to_contain_text("Clean the coil (8); Clear the drain line (8); Check the volts")
    row.get_by_role("link", name="Home").focus()
    go(desk)
    desk.get_by_label("Day", exact=True).fill(add_months(today, 6).isoformat())
    desk.get_by_label("Day", exact=True).press("Tab")
    expect(desk.locator("#does")).to_contain_text("Outside the recommended dates for:")
    desk.get_by_label("Day", exact=True).fill(today.isoformat())
    desk.get_by_label("Reason, if outside the recommended dates").fill("Rang for today")
    expect(desk.locator("#does")).to_contain_text(in_words(today))
    log_in(phone, "technician")
    desk.get_by_label("Technician", exact=True).select_option(label="not assigned yet")
    desk.get_by_role("button", name="Book visit").focus()
    go(desk)
    expect(desk.get_by_role("status").filter(has_text="Booked for")).to_be_visible()
    assert models.Booking.objects.get().tasks.count() == 17

    # The technician finds it, and writes it up with three ticks.
    phone.goto("/todays-stops")
    expect(phone.get_by_text("1 stop today")).to_be_visible()
    expect(phone.get_by_role("listitem").filter(has_text="Clean the coil: Cabin, Den, Hall")).to_be_visible()
    phone.get_by_role("link", name="Write up this stop").click()
    expect(phone.get_by_text("verify it is de-energized before opening a cover").first).to_be_visible()
    for tick in ("Clean the coil, all 8", "Clear the drain line, all 8"):
        box = phone.get_by_label(tick)
        assert box.evaluate("(tick) => tick.closest('label').offsetHeight") >= 44
        box.check()
    expect(phone.get_by_label("Clean the coil, Nursery", exact=False).first).to_be_checked()
    unfold(phone, "Behind the shed").get_by_label("Check the volts").first.check()
    unfold(phone, "Nursery")
    # No access to the nursery: the tick for all no longer holds there.
    phone.get_by_label("Clean the coil, Nursery: skipped").select_option("no access")
    expect(phone.get_by_label("Clean the coil, Nursery", exact=False).first).not_to_be_checked()
    phone.get_by_label("Notes on the visit").fill("All ran well.")
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("16 tasks done, 1 skipped.")
    following = in_words(add_months(today, 12))
    expect(phone.get_by_text(f"next due {following}").first).to_be_visible()

    ours = models.DueRow.objects.filter(by="technician", unit__system__name="System 2")
    assert ours.filter(due_on=add_months(today, 12)).count() == 16
    assert ours.get(due_on=today).unit.room == "Nursery"
    assert models.Booking.objects.get().state == "made"
    assert list(recheck.differences(on=today)) == []
    desk.goto("/visits")
    expect(desk.get_by_role("row").filter(has_text="Odile Marsh")).to_contain_text("Clean the coil")


def test_a_reading_outside_its_band_warns_as_it_is_written(live, phone: Page, log_in):
    today = clock.today()
    units = stops.house(2, began=add_months(today, -12).isoformat(), on=today)
    log_in(phone, "technician")
    phone.goto(f"/sites/{units[0].system.site_id}/write-up")
    unfold(phone, "Room 1").get_by_label("Indoor relative humidity").fill("71")
    phone.keyboard.press("Tab")
    expect(phone.get_by_text("71% is over 60%: mold can grow")).to_be_visible()


def test_nobody_is_shut_out(live, desk: Page, log_in, seen):
    today = clock.today()
    units = stops.house(3, began=add_months(today, -12).isoformat(), on=today)
    site = units[0].system.site_id
    told = {"component": "drain pump", "failed_on": today.isoformat()}
    failures.record(units[0].pk, told, by=None, on=today)
    tasks = [(unit.pk, "coil") for unit in units[:-1]]
    made = bookings.book(site, tasks, day=today, note="Ring first", why="As asked", by=None, on=today)
    log_in(desk, "office")
    for address in (
        "/visits",
        "/visits?listed=by+day",
        "/visits?listed=booked",
        f"/sites/{site}/visits",
        f"/visits/{made.pk}",
        f"/sites/{site}/write-up?booking={made.pk}",
        f"/sites/{site}",
    ):
        desk.goto(address)
        open_all(desk)
        seen(desk)


def test_a_write_up_of_the_wrong_head_is_taken_back_and_written_anew_on_a_phone(live, phone: Page, log_in, clean):
    today = clock.today()
    began = add_months(today, -12)
    units = stops.house(3, began=began.isoformat(), on=today)
    site = units[0].system.site_id
    tasks = [(units[0].pk, "coil"), (units[1].pk, "coil")]
    visit = bookings.book(site, tasks, day=today, why="As asked", by=None, on=today)
    log_in(phone, "technician")
    phone.goto(f"/sites/{site}/write-up?booking={visit.pk}")
    head = unfold(phone, "Room 1")
    head.get_by_label("Clean the coil", exact=False).first.check()
    head.get_by_role("group", name="Blower wheel").get_by_label("light").check()
    phone.get_by_label("Notes on the visit").fill("All ran well.")
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("1 task done.")
    assert stops.due(units[0]).due_on == add_months(today, 12)

    # It was the other head: without a reason nothing happens; with one it is struck, and the dues are as before.
    phone.get_by_text("Take this write-up back").click()
    phone.get_by_role("button", name="Take write-up back").click()
    expect(phone.get_by_text("Say why it is taken back.")).to_be_visible()
    clean(phone)
    phone.get_by_label("Reason for taking it back").fill("It was room 2")
    button = phone.get_by_role("button", name="Take write-up back")
    assert button.evaluate("(button) => button.offsetHeight") >= 44
    button.click()
    expect(phone.locator(".lead")).to_contain_text("Taken back on")
    expect(phone.locator("h1 s")).to_contain_text("Write-up of")
    expect(phone.get_by_text("Room 1: Clean the coil done")).to_be_visible()
    clean(phone)
    assert phone.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    assert stops.due(units[0]).due_on == today
    assert models.Booking.objects.get().state == "booked"

    # Written anew, only the tick has to be moved.
    phone.get_by_role("link", name="Write it up again").click()
    expect(phone.get_by_text("Filled in from the write-up of")).to_be_visible()
    expect(phone.get_by_label("Notes on the visit")).to_have_value("All ran well.")
    head = unfold(phone, "Room 1")
    tick = head.get_by_label("Clean the coil", exact=False).first
    expect(tick).to_be_checked()
    wheel = head.get_by_role("group", name="Blower wheel")
    expect(wheel.get_by_label("light")).to_be_checked()
    expect(head.locator(".set")).to_have_text("1 of 2 done, wheel light")
    clean(phone)
    tick.uncheck()
    wheel.get_by_label("not graded").check()
    unfold(phone, "Room 2").get_by_label("Clean the coil", exact=False).first.check()
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("1 task done.")
    assert (stops.due(units[0]).due_on, stops.due(units[1]).due_on) == (today, add_months(today, 12))
    assert models.Booking.objects.get().state == "made"
    assert list(recheck.differences(on=today)) == []


def test_another_failure_keeps_the_photos_that_were_chosen(live, phone: Page, log_in, clean):
    units = stops.house(1, on=clock.today())
    site = units[0].system.site_id
    log_in(phone, "technician")
    phone.goto(f"/sites/{site}/write-up")
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "red").save(out, "PNG")
    phone.get_by_label("Photos", exact=True).set_input_files(
        {"name": "red.png", "mimeType": "image/png", "buffer": out.getvalue()}
    )
    phone.get_by_text("Something failed").click()
    phone.locator("#id_failed-0-component").select_option("sensor")
    phone.locator("#id_failed-0-unit").select_option(str(units[0].pk))
    phone.get_by_role("button", name="Another failure").click()
    expect(phone.locator("#failed fieldset.row")).to_have_count(2)
    expect(phone.locator("#failed legend").nth(1)).to_have_text("Failure 2")
    expect(phone.locator("#id_failed-1-component")).to_have_value("")
    phone.locator("#id_failed-1-component").select_option("capacitor")
    phone.locator("#id_failed-1-unit").select_option(str(units[-1].pk))
    clean(phone)
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("No task done, 2 failures found.")
    expect(phone.get_by_text("1 of 1 photo arrived")).to_be_visible()
    assert models.Document.objects.get().name == "red.jpg"
    assert sorted(models.Failure.objects.values_list("component", flat=True)) == ["capacitor", "sensor"]
