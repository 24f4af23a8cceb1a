"""A unit's page on a phone: what counts stands open, the rest unfolds, and a call is noted in two taps."""

import os

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.rules.dates import add_months, in_words
from tests import stops
from tests.browser.test_write_up import TAPS

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SECTIONS = (
    "If it failed",
    "Maintenance",
    "History",
    "Where it stands",
    "Warranty terms",
    "On file",
    "Photos and papers",
)


@pytest.fixture
def unit(live) -> models.Unit:
    """A head whose coil is due, written up by a technician six months ago, that failed twice."""
    today = clock.today()
    head = stops.house(3, began=add_months(today, -12).isoformat(), on=today)[0]
    models.Customer.objects.update(phone="555-0100")
    seen = add_months(today, -2)
    for task, by in (("drain", "Ilse Quarry"), ("wash", "")):
        models.MaintenanceRecord.objects.create(unit=head, done_on=seen if by else today, task=task, technician=by)
    for months, component in ((5, "drain pump"), (4, "sensor")):
        models.Failure.objects.create(unit=head, component=component, failed_on=add_months(today, -months))
    return head


def shot(page: Page, name: str) -> None:
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/unit-{name}.png", full_page=True)


def test_what_counts_stands_open_on_a_phone(phone: Page, unit, log_in, clean, seen):
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}")
    today = clock.today()
    glance = phone.locator(".glance")
    expect(glance).to_contain_text("Clean the coil: due now")
    expect(glance).not_to_contain_text("Wash the filter")
    expect(glance).to_contain_text(f"{in_words(add_months(today, -2))}: Clear the drain line Ilse Quarry")
    expect(glance).to_contain_text(f"Sensor failed, {in_words(add_months(today, -4))}; 1 more in the history")
    # Who pays, and the way to the write-up, all on the first screen or the next.
    for part in (glance, phone.locator(".spoken .lead"), phone.get_by_role("link", name="Write up", exact=True)):
        box = part.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 2 * phone.viewport_size["height"]
    for name in SECTIONS:
        expect(phone.get_by_role("heading", name=name, exact=True)).to_be_hidden()
    clean(phone)
    shot(phone, "phone")
    for fold in phone.locator(".fold").all():
        if fold.get_attribute("open") is None and fold.locator("> summary").is_visible():
            fold.locator("> summary").click()
    for name in SECTIONS:
        expect(phone.get_by_role("heading", name=name, exact=True)).to_be_visible()
    seen(phone, "unit-open")
    phone.get_by_role("link", name="Write up", exact=True).click()
    expect(phone).to_have_url(f"{phone.url.split('/sites')[0]}/sites/{unit.system.site_id}/write-up")


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_everything_stands_open_at_a_desk_and_on_paper(chromium, live, unit, log_in, scripts):
    """By the style sheet alone, so that nothing moves once it is drawn."""
    with chromium.new_context(
        base_url=live.url, java_script_enabled=scripts, viewport={"width": 1440, "height": 900}
    ) as context:
        page = context.new_page()
        log_in(page, "office")
        page.goto(f"/units/{unit.pk}")
        for width, media in ((1440, "screen"), (360, "print")):
            page.set_viewport_size({"width": width, "height": 900})
            page.emulate_media(media=media)
            for name in SECTIONS:
                expect(page.get_by_role("heading", name=name, exact=True)).to_be_visible()
            expect(page.locator(".fold > summary").first).to_be_hidden()
            expect(page.locator(".glance")).to_be_hidden()
            shot(page, media)


def test_without_scripts_a_fold_opens_and_an_answer_stands_open(chromium, live, unit, log_in):
    with chromium.new_context(
        base_url=live.url, java_script_enabled=False, viewport={"width": 360, "height": 740}
    ) as context:
        page = context.new_page()
        log_in(page, "technician")
        page.goto(f"/units/{unit.pk}")
        page.get_by_text("If it failed: who would pay").click()
        page.get_by_label("What failed").select_option("sensor")
        page.get_by_role("button", name="Ask who pays").click()
        expect(page.get_by_role("heading", name="If the sensor failed today")).to_be_visible()


def test_an_address_of_a_part_opens_it(phone: Page, unit, log_in):
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}#documents")
    expect(phone.get_by_role("heading", name="Photos and papers")).to_be_in_viewport()


def test_a_call_is_noted_in_two_taps_and_words_are_added(phone: Page, unit, log_in, clean):
    phone.add_init_script(TAPS)
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}")
    phone.get_by_text("Note a call about this unit").click()
    expect(phone.get_by_text("leave the building now")).to_be_visible()
    clean(phone)
    shot(phone, "call")
    phone.get_by_role("button", name="Water").click()
    expect(phone.locator("h1")).to_have_text("Call: water, Home")
    assert phone.evaluate("() => sessionStorage.getItem('taps')") == "2"
    call = models.Call.objects.get()
    assert (call.unit, call.site, call.trouble, call.caller, call.phone) == (
        unit, unit.system.site, "water", "Odile Marsh", "555-0100",
    )  # fmt: skip
    assert (call.came_on, str(call.by), call.state) == (clock.today(), "Wynn Technician", "open")
    clean(phone)
    shot(phone, "called")
    phone.get_by_role("link", name="Add their words").click()
    phone.get_by_label("Who is calling").fill("Her son")
    phone.get_by_label("In their words").fill("It drips on the piano")
    phone.get_by_role("button", name="Save call").click()
    expect(phone.get_by_text("It drips on the piano")).to_be_visible()
    call.refresh_from_db()
    assert (call.caller, call.said) == ("Her son", "It drips on the piano")
    phone.goto(f"/units/{unit.pk}")
    expect(phone.locator(".glance")).to_contain_text(f"Water, {in_words(clock.today())}: open")
