"""Registrations in a browser: by keys alone, on a desk and a phone, light and dark, and without scripts."""

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.derived import recheck
from fleet.rules.dates import DAY
from tests import company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def there() -> models.System:
    """Nine units put in ten days ago, two without a day, and one put in too long ago."""
    company.on_file()
    today = clock.today()
    for number in range(9):
        day = (today - 10 * DAY).isoformat()
        unit = company.unit(f"SB-{number}", room=f"Room {number}", installed_on=day, started_on=day)
    for number in range(2):
        company.unit(f"WT-{number}", customer="Ivo Lund", installed_on=None, started_on=today.isoformat())
    day = (today - 90 * DAY).isoformat()
    company.unit("MS-0", customer="Pia Roos", installed_on=day, started_on=day, licensed_installer=True)
    company.worked_out(today)
    return unit.system


def test_nine_units_are_confirmed_by_keys_alone_and_taken_back(desk: Page, there, log_in):
    page = desk
    log_in(page, "office")
    page.goto("/on-our-desk")
    expect(page.locator(".lead")).to_contain_text("No deadline was missed, and none comes up within a week.")
    page.get_by_role("row").filter(has_text="Odile Marsh").get_by_role("link", name="Register with Northrill").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="With Northrill")).to_be_visible()
    expect(page.get_by_role("checkbox", checked=True)).to_have_count(9)
    page.get_by_label("Registration number").focus()
    page.keyboard.type("N-77")
    page.keyboard.press("Enter")
    expect(page.get_by_text("9 registrations with Northrill: confirmed, number N-77.")).to_be_visible()
    assert set(
        models.HoldingRow.objects.filter(unit__system=there, terms__payer="maker").values_list(
            "registration", flat=True
        )
    ) == {"confirmed"}
    page.get_by_role("button", name="Undo").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("9 registrations undone.")).to_be_visible()
    expect(page.get_by_role("checkbox", checked=True)).to_have_count(9)
    assert list(recheck.differences(on=clock.today())) == []


def test_the_block_is_copied_whole(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto(f"/systems/{there.pk}/registration")
    desk.get_by_role("button", name="Copy all").click()
    expect(desk.get_by_role("button", name="Copied")).to_be_visible()
    chosen = desk.evaluate(
        "() => { const b = document.querySelector('.asks'); return b.value.slice(b.selectionStart, b.selectionEnd); }"
    )
    assert chosen.startswith("Registration with Northrill\nHomeowner: Odile Marsh\n")
    assert chosen.count("serial SB-") == 9


def test_nobody_is_shut_out(desk: Page, there, log_in, seen):
    page = desk
    log_in(page, "office")
    systems = models.System.objects.order_by("pk").values_list("pk", flat=True)
    for address in (
        "/on-our-desk",
        "/registrations",
        "/registrations?state=missed",
        *(f"/systems/{pk}/registration" for pk in systems),
    ):
        page.goto(address)
        seen(page)
    page.goto(f"/systems/{there.pk}/registration")
    page.get_by_label("Registered on").fill((clock.today() + DAY).isoformat())
    page.get_by_role("button", name="Record registration").click()
    expect(page.get_by_text("Enter a day no later than today.")).to_be_visible()
    seen(page)


def test_it_works_without_scripts(chromium, there, live, log_in):
    context = chromium.new_context(base_url=live.url, java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    log_in(page, "office")
    page.goto("/registrations?state=waiting+for+a+date")
    page.get_by_role("link", name="Whole house").click()
    page.get_by_label("The day it was installed").fill(clock.today().isoformat())
    page.get_by_role("button", name="Save this date for 2 units").click()
    expect(page.get_by_text("60 days from today")).to_be_visible()
    context.close()
