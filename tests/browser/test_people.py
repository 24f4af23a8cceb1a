"""People's logins and the photos they add in a real browser: by keyboard, on a phone, nobody shut out."""

import io
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.office.actions import logins, people
from fleet.registry.actions import documents
from fleet.rules.dates import DAY
from tests import company
from tests.browser.waiting import unfold_page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

RIGHT, NEW = "quiet-ledger-9", "mossy lantern 47"
THUMBS = "button, input:not([type=hidden], [type=checkbox]), select, summary, nav a, .actions a"


def photo(width: int = 1600, height: int = 1200, *, turned: int = 1) -> bytes:
    told, out = Image.Exif(), io.BytesIO()
    told[0x0112] = turned
    Image.new("RGB", (width, height), (120, 140, 150)).save(out, "JPEG", exif=told)
    return out.getvalue()


@pytest.fixture
def unit(live, settings, tmp_path) -> models.Unit:
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out(clock.today())
    return made


@pytest.fixture
def office(live) -> models.User:
    return company.person("office", first_name="Wren", last_name="Halloran", email="wren@office.example")


def locked(name: str) -> None:
    """Ten wrong passwords, each as soon as one was looked at again."""
    for number in range(10):
        assert logins.begin(name=name, at=clock.now() - DAY / 8 + number * DAY / 96) is None


def log_in_by_hand(page: Page, name: str, password: str) -> None:
    page.goto("/login")
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(password)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_nobody_is_shut_out(desk: Page, unit, office, log_in, seen):
    page = desk
    owner = company.person("owner", first_name="Marit")
    locked("office")
    for name, content in (("plate.jpg", photo()), ("b.pdf", b"%PDF-1.7 %%EOF")):
        documents.add(file=io.BytesIO(content), name=name, whose=unit, by=owner, proves_registration=True)
    gone = documents.add(file=io.BytesIO(photo(90)), name="oops.jpg", whose=unit, by=owner)
    documents.drop(document=gone, by=owner, on=clock.today())
    link = people.link(person=office, by=owner)

    for address in ("/password/forgotten", "/password/sent", link, "/password/new/x/y"):
        page.goto(address)
        seen(page)
    log_in_by_hand(page, "office", "wrong")
    expect(page.get_by_role("alert")).to_contain_text("This login is locked for")
    seen(page)
    log_in(page, "owner")
    for address in ("/people", f"/people/{office.pk}", "/roles", "/password", f"/units/{unit.pk}/documents"):
        page.goto(address)
        seen(page, thumbs=THUMBS)
    page.goto("/people/add")
    page.get_by_role("button", name="Add person", exact=True).click()
    expect(page.get_by_label("First name")).to_have_attribute("aria-invalid", "true")
    seen(page)


def test_a_new_person_from_the_owners_form_to_their_own_first_page(desk: Page, phone: Page, log_in):
    """At the owner's desk by keyboard alone; then on the new person's phone."""
    log_in(desk, "owner")
    desk.goto("/people/add")
    desk.get_by_label("First name").focus()
    for words in ("Sam", "Vail", "sam", "", "tech"):
        desk.keyboard.type(words)
        desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Sam Vail")
    expect(desk.get_by_text("Sam Vail has a login now")).to_be_visible()
    link = desk.get_by_label("Link", exact=True).input_value()
    phone.goto(link)
    expect(phone).not_to_have_url(link)  # the secret is out of the address
    phone.get_by_label("New password", exact=True).fill(NEW)
    phone.get_by_label("New password again").fill(NEW)
    phone.get_by_role("button", name="Set password").click()
    expect(phone.get_by_text("Your new password is set. Log in with it now.")).to_be_visible()
    log_in_by_hand(phone, "sam", NEW)
    expect(phone.get_by_text("Sam Vail (technician)")).to_be_visible()
    desk.reload()
    expect(desk.get_by_label("Link", exact=True)).to_have_count(0)


def test_wrong_passwords_slow_down_and_the_owner_unlocks(desk: Page, phone: Page, office, log_in):
    for _ in range(5):
        log_in_by_hand(phone, "office", "wrong")
    expect(phone.get_by_role("alert")).to_contain_text("Try again in 30 seconds.")
    expect(phone.get_by_label("Username")).to_have_value("office")
    log_in_by_hand(phone, "office", RIGHT)
    expect(phone.get_by_role("alert")).to_contain_text("Too many wrong passwords.")
    log_in(desk, "owner")
    desk.goto("/people")
    desk.get_by_role("link", name="Wren Halloran").click()
    expect(desk.get_by_text("5 wrong passwords in a row")).to_be_visible()
    desk.get_by_role("button", name="Clear the wrong passwords").click()
    expect(desk.get_by_text("Wren Halloran can try to log in again.")).to_be_visible()
    log_in_by_hand(phone, "office", RIGHT)
    expect(phone.get_by_text("Wren Halloran (office)")).to_be_visible()


def test_a_photo_taken_on_a_phone_stands_upright_on_the_unit(phone: Page, unit, log_in, tmp_path: Path):
    (tmp_path / "taken.jpg").write_bytes(photo(turned=6))
    (tmp_path / "page.jpg").write_bytes(b"<html>not a photo</html>")
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}")
    unfold_page(phone)
    phone.get_by_label("Photos (JPEG, PNG, WebP)").set_input_files([tmp_path / "taken.jpg"])
    phone.get_by_label("What it shows").fill("Nameplate")
    phone.get_by_role("button", name="Add these files").click()
    expect(phone).to_have_url(f"{phone.url.split('/units')[0]}/units/{unit.pk}#documents")
    picture = phone.get_by_role("img", name="Nameplate")
    expect(picture).to_be_visible()
    assert picture.evaluate("async (it) => { await it.decode(); return [it.naturalWidth, it.naturalHeight]; }") == [
        300,
        400,
    ]
    phone.get_by_label("Photos (JPEG, PNG, WebP)").set_input_files([tmp_path / "page.jpg"])
    phone.get_by_role("button", name="Add these files").click()
    expect(phone.get_by_text("page.jpg was not added.")).to_be_visible()
    expect(phone.get_by_role("button", name="Remove")).to_have_count(0)
    phone.get_by_role("link", name="Northrill NH-9 SB-1002").click()
    expect(phone.locator(".glance")).to_be_visible()
    unfold_page(phone)
    expect(phone.get_by_role("img", name="Nameplate")).to_be_visible()


def test_dropped_by_keyboard_and_brought_back_and_a_paper_saved(desk: Page, unit, office, log_in):
    plate = documents.add(file=io.BytesIO(photo()), name="plate.jpg", whose=unit, by=office, caption="Nameplate")
    documents.add(file=io.BytesIO(b"%PDF-1.7 %%EOF"), name="letter.pdf", whose=unit, by=office)
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}/documents")
    desk.get_by_role("button", name="Remove Nameplate").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("img", name="Nameplate")).to_have_count(0)
    desk.get_by_text("Removed (1)").focus()
    desk.keyboard.press("Enter")
    desk.get_by_role("button", name="Restore Nameplate").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("img", name="Nameplate")).to_be_visible()
    expect(desk.get_by_text("Photo brought back: plate.jpg")).to_be_visible()
    with desk.expect_download() as saved:
        desk.get_by_role("link", name="letter.pdf").click()
    assert saved.value.suggested_filename == "letter.pdf"
    # A photo runs nothing.
    desk.goto(f"/documents/{plate.pk}")
    assert desk.evaluate("() => document.contentType") == "image/jpeg"
