"""What is due in a real browser: recorded in one step by keyboard and by thumb, taken back, and nobody shut out."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.care.actions import care_sheets
from fleet.derived import recheck
from fleet.rules.dates import add_months, in_words
from tests import company
from tests.browser.waiting import unfold_page
from tests.caring import entry

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CHECKED = {"checked_on": dt.date(2026, 1, 1), "cautions": ["Power off and locked out before the cover is opened."]}
SHEET = {
    "code": "ours-1",
    "task": [
        entry("coil", title="Clean the coil", dirt="coil", **CHECKED),
        entry("drain", title="Clear the drain line", per="drain line", **CHECKED),
        entry("wash", title="Wash the filter", by="owner", every_months=1, early_days=7, late_days=14, **CHECKED),
    ],
}


@pytest.fixture
def unit(live) -> models.Unit:
    """A head that is due today, one of eight at its site."""
    company.on_file()
    today = clock.today()
    began = add_months(today, -12).isoformat()
    made = [company.unit(f"SB-{number}", room=f"Room {number}", started_on=began) for number in range(1, 9)]
    care_sheets.load_table(SHEET, on=today)
    return made[0]


def test_nobody_is_shut_out(desk: Page, unit, log_in, seen):
    log_in(desk, "technician")
    site = unit.system.site_id
    for address in (
        "/due",
        "/due?listed=by+site",
        f"/sites/{site}/care",
        f"/units/{unit.pk}/care?task=coil",
    ):
        desk.goto(address)
        seen(desk)


def test_a_due_is_found_done_and_taken_back_by_keyboard(unit, desk: Page, log_in):
    log_in(desk, "office")
    desk.goto("/due")
    expect(desk.get_by_text("16 maintenance tasks can be done now.")).to_be_visible()
    desk.get_by_role("link", name="By site").focus()
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    desk.get_by_role("row").filter(has_text="Odile Marsh").get_by_role("link", name="Home").focus()
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    desk.get_by_role("button", name="Clean the coil, Room 1").focus()
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    following = in_words(add_months(clock.today(), 12))
    expect(desk.get_by_role("status").filter(has_text="Recorded")).to_contain_text(
        f"Recorded: Clean the coil, Room 1. Next due {following}."
    )
    expect(desk.get_by_text("15 maintenance tasks can be done now.")).to_be_visible()
    desk.get_by_role("button", name="Undo", exact=True).focus()
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    expect(desk.get_by_text("16 maintenance tasks can be done now.")).to_be_visible()
    assert list(recheck.differences(on=clock.today())) == []


def test_a_technician_records_what_they_saw_with_a_thumb(unit, phone: Page, log_in):
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}")
    unfold_page(phone)
    button = phone.get_by_role("button", name="Clean the coil, Room 1")
    assert button.bounding_box()["height"] >= 44
    phone.get_by_role("link", name="Clean the coil, Room 1").click()
    expect(phone.get_by_text("Power off and locked out")).to_be_visible()
    phone.get_by_label("Dirt on the coil").select_option("2, heavy")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_role("status").filter(has_text="Recorded")).to_be_visible()
    record = models.MaintenanceRecord.objects.get()
    assert (record.dirt_coil, record.technician) == (2, "Wynn Technician")
