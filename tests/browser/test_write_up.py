"""The write-up in the hand: eight heads in few taps, every control large enough for a thumb, the first fault found."""

import datetime as dt
import os
import re
import uuid

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.calls.actions import calls
from fleet.care.actions import bookings
from fleet.rules.dates import DAY, add_months
from tests import stops
from tests.browser.waiting import open_all, unfold, until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Every tap that the page feels, also across pages; what a script does is none.
TAPS = """addEventListener("pointerdown", (event) => {
    if (event.isTrusted) sessionStorage.setItem("taps", Number(sessionStorage.getItem("taps") ?? 0) + 1);
}, true);"""
MOST_TAPS = 50


def house(heads: int) -> list[models.Unit]:
    return stops.house(heads, began=add_months(clock.today(), -12).isoformat(), on=clock.today())


def booked(units: list[models.Unit]) -> models.Booking:
    tasks = [(unit.pk, task) for unit in units[:-1] for task in ("coil", "drain")]
    site = units[0].system.site_id
    return bookings.book(
        site, [*tasks, (units[-1].pk, "check")], day=clock.today(), why="As asked", by=None, on=clock.today()
    )


@pytest.fixture
def units(live) -> list[models.Unit]:
    return house(8)


@pytest.fixture
def visit(units) -> models.Booking:
    return booked(units)


@pytest.fixture
def few(live) -> list[models.Unit]:
    """A smaller house, for what hangs on no number of heads."""
    return house(3)


@pytest.fixture
def stop(few) -> models.Booking:
    return booked(few)


def where(visit: models.Booking) -> str:
    return f"/sites/{visit.site_id}/write-up?booking={visit.pk}"


def shot(page: Page, name: str) -> None:
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/hand-{name}.png", full_page=True)


def test_eight_heads_in_fifty_taps(phone: Page, units, visit, log_in):
    """Every task done, each wheel and coil graded, two readings of each head and of the outdoor unit; only digits are typed."""
    phone.add_init_script(TAPS)
    log_in(phone, "technician")
    phone.goto(where(visit))
    phone.get_by_label("Everything due today is done: all 17 tasks").click()
    for number in range(1, 9):
        head = phone.locator(f"#unit-{units[number - 1].pk}")
        expect(head.locator(".set")).to_have_text("2 of 2 done")
        head.locator("summary").first.click()
        for part, grade in (("Blower wheel", "light"), ("Coil", "clean")):
            head.get_by_role("group", name=part).get_by_label(grade).click()
        for reading, value in (("Return air", "75,5"), ("Supply air", "56")):
            head.get_by_role("textbox", name=reading).click()
            phone.keyboard.type(value)
        expect(head.locator(".set")).to_have_text("2 of 2 done, wheel light, coil clean, 2 readings")
    outdoor = phone.locator(f"#unit-{units[-1].pk}")
    outdoor.locator("summary").first.click()
    outdoor.get_by_role("group", name="Coil").get_by_label("heavy").click()
    for reading, value in (("Amps", "8.4"), ("Volts", "231")):
        outdoor.get_by_role("textbox", name=reading).click()
        phone.keyboard.type(value)
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("17 tasks done.")
    taps = int(phone.evaluate("() => sessionStorage.getItem('taps')"))
    assert taps <= MOST_TAPS
    made = models.WriteUp.objects.get()
    assert made.records.filter(skipped=False).exclude(task="").count() == 17
    assert sorted(made.records.exclude(dirt_coil=None).values_list("dirt_wheel", "dirt_coil"), key=str) == [
        *[(1, 0)] * 8,
        (None, 2),
    ]
    assert sorted({str(value) for value in made.readings.values_list("value", flat=True)}) == [
        "231.000",
        "56.000",
        "75.500",
        "8.400",
    ]
    assert made.readings.count() == 18


