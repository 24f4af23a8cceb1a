"""A failure recorded on a phone and corrected at a desk: by keyboard, with the answer beside it, in light and dark."""

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from fleet.claims.actions import failures as actions
from tests import company
from tests.browser.waiting import open_all, when

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def unit():
    company.on_file(company.MAKER | {"excludes_causes": ["misuse"]}, company.OURS)
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den", refrigerant="R-410A")
    company.worked_out()
    return made


def no_wider_than_the_screen(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_technician_records_one_on_a_phone(phone, unit, log_in):
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}")
    begin = phone.get_by_role("link", name="Record a failure")
    box = begin.bounding_box()
    assert box["height"] >= 44
    assert box["width"] >= 300
    begin.click()
    expect(phone.locator("h1")).to_have_text("Record a failure")
    no_wider_than_the_screen(phone)
    # The answer follows what is chosen, before anything is saved.
    parts = phone.locator('#answer [data-kind="parts"]')
    expect(parts).to_have_attribute("data-pays", "maker")
    phone.get_by_label("Cause").select_option("misuse")
    expect(parts).to_have_attribute("data-pays", "customer")
    phone.get_by_label("Cause").select_option("wear")
    expect(parts).to_have_attribute("data-pays", "maker")
    phone.get_by_text("What was measured").click()
    phone.get_by_label("Measured").first.select_option("indoor relative humidity")
    phone.get_by_label("Value").first.fill("72")
    phone.get_by_label("Notes").click()
    expect(phone.locator("#answer .warned")).to_contain_text("72% is over 60%: mold can grow")
    phone.get_by_text("The repair, if it is done").click()
    assert not models.Failure.objects.exists()
    phone.get_by_role("button", name="Record the failure").click()
    expect(phone.locator("h1")).to_have_text("Indoor coil failed on March 2, 2026")
    no_wider_than_the_screen(phone)
    failure = models.Failure.objects.get()
    assert (failure.cause, failure.readings.get().measure) == ("wear", "%")


def test_what_is_chosen_while_the_page_still_arrives_is_answered(phone, unit, log_in):
    """On a slow connection the form stands before the scripts do; the answer must not stay that of another cause."""
    log_in(phone, "technician")
    held = []
    phone.route("**/htmx*.js", lambda route: held.append(route))
    phone.goto(f"/units/{unit.pk}/failure", wait_until="commit")
    parts = phone.locator('#answer [data-kind="parts"]')
    expect(parts).to_have_attribute("data-pays", "maker")
    phone.get_by_label("Cause").select_option("misuse")
    when(phone, lambda: held)
    held[0].continue_()
    expect(parts).to_have_attribute("data-pays", "customer")


def test_the_keyboard_alone_records_and_enter_saves(desk, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}/failure")
    desk.get_by_label("What failed").focus()
    desk.keyboard.type("sensor")
    desk.get_by_label("Fault code").focus()
    desk.keyboard.type("E7")
    desk.keyboard.press("Enter")
    expect(desk.locator("h1")).to_have_text("Sensor failed on March 2, 2026")
    assert models.Failure.objects.get().fault_code == "E7"
    desk.get_by_role("link", name="Correct").focus()
    desk.keyboard.press("Enter")
    expect(desk.locator("h1")).to_have_text("Correct: Sensor failed on March 2, 2026")
    desk.get_by_label("Fault code").focus()
    desk.keyboard.press("Control+A")
    desk.keyboard.type("E9")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Fault code: E7 to E9")).to_be_visible()


def test_without_scripts_the_answer_comes_by_its_button(chromium, live, unit, log_in):
    with chromium.new_context(base_url=live.url, java_script_enabled=False) as context:
        page = context.new_page()
        log_in(page, "technician")
        page.goto(f"/units/{unit.pk}/failure")
        page.get_by_label("Cause").select_option("misuse")
        page.get_by_label("Fault code").fill("E7")
        page.get_by_role("button", name="See who pays").click()
        expect(page.locator('#answer [data-kind="parts"]')).to_have_attribute("data-pays", "customer")
        expect(page.get_by_label("Fault code")).to_have_value("E7")
        page.get_by_text("The repair, if it is done").click()
        page.get_by_label("Repaired on").fill("2026-03-02")
        page.get_by_label("How the whole unit was exchanged").select_option("yes")
        page.get_by_label("Serial of the new unit").fill("N-1")
        page.get_by_role("button", name="Record the failure").click()
        expect(page.get_by_text("The whole unit was exchanged for N-1.")).to_be_visible()


def test_every_page_of_a_failure_shuts_nobody_out(desk, unit, log_in, seen):
    told = {"component": "sensor", "failed_on": "2026-02-20", "repaired_on": "2026-02-24", "parts_cost": "84.50"}
    failure = actions.record(unit.pk, told, measured=[{"reading": "amps", "value": "7"}], by=None, on=company.TODAY)
    log_in(desk, "office")
    for address in (
        f"/failures/{failure.pk}",
        f"/failures/{failure.pk}/correct",
        f"/failures/{failure.pk}/repair",
        f"/units/{unit.pk}/failure",
        "/failures",
    ):
        desk.goto(address)
        open_all(desk)
        seen(desk)
    actions.void(failure.pk, reason="another unit", by=None, on=company.TODAY)
    desk.goto(f"/failures/{failure.pk}")
    expect(desk.locator("h1 s")).to_have_text("Sensor failed on February 20, 2026")
    seen(desk)
