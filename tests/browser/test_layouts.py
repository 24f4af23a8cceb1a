"""Layouts and what fails in a real browser: figures follow what is typed, by keyboard and by thumb, and nobody is shut out."""

import datetime as dt
import re

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.care.actions import care_sheets
from fleet.rules.dates import add_months
from tests import company
from tests.browser.waiting import open_all
from tests.caring import entry

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CHECKED = {"checked_on": dt.date(2026, 1, 1)}
SHEET = {
    "code": "ours-1",
    "task": [
        entry("wash", title="Wash the filter", by="owner", every_months=1, minutes=10, price="0.00", **CHECKED),
        entry("line", title="Clear the drain line", per="drain line", price="60.00", **CHECKED),
    ],
}


@pytest.fixture
def sheet(live) -> None:
    care_sheets.load_table(SHEET, on=clock.today())


@pytest.fixture
def system(live) -> models.System:
    """A head and an outdoor unit; the head's board failed in its third year."""
    company.on_file()
    began = add_months(clock.today(), -60).isoformat()
    head = company.unit("LB-1", room="Hall", started_on=began)
    made = company.unit("LB-2", role="outdoor", style="", started_on=began, plate_charge_oz=60, refrigerant="R-32")
    models.Failure.objects.create(
        unit=head, component="control board", failed_on=add_months(clock.today(), -36), cause="power"
    )
    company.worked_out(clock.today())
    return made.system


def test_nobody_is_shut_out(desk: Page, sheet, system, log_in, seen):
    log_in(desk, "owner")
    for address in (
        "/layouts",
        "/layouts?years=0",
        "/what-fails",
        "/what-fails?component=control+board",
        f"/systems/{system.pk}/refrigerant",
    ):
        desk.goto(address)
        open_all(desk)
        seen(desk)


def test_figures_follow_what_is_typed_by_keys_alone(desk: Page, sheet, log_in):
    page = desk
    log_in(page, "office")
    page.goto("/layouts")
    expect(page.locator("#compared")).to_contain_text("720 washes by the customer, 60 drain lines cleared")
    page.get_by_label("Years to compare").focus()
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("5")
    expect(page.locator("#compared")).to_contain_text(
        "Over 5 years: 360 washes by the customer, 30 drain lines cleared"
    )
    # On to the wall heads of the first layout: for whom, its name, the heads.
    for _ in range(3):
        page.keyboard.press("Tab")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("8")
    expect(page.locator("#compared")).to_contain_text("8 wall heads on 1 outdoor unit. Over 5 years: 480 washes")
    # The address has it, so that it can be kept and sent.
    expect(page).to_have_url(re.compile("a-wall=8"))
    page.reload()
    expect(page.locator("#compared")).to_contain_text("480 washes by the customer")
    expect(page.get_by_role("img", name="Total cost of each layout")).to_be_visible()
    # What is wrong is said while it is typed.
    page.get_by_label("Name", exact=True).first.fill("")
    expect(page.locator("#compared")).to_contain_text("Layout 1, name: Enter a name")
    page.get_by_label("Name", exact=True).first.fill("Back to the wall")
    expect(page.locator("#compared")).to_contain_text("Back to the wall: 8 wall heads")


def test_without_scripts_it_is_a_form(chromium, live, sheet, log_in):
    context = chromium.new_context(base_url=live.url, java_script_enabled=False)
    page = context.new_page()
    log_in(page, "office")
    page.goto("/layouts")
    page.get_by_label("Wall heads").first.fill("4")
    page.get_by_role("button", name="Compare").click()
    expect(page.locator("#compared")).to_contain_text("4 wall heads on 1 outdoor unit. Over 10 years: 480 washes")
    context.close()


def test_from_the_list_to_a_components_curve(desk, system, log_in):
    log_in(desk, "owner")
    desk.goto("/what-fails")
    desk.get_by_role("link", name="control board").click()
    desk.get_by_text("The curve, its limits and the fit").click()
    expect(desk.get_by_role("img", name="Left without a failure of the control board")).to_be_visible()
    desk.get_by_label("Kind of unit").select_option("outdoor")
    expect(desk.locator("#lead")).to_contain_text("The control board: no failures so far")
    expect(desk.locator("#list [data-title=Unit-years]")).to_have_text("5.0")


def test_refrigerant_is_entered_on_a_phone(phone, system, log_in):
    log_in(phone, "technician")
    phone.goto(f"/sites/{system.site_id}")
    phone.get_by_role("link", name="Refrigerant and start-up").click()
    phone.get_by_label("What was done").select_option("added")
    phone.get_by_label("Weight, in ounces").fill("6")
    phone.get_by_label("Cylinder").fill("C-9")
    phone.get_by_role("button", name="Save entry").click()
    expect(phone.locator("main")).to_contain_text("6 oz (0.38 lb)")
    expect(phone.locator("main")).to_contain_text("10.0% of the full charge a year")