def test_a_stop_that_nobody_booked_is_found_and_written_up_in_six_taps(phone: Page, units, log_in):
    """From Today's stops: the look-up, the site, its write-up, one check mark, and the button; only the name is typed."""
    phone.add_init_script(TAPS)
    log_in(phone, "technician")
    phone.goto("/todays-stops")
    expect(phone.locator(".lead")).to_contain_text("No stop is booked for today.")
    phone.get_by_role("searchbox").click()
    phone.keyboard.type("marsh")
    phone.get_by_role("link", name="7 Tar Lane", exact=True).first.click()
    phone.get_by_role("link", name="Write up a stop here").click()
    phone.get_by_label("Everything due today is done: all 17 tasks").click()
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("17 tasks done.")
    assert int(phone.evaluate("() => sessionStorage.getItem('taps')")) <= 6
    made = models.WriteUp.objects.get()
    assert (made.booking, made.records.count()) == (None, 17)
    phone.goto("/todays-stops")
    expect(phone.locator(".lead")).to_contain_text("Written up: Odile Marsh, Home")


def test_one_check_mark_for_all_checks_what_is_seen_and_nothing_else(phone: Page, units, visit, log_in):
    log_in(phone, "technician")
    phone.goto(where(visit))
    expect(phone.locator(".ask input:checked")).to_have_count(0)
    skip = unfold(phone, "Room 3").get_by_label("Clean the coil, Room 3: skipped")
    reasons = ["no time", "no access", "unsafe", "part needed", "customer declined", "other"]
    assert skip.locator("option").all_text_contents()[1:] == reasons
    skip.select_option("unsafe")
    every = phone.get_by_label("Everything due today is done: all 17 tasks")
    every.click()
    expect(phone.locator("[data-task]:checked")).to_have_count(16)
    # It stands for all 17 no longer, so each check mark speaks for itself.
    expect(every).not_to_be_checked()
    skip.select_option("")
    unfold(phone, "Room 4").get_by_label("Clear the drain line", exact=False).first.uncheck()
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("15 tasks done.")
    made = models.WriteUp.objects.get()
    assert not made.records.filter(unit=units[2], task="coil").exists()
    assert not made.records.filter(unit=units[3], task="drain").exists()


def test_a_value_below_zero_needs_no_minus_on_the_keypad(phone: Page, few, stop, log_in):
    log_in(phone, "technician")
    phone.goto(where(stop))
    outdoor = phone.locator(f"#unit-{few[-1].pk}")
    outdoor.locator("summary").first.click()
    field = outdoor.get_by_label("Outdoor temperature, F", exact=True)
    expect(field).to_have_attribute("inputmode", "decimal")
    field.fill("12.5")
    turn = outdoor.get_by_role("button", name="Outdoor temperature, F: above or below zero")
    turn.click()
    expect(field).to_have_value("-12.5")
    turn.click()
    expect(field).to_have_value("12.5")
    turn.click()
    # What cannot lie below zero has no such button.
    expect(outdoor.get_by_role("button", name=re.compile("^Amps"))).to_have_count(0)
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("No task done.")
    assert str(models.Reading.objects.get().value) == "-12.500"


@pytest.mark.parametrize("kept", [True, False], ids=["from the outbox", "by the plain form"])
def test_what_is_refused_has_the_focus_at_its_first_fault(kept, phone: Page, few, stop, log_in, clean):
    """Of several faults the one that stands first on the page, its unit's line open, its words said with it."""
    if not kept:
        phone.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false });")
    log_in(phone, "technician")
    phone.goto(where(stop))
    unfold(phone, "Room 3").get_by_label("Indoor relative humidity").fill("140")
    unfold(phone, "Room 2").get_by_role("textbox", name="Supply air").fill("900")
    phone.get_by_label("Minutes in all").fill("lots") if not kept else None
    phone.get_by_role("button", name="Record the write-up").click()
    if not kept:
        # The form itself knows the minutes first, which stand last on the page.
        expect(phone.get_by_label("Minutes in all")).to_be_focused()
        phone.get_by_label("Minutes in all").fill("90")
        phone.get_by_role("button", name="Record the write-up").click()
    head = phone.locator(f"#unit-{few[1].pk}")
    field = head.get_by_role("textbox", name="Supply air")
    expect(field).to_be_focused()
    expect(field).to_have_value("900")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_accessible_description(re.compile("900"))
    expect(field).to_be_in_viewport()
    expect(phone.locator(f"#unit-{few[2].pk} details.line")).to_have_attribute("open", "")
    clean(phone)
    field.fill("56")
    phone.locator(f"#unit-{few[2].pk}").get_by_label("Indoor relative humidity").fill("40")
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.locator(".lead")).to_have_text("No task done.")


