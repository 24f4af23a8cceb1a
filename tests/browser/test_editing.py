"""Putting a fact right, telling what became of a unit, and a house sold: in a browser, with the keyboard alone."""

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from tests import company
from tests.browser.waiting import open_all
from tests.registry.web.test_editing import TRANSFER

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def unit():
    company.on_file(TRANSFER, company.OURS)
    company.unit("SB-1001", role="outdoor", style="", model="NO-30", started_on="2021-03-10", installed_on="2021-03-09")
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.unit("SB-10O2", started_on="2021-03-20", room="Den 2")
    new = company.unit("NEW-1", customer="Bram Builders", site="Lot 1", installed_on="2026-01-10")
    models.Site.objects.filter(pk=new.system.site_id).update(new_construction=True)
    site = made.system.site
    site.contacts.create(name="Tam Reyes", role="tenant", phone="555-0111", reach="after five")
    company.worked_out()
    return made


def test_the_keyboard_alone_puts_a_fact_right(desk, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}")
    desk.get_by_role("link", name="Correct", exact=True).focus()
    desk.keyboard.press("Enter")
    expect(desk.locator("h1")).to_have_text("Correct Northrill NH-9 SB-1002")
    desk.get_by_label("Room").focus()
    desk.keyboard.press("Control+A")
    desk.keyboard.type("Study")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{desk.url.split('/units')[0]}/units/{unit.pk}")
    desk.get_by_role("link", name="Changes").focus()
    desk.keyboard.press("Enter")
    row = desk.locator("tbody tr").first
    expect(row).to_contain_text("Room")
    expect(row).to_contain_text("Study")
    expect(row).to_contain_text("Wynn Office")


def test_without_scripts_a_unit_is_exchanged(chromium, live, unit, log_in):
    with chromium.new_context(base_url=live.url, java_script_enabled=False) as context:
        page = context.new_page()
        log_in(page, "office")
        page.goto(f"/units/{unit.pk}/life")
        page.get_by_text("It was exchanged").click()
        page.locator("#exchanged_day").fill("2025-01-05")
        page.get_by_label("Serial of the new unit").fill("N-1")
        page.get_by_role("button", name="Record the exchange").click()
        expect(page.locator("details[open] .fault")).to_have_text("Wanted: yes or no.")
        page.get_by_label("How").select_option("yes")
        page.get_by_role("button", name="Record the exchange").click()
        expect(page.locator("h1")).to_contain_text("Northrill NH-9")
        expect(page.get_by_text("whose dates, coverage and maintenance record continue here")).to_be_visible()


def test_nobody_is_shut_out(desk: Page, unit, log_in, seen):
    page = desk
    log_in(page, "office")
    site = unit.system.site_id
    other = models.Unit.objects.get(serial="SB-10O2").pk
    for name, address in {
        "correct": f"/units/{unit.pk}/correct",
        "life": f"/units/{unit.pk}/life",
        "merge": f"/units/{unit.pk}/merge",
        "beside": f"/units/{unit.pk}/merge?with={other}",
        "contacts": f"/sites/{site}/contacts",
        "sold": f"/sites/{site}/sold",
        "houses": "/new-houses",
        "site": f"/sites/{site}",
    }.items():
        page.goto(address)
        if name == "sold" and page.get_by_text("No sale of this house").is_visible():
            page.get_by_label("Sold on").fill("2026-02-20")
            page.get_by_label("New owner").fill("Wren Abbot")
            page.get_by_role("button", name="Record the sale").click()
            expect(page.get_by_text("notify them by March 22, 2026")).to_be_visible()
        open_all(page)
        seen(page, name)
