"""Scanning in a real Chromium: a photo read on the server, the camera with a stand-in for the browser's reader, and the way back."""

import pytest
import time_machine
from PIL import Image
from playwright.sync_api import Page, expect

from fleet import models
from fleet.registry.actions import scans
from tests import company, plates
from tests.browser.waiting import open_all, until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# This Chromium has no reader of codes, so that one stands in for it: it sees one code in every frame.
READER = """
window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["code_128", "ean_13"]; }
  constructor({ formats }) { window.asked = formats; }
  async detect() { return [{ rawValue: "SB10020041", format: "code_128", boundingBox: { x: 40, y: 60, width: 400, height: 80 } }]; }
};
"""
# A camera that shows a gray wall, drawn again and again as a camera does.
CAMERA = """
navigator.mediaDevices.getUserMedia = async (what) => {
  window.camera = what.video.facingMode;
  const canvas = Object.assign(document.createElement("canvas"), { width: 640, height: 480 });
  const pen = canvas.getContext("2d");
  setInterval(() => { pen.fillStyle = "#777"; pen.fillRect(0, 0, 640, 480); }, 50);
  return canvas.captureStream(20);
};
"""


@pytest.fixture(autouse=True)
def noon(tmp_path, settings):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "media"
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def units(live) -> list[models.Unit]:
    company.on_file()
    rooms = ("Den", "Loft", "Hall", "Porch", "Study", "Attic")
    made = [
        company.unit(f"SB1002004{number}", started_on="2021-03-10", installed_on="2021-03-09", room=room)
        for number, room in enumerate(rooms)
    ]
    company.worked_out()
    company.person("technician", first_name="Wynn", last_name="Technician")
    return made


def photo(text: str = "SB10020041", *, size: tuple[int, int] = (3200, 2400), module: int = 8) -> dict[str, object]:
    content = plates.jpeg(plates.plate(("Code 128", text), module=module, size=size))
    return {"name": "plate.jpg", "mimeType": "image/jpeg", "buffer": content}


def test_a_photo_is_made_small_read_on_the_server_and_confirmed(phone: Page, units, log_in, clean, tmp_path):
    log_in(phone, "technician")
    phone.goto("/look-up")
    with phone.expect_navigation():
        phone.get_by_role("link", name="Scan a label or nameplate").click()
    assert phone.evaluate("() => 'BarcodeDetector' in window") is False
    expect(phone.get_by_role("button", name="Use the camera")).to_be_hidden()
    clean(phone)
    phone.get_by_label("Photo of the label or nameplate").set_input_files(photo())
    expect(phone.get_by_role("heading", name="What the photo says")).to_be_visible()
    (kept,) = (tmp_path / scans.FOLDER).glob("*.jpg")
    with Image.open(kept) as image:
        assert max(image.size) == 2200
    expect(phone.get_by_role("heading", name="Code 128: SB10020041")).to_be_visible()
    drawn = phone.get_by_alt_text("The part of the photo where SB10020041 was read")
    expect(drawn).to_be_visible()
    assert drawn.evaluate("async (image) => { await image.decode(); return image.naturalWidth; }") > 300
    clean(phone)
    assert models.Document.objects.count() == 0
    phone.get_by_role("button", name="It reads the same: open this unit").click()
    expect(phone).to_have_url(f"{phone.url.split('/units')[0]}/units/{units[1].pk}")
    assert [(one.unit, one.serial_read) for one in models.Document.objects.all()] == [(units[1], "SB10020041")]


def test_the_camera_where_the_browser_reads_codes(phone: Page, units, log_in, clean):
    phone.add_init_script(READER + CAMERA)
    log_in(phone, "technician")
    phone.goto("/scan")
    clean(phone)
    phone.get_by_role("button", name="Use the camera").click()
    expect(phone.get_by_role("heading", name="Code 128: SB10020041")).to_be_visible()
    # The frame went along, and the part of it that the reader named is shown; nothing is opened before the button.
    drawn = phone.get_by_alt_text("The part of the photo where SB10020041 was read")
    assert drawn.evaluate("async (image) => { await image.decode(); return image.naturalWidth; }") > 200
    assert models.Document.objects.count() == 0
    phone.get_by_role("button", name="It reads the same: open this unit").click()
    phone.wait_for_url(f"**/units/{units[1].pk}")


def test_only_kinds_that_both_know_are_asked_of_the_browser(phone: Page, units, log_in):
    phone.add_init_script(READER.replace("return [{", "return []; [{") + CAMERA)
    log_in(phone, "technician")
    phone.goto("/scan")
    phone.get_by_role("button", name="Use the camera").click()
    expect(phone.get_by_text("Hold the code level and close.")).to_be_visible()
    assert phone.evaluate("() => [window.asked, window.camera]") == [["code_128"], "environment"]
    phone.get_by_role("button", name="Stop the camera").click()
    expect(phone.locator("video")).to_be_hidden()


def test_a_camera_that_may_not_be_used_leaves_the_photo(phone: Page, units, log_in):
    phone.add_init_script(READER + "navigator.mediaDevices.getUserMedia = () => Promise.reject(new Error('denied'));")
    log_in(phone, "technician")
    phone.goto("/scan")
    phone.get_by_role("button", name="Use the camera").click()
    expect(phone.get_by_text("The camera cannot be used here. Take a photo instead.")).to_be_visible()