# The draft in the phone's store has a signature.
SIGNED = "async (drawn) => (await Outbox.items()).some((item) => item.fields.signature === drawn)"


def drawn(page: Page) -> str:
    return page.evaluate("() => document.querySelector('form.write_up').elements.signature.value")


def scribble(page: Page, *points: tuple[float, float]) -> None:
    """Draw with the mouse, in parts of the pad's width and height."""
    pad = page.locator(".pad")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    assert box is not None
    for number, (x, y) in enumerate(points):
        page.mouse.move(box["x"] + x * box["width"], box["y"] + y * box["height"], steps=4)
        if number == 0:
            page.mouse.down()
    page.mouse.up()


def test_the_customer_signs_on_the_screen(phone: Page, few, stop, log_in, clean):
    """By mouse and by finger; it comes back with the draft, and is on file as it was drawn."""
    log_in(phone, "technician")
    phone.goto(where(stop))
    unfold(phone, "Room 1").get_by_label("Clean the coil", exact=False).first.check()
    scribble(phone, (0.1, 0.2), (0.5, 0.9), (0.9, 0.1))
    assert re.match(r"60,4\d( \d+,\d+)+$", drawn(phone))
    phone.get_by_role("button", name="Clear the signature").click()
    assert drawn(phone) == ""
    scribble(phone, (0.1, 0.2), (0.5, 0.9), (0.9, 0.1))
    first = drawn(phone)
    # A finger draws one stroke more; a second finger meanwhile draws none.
    phone.evaluate(
        """() => {
            const pad = document.querySelector(".pad");
            pad.setPointerCapture = () => {};
            const { left, top, width, height } = pad.getBoundingClientRect();
            const at = (type, id, x, y) => pad.dispatchEvent(new PointerEvent(type, { pointerId: id, pointerType: "touch",
                bubbles: true, cancelable: true, clientX: left + x * width, clientY: top + y * height }));
            at("pointerdown", 7, 0.2, 0.5); at("pointerdown", 8, 0.8, 0.5); at("pointermove", 8, 0.9, 0.9);
            at("pointermove", 7, 0.4, 0.5); at("pointerup", 8, 0.9, 0.9); at("pointerup", 7, 0.4, 0.5);
        }"""
    )
    assert drawn(phone) == f"{first};120,100 240,100"
    phone.get_by_label("Name of the person who signs").fill("Odile Marsh")
    shot(phone, "sign")
    clean(phone)
    until(phone, SIGNED, drawn(phone))
    phone.reload()
    expect(phone.get_by_text("is filled in again")).to_be_visible()
    assert drawn(phone) == f"{first};120,100 240,100"
    inked = """() => { const pad = document.querySelector(".pad");
        return pad.getContext("2d").getImageData(0, 0, pad.width, pad.height).data.some((byte) => byte > 0); }"""
    assert phone.evaluate(inked)
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.get_by_text("Signed by Odile Marsh.")).to_be_visible()
    expect(phone.get_by_role("img", name="Signature of Odile Marsh").locator("polyline")).to_have_count(2)
    assert models.Signature.objects.get().strokes == f"{first};120,100 240,100"
    clean(phone)
    shot(phone, "signed")


def test_a_name_without_a_signature_has_the_focus(phone: Page, few, stop, log_in):
    log_in(phone, "technician")
    phone.goto(where(stop))
    unfold(phone, "Room 1").get_by_label("Clean the coil", exact=False).first.check()
    phone.get_by_label("Name of the person who signs").fill("Odile Marsh")
    phone.get_by_role("button", name="Record the write-up").click()
    field = phone.get_by_label("Name of the person who signs")
    expect(field).to_be_focused()
    expect(field).to_have_accessible_description(re.compile("Have them sign"))
    field.fill("")
    phone.get_by_label("If nobody signs, why").select_option("nobody there to sign")
    phone.get_by_role("button", name="Record the write-up").click()
    expect(phone.get_by_text("Not signed: nobody there to sign.")).to_be_visible()


# ------------------------------------------------------------------------------------------------- large enough

