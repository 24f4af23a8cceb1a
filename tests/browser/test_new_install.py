"""A new install by keys alone, counted; on a phone; without scripts."""

import io
import re

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.derived import recheck
from fleet.rules.dates import DAY, in_words
from tests import company
from tests.browser.waiting import until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ROOMS = ("Behind the shed", "Den", "Kitchen", "Hall", "Study", "Loft", "Cabin", "Porch", "Nursery")
SERIALS = tuple(f"NW-{number}77" for number in range(301, 310))


@pytest.fixture
def there(live):
    """A customer with an outdoor unit and a cassette, so that both models are on file."""
    company.on_file()
    company.unit("OU-4400", role="outdoor", style="", model="NX-36", started_on="2021-03-10", installed_on="2021-03-09")
    company.unit("SB-1002", style="cassette", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out(clock.today())


class Keys:
    """A keyboard that counts: every key that goes down is one, also one held for another."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0
        page.evaluate(
            "() => { window.pressed = 0; addEventListener('keydown', (event) => { if (event.isTrusted) window.pressed += 1; }, true); }"
        )

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.count += len(key.split("+"))

    def write(self, text: str) -> None:
        """Write what is not counted: a serial or a room."""
        self.page.keyboard.type(text)

    def seen(self) -> int:
        return self.page.evaluate("() => window.pressed")


def test_an_outdoor_unit_and_eight_heads_in_under_sixty_keys(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/new-install")
    expect(desk.get_by_label("Customer")).to_be_focused()
    keys = Keys(desk)
    keys.press("m", "a", "r")
    expect(desk.locator(".place")).to_have_count(1)
    keys.press("ArrowDown", "Enter")  # the site, with all that is on file of it
    keys.press("Enter", "Enter", "Enter")  # the system's name, put in by us, no day of purchase
    keys.press("Shift+Tab", "Enter", "Shift+Tab", "Enter")  # installed and started today, each by its button
    keys.press("n", "Enter", "n", "Enter")  # maker and model of the outdoor unit, each written to its end
    for number, (room, serial) in enumerate(zip(ROOMS, SERIALS, strict=True)):
        keys.write(room)
        keys.press("Enter")
        keys.write(serial)
        if number == 0:
            keys.press("Enter", "Enter", "n", "Enter", "Enter")  # a head; its model; its drain stays blank
        elif number < 8:
            keys.press("Enter")  # one more head like it
    assert keys.seen() == keys.count + len("".join((*ROOMS, *SERIALS)))
    keys.press("Control+Enter")
    assert keys.count < 60, keys.count
    assert keys.count == 41

    expect(desk.get_by_text("Saved: 9 units added.")).to_be_visible()
    today = clock.today()
    limit = in_words(today + 60 * DAY)
    expect(desk.locator(".lead")).to_have_text(f"9 registrations are to do, by {limit} (60 days left).")
    expect(desk.get_by_role("row").filter(has_text="Ductless statement")).to_contain_text("all 9 units")
    new_install = models.Unit.objects.filter(system__name="System 2").order_by("serial")
    assert [(unit.role, unit.room, unit.serial) for unit in new_install] == [
        ("outdoor" if number == 0 else "head", room, serial)
        for number, (room, serial) in enumerate(zip(ROOMS, SERIALS, strict=True))
    ]
    assert {(unit.maker, unit.model, unit.style) for unit in new_install if unit.role == "head"} == {
        ("Northrill", "NH-9", "cassette")
    }
    assert {(unit.installed_on, unit.started_on, unit.purchased_on) for unit in new_install} == {(today, today, None)}
    assert models.Customer.objects.count() == 1
    assert list(recheck.differences(on=today)) == []


def test_a_new_customer_with_a_region_takes_sixty_keys(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/new-install")
    keys = Keys(desk)
    keys.press("Shift+B", *"rit", "Space", "Shift+V", *"ale", "Enter")
    keys.press(
        *["Enter"] * 5, *"me", *["Enter"] * 5
    )  # from the phone past the street; the region; as far as the system
    keys.press("Enter", "Enter", "Enter", "Shift+Tab", "Enter", "Shift+Tab", "Enter", "n", "Enter", "n", "Enter")
    for number, (room, serial) in enumerate(zip(ROOMS, SERIALS, strict=True)):
        keys.write(room)
        keys.press("Enter")
        keys.write(serial)
        if number == 0:
            keys.press("Enter", "Enter", "n", "Enter", "Enter")
        elif number < 8:
            keys.press("Enter")
    keys.press("Control+Enter")
    expect(desk.get_by_text("Saved: 9 units added.")).to_be_visible()
    assert keys.count == 60
    site = models.Site.objects.get(customer__name="Brit Vale")
    assert (site.name, site.region) == ("Home", "US-ME")


OUTDOORS = (("Shed", "NW-201-88"), ("Pad", "NW-202-88"))
HEADS = tuple(
    (room, f"NW-{number}77")
    for number, room in enumerate(("Den", "Kitchen", "Hall", "Study", "Loft", "Cabin", "Porch", "Nursery"), 301)
)


def test_a_new_customer_with_a_whole_address_and_all_of_it_in_under_150_keys(desk: Page, there, log_in):
    """Name, phone and address of a new customer, two outdoor units and eight heads: all that is written but the serials."""
    models.Company.objects.create(pk=1, name="Birch & Fell", address="3 Mill Rd\nQuill Harbor, ME 04791")
    log_in(desk, "office")
    desk.goto("/new-install")
    keys = Keys(desk)

    def written(text: str) -> list[str]:
        return [f"Shift+{key}" if key.isupper() else "Space" if key == " " else key for key in text]

    keys.press(*written("Brit Vale"), "Enter", *written("555-0142"), "Enter", "Enter", "Enter")
    expect(desk.get_by_label("Street", exact=True)).to_be_focused()
    keys.press(*written("12 Cider Ln, Quill Harbor"), "Enter")
    expect(desk.get_by_label("Use", exact=True)).to_be_focused()  # past the fields that the address fills
    for label, value in (
        ("Street", "12 Cider Ln"),
        ("City", "Quill Harbor"),
        ("State", "Maine"),
        ("ZIP code", "04791"),
    ):
        expect(desk.get_by_label(label, exact=True)).to_have_value(value)
    expect(desk.get_by_text("Street: 12 Cider Ln. City: Quill Harbor. Maine 04791.")).to_be_visible()
    keys.press("Enter", "Enter", "Enter")  # its use, no new house
    expect(desk.get_by_label("Name of the system")).to_be_focused()
    keys.press("Enter", "Enter", "Enter", "Shift+Tab", "Enter", "Shift+Tab", "Enter")
    for number, (room, serial) in enumerate(OUTDOORS):
        keys.press(*(("o", "Enter", "n", "Enter") if number else ("n", "Enter", "n", "Enter")))
        keys.press(*room.lower(), "Enter")
        keys.write(serial)
        keys.press("Enter")
    keys.press("Enter", "n", "Enter", "Enter")
    for number, (room, serial) in enumerate(HEADS):
        keys.press(*room.lower(), "Enter")
        keys.write(serial)
        if number < len(HEADS) - 1:
            keys.press("Enter")
    keys.press("Control+Enter")
    expect(desk.get_by_text("Saved: 10 units added.")).to_be_visible()
    assert keys.count <= 150
    assert keys.count == 145
    site = models.Site.objects.select_related("customer").get(customer__name="Brit Vale")
    assert (site.street, site.city, site.region, site.postcode) == ("12 Cider Ln", "Quill Harbor", "US-ME", "04791")
    assert site.customer.phone == "555-0142"
    put_in = site.systems.get().units.all()
    assert {(unit.role, unit.maker, unit.model, unit.style, unit.room, unit.serial) for unit in put_in} == {
        *(("outdoor", "Northrill", "NX-36", "", room.lower(), serial) for room, serial in OUTDOORS),
        *(("head", "Northrill", "NH-9", "cassette", room.lower(), serial) for room, serial in HEADS),
    }
    assert {(unit.installed_on, unit.started_on) for unit in put_in} == {(clock.today(), clock.today())}
    assert list(recheck.differences(on=clock.today())) == []


def test_photos_are_taken_right_there_and_a_refused_save_keeps_them(desk: Page, there, log_in, clean, tmp_path):
    log_in(desk, "office")
    desk.goto("/new-install")
    desk.get_by_label("Customer", exact=True).fill("Brit Vale")
    for name, value in (("maker", "Northrill"), ("model", "NX-36"), ("room", "Pad"), ("serial", "OU-44OO")):
        desk.locator(f"#id_unit-0-{name}").fill(value)
    plate, proof = io.BytesIO(), io.BytesIO()
    Image.new("RGB", (64, 48), "teal").save(plate, "JPEG")
    Image.new("RGB", (64, 48), "olive").save(proof, "JPEG")
    for selector, name, file in (("#id_unit-0-plate", "plate.jpg", plate), ("#id_proof", "proof.jpg", proof)):
        chosen = {"name": name, "mimeType": "image/jpeg", "buffer": file.getvalue()}
        desk.locator(selector).set_input_files(chosen)
    until(desk, "async () => (await Store.keys('photos')).length === 2")
    clean(desk)
    desk.get_by_role("button", name="Save the install").click()
    expect(desk.get_by_role("alert")).to_contain_text("Nothing is saved yet.")
    expect(desk.get_by_text("Still chosen: plate.jpg.")).to_be_visible()
    expect(desk.get_by_text("Still chosen: proof.jpg.")).to_be_visible()
    clean(desk)
    desk.get_by_label("It is another unit").check()
    desk.get_by_role("button", name="Save the install").click()
    expect(desk.get_by_text("Saved: 1 unit added.")).to_be_visible()
    unit = models.Unit.objects.get(serial="OU-44OO")
    assert [(one.name, one.caption) for one in unit.documents.all()] == [("plate.jpg", "Nameplate")]
    kept = unit.system.site.documents.get()
    assert (kept.name, kept.caption, kept.proves_registration) == ("proof.jpg", "Proof of registration: System 1", True)
    until(desk, "async () => !(await Store.keys('photos')).length")


def test_enter_passes_no_blank_manufacturer_and_no_blank_day_and_tab_does(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/new-install")
    installed, started = (desk.locator(f"#id_{name}_on") for name in ("installed", "started"))
    maker, model = (desk.locator(f"#id_unit-0-{name}") for name in ("maker", "model"))
    installed.focus()
    installed.press("Enter")
    expect(installed).to_be_focused()
    expect(installed).to_have_accessible_description("Enter the day. Tab leaves it blank.")
    expect(desk.locator("#told")).to_have_text("Enter the day. Tab leaves it blank.")
    installed.fill("2026-01-05")
    expect(desk.locator(".held")).to_have_count(0)
    installed.press("Enter")
    expect(started).to_be_focused()
    started.press("Enter")
    expect(started).to_be_focused()
    maker.focus()
    maker.press("Enter")
    expect(maker).to_be_focused()
    expect(maker).to_have_accessible_description("Enter the manufacturer. Tab leaves it blank.")
    maker.press("Tab")
    expect(model).to_be_focused()
    model.fill("NX-36")
    model.press("Enter")
    desk.locator("#id_unit-0-room").press("Enter")
    desk.locator("#id_unit-0-serial").press("Enter")
    expect(maker).to_be_focused()  # a row is not left without one


def test_days_manufacturers_and_serials_are_looked_at_as_they_are_left(desk: Page, there, log_in, clean):
    log_in(desk, "office")
    desk.goto("/new-install")
    desk.locator("#id_installed_on").fill("2026-01-05")
    desk.locator("#id_started_on").fill("2026-01-04")
    desk.locator("#id_started_on").press("Enter")
    expect(desk.locator("#days_note")).to_have_text(
        "Started on January 4, 2026, before it was installed on January 5, 2026."
    )
    clean(desk)
    desk.locator("#id_started_on").fill("2999-01-04")
    desk.locator("#id_started_on").press("Enter")
    expect(desk.locator("#days_note")).to_contain_text("Started: enter ")
    desk.locator("#id_started_on").fill("2026-01-05")
    desk.locator("#id_started_on").press("Enter")
    expect(desk.locator("#days_note")).to_have_text("")
    desk.locator("#id_unit-0-maker").fill("Norhtrill")
    desk.locator("#id_unit-0-maker").press("Enter")
    note = desk.locator("#unit-0-note")
    expect(note).to_contain_text("Northrill")
    expect(desk.locator("#id_unit-0-model")).to_be_focused()
    desk.locator("#id_unit-0-serial").fill("OU-44OO")
    desk.locator("#id_unit-0-serial").press("Tab")
    expect(note).to_contain_text("A serial that looks like this one is on file.")
    expect(note).to_contain_text("Northrill")
    clean(desk)


def test_a_row_is_made_as_the_one_above_by_a_button(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/new-install")
    desk.locator("#id_unit-0-maker").fill("Northrill")
    desk.locator("#id_unit-0-model").fill("NX-36")
    desk.locator("#id_unit-0-serial").fill("X-1")
    desk.get_by_role("button", name="Add an outdoor unit").click()
    expect(desk.locator("#id_unit-1-role")).to_have_value("outdoor")
    desk.get_by_role("button", name="As above in this row").last.click()
    expect(desk.locator("#id_unit-1-maker")).to_have_value("Northrill")
    expect(desk.locator("#id_unit-1-model")).to_have_value("NX-36")
    expect(desk.locator("#id_unit-1-serial")).to_have_value("")
    expect(desk.locator("#id_unit-1-room")).to_be_focused()
    desk.get_by_role("button", name="Add a head").click()
    desk.locator("#id_unit-2-model").fill("NH-9")
    desk.locator("#id_unit-2-room").fill("Den")
    desk.get_by_role("button", name="Add an outdoor unit").click()
    desk.get_by_role("button", name="As above in this row").last.click()
    expect(desk.locator("#id_unit-3-model")).to_have_value("NX-36")  # as the last of its role


def test_a_half_typed_install_comes_back_with_its_rows(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/new-install")
    desk.get_by_label("Customer").press_sequentially("odi")
    desk.locator(".place").click()
    for number, (room, serial) in enumerate((*OUTDOORS[:1], *HEADS[:4])):
        if number > 1:
            desk.get_by_role("button", name="Add a head").click()
        for name, value in (("maker", "Northrill"), ("model", "NX-36" if number == 0 else "NH-9"), ("room", room)):
            desk.locator(f"#id_unit-{number}-{name}").fill(value)
        desk.locator(f"#id_unit-{number}-serial").fill(serial)
    desk.get_by_role("button", name="Drop row").nth(2).click()
    until(
        desk,
        "async () => { let rows = ''; await Store.each('drafts', (it) => { rows += JSON.stringify(it.seen ?? ''); });"
        " return rows.includes('unit-4-serial') && !rows.includes('unit-2-serial'); }",
    )
    written = (
        "() => [...document.querySelectorAll('#install :is(input, select):not([type=hidden])')].map((it) => it.value)"
    )
    before = desk.evaluate(written)
    desk.goto("/terms")
    desk.goto("/new-install")
    expect(desk.locator(".draft")).to_contain_text("Odile Marsh")
    desk.get_by_role("button", name="Bring it back").click()
    expect(desk.locator(".unit")).to_have_count(4)
    assert desk.evaluate(written) == before
    desk.locator("#id_unit-4-serial").press("Enter")
    expect(desk.locator("#id_unit-5-room")).to_be_focused()
    expect(desk.locator("#id_unit-5-model")).to_have_value("NH-9")
    desk.get_by_role("button", name="Save the install").click()
    expect(desk.get_by_text("Saved: 4 units added.")).to_be_visible()
    until(desk, "async () => !(await Store.keys('drafts')).some((key) => key.includes('|/'))")


def test_nobody_is_shut_out(desk: Page, there, log_in, seen):
    page = desk
    log_in(page, "office")
    page.goto("/new-install")
    seen(page)
    page.get_by_label("Customer").press_sequentially("odi")
    expect(page.locator(".place")).to_have_count(1)
    seen(page)
    page.locator(".place").click()
    page.locator("#id_unit-0-maker").fill("Northrill")
    page.locator("#id_unit-0-model").fill("NX-36")
    page.locator("#id_unit-0-serial").fill("OU-44OO")
    page.locator("#id_unit-0-room").focus()
    expect(page.locator("#unit-0-note")).to_contain_text(
        "A serial that looks like this one is on file. Check the nameplate."
    )
    seen(page)
    page.get_by_role("button", name="Save the install").click()
    assert page.get_by_text("It is another unit").bounding_box()["width"] > 50  # beside its tick, for everybody
    expect(page.get_by_role("alert")).to_have_text(
        "Nothing is saved yet. Check what is marked below; everything you typed is still here."
    )
    seen(page)
    page.get_by_label("It is another unit").check()
    page.get_by_role("button", name="Save the install").click()
    expect(page.get_by_text("Saved: 1 unit added.")).to_be_visible()
    seen(page)


def test_another_name_takes_back_what_a_chosen_place_filled_in(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/new-install")
    customer = desk.get_by_label("Customer")
    customer.press_sequentially("odi")
    desk.locator(".place").click()
    expect(customer).to_have_value("Odile Marsh")
    expect(desk.get_by_label("Street", exact=True)).to_have_value("7 Tar Lane")
    expect(desk.get_by_label("Name of the system")).to_have_value("System 2")
    desk.get_by_label("City").fill("Quill Harbor")
    customer.fill("Brit Sørby")
    expect(desk.get_by_label("Street", exact=True)).to_have_value("")
    expect(desk.get_by_label("Phone", exact=True)).to_have_value("")
    expect(desk.get_by_label("City")).to_have_value("Quill Harbor")
    expect(desk.get_by_label("Site", exact=True)).to_have_value("Home")
    expect(desk.get_by_label("Name of the system")).to_have_value("System 1")
    expect(desk.locator("#places")).to_contain_text("a new customer")


def test_a_row_copies_all_but_room_and_serial_and_can_be_dropped(phone: Page, there, log_in):
    log_in(phone, "office")
    phone.goto("/new-install")
    for name, value in (
        ("maker", "Northrill"),
        ("model", "NH-9"),
        ("drain", "Pump A"),
        ("room", "Den"),
        ("serial", "X-1"),
    ):
        phone.locator(f"#id_unit-1-{name}").fill(value)
    phone.locator("#id_unit-1-style").select_option("floor")
    phone.get_by_role("button", name="Add a head").click()
    expect(phone.locator("#id_unit-2-room")).to_be_focused()
    shown = {name: phone.locator(f"#id_unit-2-{name}").input_value() for name in
             ("role", "maker", "model", "style", "drain", "room", "serial")}  # fmt: skip
    assert shown == {
        "role": "head",
        "maker": "Northrill",
        "model": "NH-9",
        "style": "floor",
        "drain": "Pump A",
        "room": "",
        "serial": "",
    }
    phone.get_by_role("button", name="Add a head").click()
    expect(phone.locator(".unit")).to_have_count(4)
    phone.get_by_role("button", name="Drop row").nth(2).click()
    expect(phone.locator(".unit")).to_have_count(3)
    expect(phone.locator(".unit .number")).to_have_text(["1", "2", "4"])


def test_it_works_without_scripts(chromium, there, live, log_in):
    context = chromium.new_context(base_url=live.url, java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    log_in(page, "office")
    page.goto(f"/sites/{models.Site.objects.get().pk}")
    page.get_by_role("link", name="New install here").click()
    expect(page.get_by_label("Customer")).to_have_value("Odile Marsh")
    page.locator("#id_installed_on").fill(clock.today().isoformat())
    for name, value in (("maker", "Northrill"), ("model", "NH-9"), ("room", "Den"), ("serial", "X-1")):
        page.locator(f"#id_unit-1-{name}").fill(value)
    page.get_by_role("button", name="More rows like the last").click()
    expect(page.locator(".unit")).to_have_count(6)
    expect(page.locator("#id_unit-2-model")).to_have_value("NH-9")
    page.locator("#id_unit-3-serial").fill("X-2")
    page.get_by_role("button", name="Save the install").click()
    expect(page.get_by_text("Saved: 2 units added.")).to_be_visible()
    expect(page).to_have_url(re.compile(r"/new-install/\d+$"))
    context.close()


def test_the_page_after_a_save_takes_a_photo_of_each_nameplate(desk: Page, there, log_in, clean):
    unit = models.Unit.objects.get(serial="SB-1002")
    log_in(desk, "office")
    desk.goto(f"/new-install/{unit.system_id}")
    clean(desk)
    file = io.BytesIO()
    Image.new("RGB", (40, 30), (90, 120, 130)).save(file, "PNG")
    photo = {"name": "plate.png", "mimeType": "image/png", "buffer": file.getvalue()}
    desk.locator(f"#id_plate-{unit.pk}").set_input_files(photo)
    desk.get_by_role("button", name="Add these photos").click()
    expect(desk.get_by_text("Added.")).to_be_visible()
    expect(desk.get_by_role("link", name="Photo on file")).to_have_count(1)
    assert unit.documents.count() == 1