def test_a_scan_in_a_write_up_leads_back_to_that_unit_with_what_was_written(phone: Page, units, log_in):
    log_in(phone, "technician")
    site = units[0].system.site_id
    phone.goto(f"/sites/{site}/write-up")
    until(phone, "async () => { await WriteUp.ready; return true; }")
    phone.get_by_label("Notes on the visit").fill("Dog in the yard.")
    until(phone, "async () => (await Outbox.items()).some((item) => item.fields.notes === 'Dog in the yard.')")
    phone.get_by_role("link", name="Scan it").click()
    phone.get_by_label("Photo of the label or nameplate").set_input_files(photo("SB10020044"))
    phone.get_by_role("button", name="It reads the same: open this unit").click()
    phone.wait_for_url(f"**/sites/{site}/write-up#unit-{units[4].pk}")
    expect(phone.get_by_label("Notes on the visit")).to_have_value("Dog in the yard.")
    part = phone.locator(f"#unit-{units[4].pk}")
    expect(part).to_be_in_viewport()
    phone.wait_for_function(f"() => document.activeElement.closest('#unit-{units[4].pk}') !== null")


def test_without_a_signal_a_photo_is_not_read_and_typing_finds_the_unit(phone: Page, units, log_in):
    log_in(phone, "technician")
    site = units[0].system.site_id
    phone.goto(f"/sites/{site}/write-up")
    until(phone, "async () => { await WriteUp.ready; return true; }")
    phone.context.set_offline(True)
    phone.get_by_role("link", name="Scan it").click()
    said = phone.get_by_text("There is no signal, so a photo cannot be read. Type part of the serial or room here.")
    expect(said).to_be_visible()
    field = phone.get_by_label("Serial or room of the unit in front of you")
    expect(field).to_be_focused()
    field.fill("5b-100 2oo43")  # look-alikes find each other here too
    field.press("Enter")
    expect(phone.locator(f"#unit-{units[3].pk}")).to_be_in_viewport()
    phone.wait_for_function(f"() => document.activeElement.closest('#unit-{units[3].pk}') !== null")
    for text, words in (
        ("SB1002", "6 units here have “SB1002” in their serial or room."),
        ("XX", "No unit here has “XX”"),
    ):
        field.fill(text)
        field.press("Enter")
        expect(phone.locator(".find_unit [role='status']")).to_contain_text(words)
    phone.context.set_offline(False)


def test_the_scan_page_says_that_there_is_no_signal(phone: Page, units, log_in):
    log_in(phone, "technician")
    phone.goto("/scan")
    phone.context.set_offline(True)
    expect(phone.get_by_text("There is no signal, so a photo cannot be read. Type the serial below")).to_be_visible()
    phone.get_by_label("Photo of the label or nameplate").set_input_files(photo(size=(800, 600), module=3))
    expect(phone.get_by_label("Serial on the nameplate")).to_be_focused()
    assert phone.url.endswith("/scan")
    phone.context.set_offline(False)
    expect(phone.get_by_text("There is no signal")).to_be_hidden()


def test_a_label_is_put_on_a_unit_with_the_keyboard(desk: Page, units, log_in, clean):
    label = models.Label.objects.create(code="K7QM3RTX9W")
    log_in(desk, "technician")
    desk.goto("/L/K7QM3RTX9W")
    clean(desk)
    desk.get_by_label("Serial, name, phone or street").fill("Odile")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("button", name="Put it on Den, wall head, SB10020040")).to_be_visible()
    clean(desk)
    desk.get_by_role("button", name="Put it on Loft, wall head, SB10020041").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Label K7QM3-RTX9W is on this unit now.")).to_be_visible()
    label.refresh_from_db()
    assert label.unit == units[1]


def test_pages_fit_a_small_phone_and_a_thumb(phone: Page, units, log_in):
    log_in(phone, "office")
    phone.set_viewport_size({"width": 320, "height": 640})
    models.Label.objects.create(code="K7QM3RTX9W")
    site = units[0].system.site_id
    # Of the office's pages, only what is scanned stands in the field.
    field = (f"/scan?serial=NEW0417&stop=/sites/{site}/write-up", "/scan")
    for path in (*field, "/labels", f"/labels/print?site={site}", "/L/K7QM3RTX9W"):
        phone.goto(path)
        wide = phone.evaluate(
            "() => [...document.querySelectorAll('main *')].filter((it) => it.getBoundingClientRect().right > 320)"
            ".map((it) => it.outerHTML.slice(0, 90))"
        )
        assert wide == [], path
        open_all(phone)
        small = phone.evaluate(
            "() => [...document.querySelectorAll('main :is(a, button, summary, input:not([type=hidden]))')]"
            ".filter((it) => it.getClientRects().length && it.getBoundingClientRect().height < 44)"
            ".filter((it) => !it.closest('p:has(a):not(.acts)')).map((it) => it.outerHTML.slice(0, 90))"
        )
        assert small == [] or path not in field, path