# What a finger meets: the control with its label around it, or with what of it lies over the page.
CONTROLS = """() => {
    const small = [];
    for (const it of document.querySelectorAll("main a[href], main button, main input, main select, main textarea, main summary")) {
        if (it.type === "hidden" || it.closest("[aria-hidden=true]") || it.tabIndex === -1) continue;
        if (!it.checkVisibility({ visibilityProperty: true })) continue;
        const target = it.matches("[type=checkbox], [type=radio]") ? it.closest("label") ?? it.labels[0] ?? it : it;
        // A link within a sentence is as high as its line (WCAG 2.5.5 excepts it): it stands beside words of its own block.
        const inline = it.matches("a") && getComputedStyle(it).display === "inline"
            && it.parentElement.closest("p, li, dd, th, td, span")?.textContent.trim() !== it.textContent.trim();
        const { width, height } = target.getBoundingClientRect();
        if (!inline && (width < 43.5 || height < 43.5)) small.push(`${it.outerHTML.slice(0, 120)} ${width} x ${height}`);
    }
    return small;
}"""


@pytest.fixture
def pages(phone: Page, units, visit, log_in) -> list[str]:
    """What is used in the field, with all that may stand there: long numbers and addresses, a call, a contact, a sale."""
    models.Customer.objects.update(phone="+1 (207) 555-0100", email="odile.marsh.of.tar.lane@example.test")
    models.Sale.objects.create(site=visit.site, sold_on=clock.today() - DAY)
    mail = "tam.reyes.the.tenant@example.test"
    visit.site.contacts.create(name="Tam Reyes", role="tenant", phone="207-555-0111", email=mail, reach="after five")
    models.Unit.objects.update(filter_size="16 x 25 x 1")
    models.Booking.objects.update(arrive_from=dt.time(8), arrive_to=dt.time(10, 30))
    log_in(phone, "technician")
    site, unit = visit.site_id, units[0].pk
    made = calls.note(
        facts={
            "caller": "Odile Marsh",
            "site": visit.site,
            "unit": units[0],
            "trouble": "water",
            "came_on": clock.today(),
        },
        key=uuid.uuid4(),
        by=models.User.objects.get(username="technician"),
        on=clock.today(),
    )
    part = {"what": "Indoor fan motor with its mounting bracket", "arrived_on": clock.today()}
    calls.add_part(made.pk, facts=part, by=None, on=clock.today())
    return [
        where(visit), "/todays-stops", "/phone", f"/units/{unit}", "/look-up?text=Marsh",
        f"/sites/{site}", f"/calls/{made.pk}", f"/calls/{made.pk}/correct", "/calls/new", f"/units/{unit}/failure", "/scan",
        f"/units/{unit}/serial", f"/units/{unit}/not-there", f"/sites/{site}/units/found", f"/units/{unit}/documents",
        f"/systems/{units[0].system_id}/refrigerant",
    ]  # fmt: skip


# What stands out of the screen, if anything does.
OUTSIDE = """() => document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("body *")]
    .filter((it) => it.getBoundingClientRect().right > innerWidth + 0.5 && it.checkVisibility())
    .slice(0, 4).map((it) => it.outerHTML.slice(0, 150))"""


def test_every_control_is_large_enough_for_a_thumb_and_nothing_slides_sideways(phone: Page, pages):
    """As wide as a phone, and on the narrowest one with its letters twice as large."""
    small, too_wide = {}, {}
    for address in pages:
        phone.set_viewport_size({"width": 360, "height": 640})
        phone.goto(address)
        open_all(phone)
        small[address] = phone.evaluate(CONTROLS)
        too_wide[address, "360, 100%"] = phone.evaluate(OUTSIDE)
        phone.set_viewport_size({"width": 320, "height": 640})
        phone.evaluate("() => { document.documentElement.style.fontSize = '200%'; }")
        too_wide[address, "320, 200%"] = phone.evaluate(OUTSIDE)
    assert {address: found for address, found in small.items() if found} == {}
    assert {case: found for case, found in too_wide.items() if found} == {}


def test_todays_stops_shut_nobody_out(phone: Page, pages, seen):
    phone.goto("/todays-stops")
    for wanted in (
        "between 8:00 AM and 10:30 AM",
        "Bring:",
        "8 filters 16 x 25 x 1 for Room 1, Room 2",
        "Room 1: water",
    ):
        expect(phone.locator(".stop")).to_contain_text(wanted)
    open_all(phone)
    seen(phone, "stops")
