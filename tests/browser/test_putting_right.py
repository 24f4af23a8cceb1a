"""What was recorded wrongly or late is put right by keys alone: an install, a missed registration, a unit without a serial."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.derived import recheck
from fleet.registry.actions import new_install
from fleet.registry.pages.new_install import Told
from fleet.rules.dates import DAY
from tests import company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PDF = b"%PDF-1.7\ntrailer<<>>\n%%EOF\n"


@pytest.fixture
def there(settings, tmp_path) -> models.Unit:
    """A unit without a serial whose registration was missed."""
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    day = (clock.today() - 90 * DAY).isoformat()
    unit = company.unit("", room="Loft", installed_on=day, started_on=day, licensed_installer=True)
    company.worked_out(clock.today())
    return unit


def press(page: Page, name: str, role: str = "button") -> None:
    page.get_by_role(role, name=name).focus()
    page.keyboard.press("Enter")


def test_an_install_just_saved_is_taken_back(desk: Page, there, log_in, seen):
    page = desk
    log_in(page, "office")
    site = there.system.site_id
    install = {"customer": "Odile Marsh", "site": "Home", "system": "Annex"}
    cells = {"role": "head", "maker": "Northrill", "model": "NH-9", "room": "Den", "serial": "NW-1"}
    for address in ("", f"/sites/{site}"):
        saved = new_install.save(
            Told(install, {0: cells}), by=models.User.objects.get(username="office"), on=clock.today()
        )
        page.goto(address or f"/new-install/{saved.system}")
        seen(page)
        press(page, "Undo this install")
        expect(page.get_by_text("Undone: Annex, 1 unit. Nothing of it is on file any more.")).to_be_visible()
        expect(page).to_have_url(f"{page.url.partition('/sites')[0]}/sites/{site}")
        expect(page.get_by_role("button", name="Undo this install")).to_have_count(0)
        assert models.Unit.objects.get() == there
    assert list(recheck.differences(on=clock.today())) == []


def test_a_late_registration_and_its_proof(desk: Page, there, log_in, seen, tmp_path: Path):
    page = desk
    log_in(page, "office")
    page.goto(f"/systems/{there.system_id}/registration")
    page.get_by_label("Registered on").fill(clock.today().isoformat())
    page.get_by_label("Registration number").focus()
    page.keyboard.type("N-7")
    page.keyboard.press("Enter")
    expect(page.get_by_text("1 registration with Northrill recorded: too late, as shown below.")).to_be_visible()
    expect(page.get_by_text("30 days late").first).to_be_visible()
    page.locator("summary", has_text="Add the proof").focus()
    page.keyboard.press("Enter")
    seen(page)
    letter = tmp_path / "letter.pdf"
    letter.write_bytes(PDF)
    page.get_by_label("A photo or a PDF", exact=True).set_input_files(letter)
    press(page, "Add the proof")
    expect(page.get_by_text("Proof added: letter.pdf.")).to_be_visible()
    expect(page.get_by_role("link", name="Proof: letter.pdf")).to_be_visible()
    seen(page)
    page.goto(f"/units/{there.pk}")
    expect(page.get_by_role("link", name="Proof: letter.pdf")).to_be_visible()
    assert list(recheck.differences(on=clock.today())) == []


def test_a_unit_without_a_serial_is_taken_out(desk: Page, there, log_in, seen):
    page = desk
    log_in(page, "office")
    page.goto(f"/units/{there.pk}/life")
    seen(page)
    page.locator("summary", has_text="It was taken out").focus()
    page.keyboard.press("Enter")
    page.locator("#removed_day").fill(clock.today().isoformat())
    press(page, "Record that it was taken out")
    expect(page).to_have_url(f"{page.url.partition('/units')[0]}/units/{there.pk}")
    there.refresh_from_db()
    assert (there.removed_on, there.removal_reason) == (clock.today(), "removed")
    # It was another one: taken back by keys alone, the unit stands where it stood.
    press(page, "Undo an entry", "link")
    expect(page.get_by_role("heading", name="Entered by mistake?")).to_be_visible()
    seen(page)
    page.get_by_label("What never happened").focus()
    page.keyboard.type("Taken out")
    page.get_by_label("Why", exact=True).last.fill("the head in the den")
    press(page, "Undo it")
    expect(page.locator(".message")).to_contain_text("Undone: taken out on")
    there.refresh_from_db()
    assert (there.removed_on, there.removal_reason) == (None, "")
    assert list(recheck.differences(on=clock.today())) == []
