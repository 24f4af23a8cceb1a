"""A claim in a real browser: opened, filed, approved and credited in two parts by keys alone; nobody shut out."""

from decimal import Decimal

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from fleet.derived import recheck
from tests import claimed, company
from tests.browser.waiting import open_all

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def failure(live) -> models.Failure:
    """A sensor of January 31, whose old part was to go back by February 22: eight days ago."""
    company.on_file(claimed.STRICT)
    return claimed.failure(failed_on="2026-01-31", repaired_on="2026-02-02", part_taken_on="2026-02-01")


def press(page: Page, name: str) -> None:
    """Press a button by its keys, and come to the page that follows."""
    page.get_by_role("button", name=name, exact=True).focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_a_claim_goes_from_its_failure_to_a_credit_in_two_parts(desk: Page, failure, log_in):
    page = desk
    log_in(page, "office")
    page.goto("/on-our-desk")
    deadlines = page.get_by_role("table", name="The next deadlines")
    overdue = deadlines.locator("tr", has_text="overdue").filter(has_text="Return the old part")
    expect(overdue).to_be_visible()
    overdue.get_by_role("link", name="Return the old part").focus()
    page.keyboard.press("Enter")
    press(page, "Open a claim with Northrill")
    expect(page.locator(".sum")).to_have_text("Expected: $377.00.")
    press(page, "File this claim")
    # The photo of the nameplate is missing: said, and confirmed.
    expect(page.get_by_text("Still missing: photo of the nameplate")).to_be_visible()
    page.get_by_label("That is right: record it anyway").check()
    press(page, "File this claim")
    expect(page.locator(".lead")).to_contain_text("for $377.00. The next move is the payer’s.")
    page.locator("summary", has_text="Record approval in full").focus()
    if not page.get_by_role("button", name="Record approval in full").is_visible():
        page.keyboard.press("Enter")
    press(page, "Record approval in full")
    page.get_by_label("Credited, in dollars").fill("200.00")
    press(page, "Record a credit")
    expect(page.locator(".lead")).to_contain_text("$177.00 is still to come")
    expect(page.get_by_label("Credited, in dollars")).to_have_value("177.00")
    # One that was booked by mistake is taken back by the same keys, and booked once more.
    page.locator("summary", has_text="Undo the latest step").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Why", exact=True).fill("another claim's")
    press(page, "Undo the latest step")
    expect(page.locator(".lead")).to_contain_text("$377.00 is still to come")
    page.get_by_label("Credited, in dollars").fill("200.00")
    press(page, "Record a credit")
    press(page, "Record a credit")
    expect(page.locator(".lead")).to_contain_text("Credited: $377.00 of the $377.00 claimed")
    assert list(recheck.differences(on=company.TODAY)) == []


def test_what_is_refused_stands_at_its_field(failure, desk: Page, log_in):
    log_in(desk, "office")
    desk.goto(f"/failures/{failure.pk}/claims")
    press(desk, "Open a claim with Northrill")
    desk.get_by_label("Claimed, in dollars").fill("9999")
    desk.get_by_label("Note (optional)").first.fill("by mail")
    press(desk, "File this claim")
    # What is missing is asked about first, with all that was typed still there.
    expect(desk.get_by_text("Still missing: photo of the nameplate")).to_be_visible()
    expect(desk.get_by_label("Claimed, in dollars")).to_have_value("9999")
    desk.get_by_label("That is right: record it anyway").check()
    press(desk, "File this claim")
    expect(desk.get_by_text("that was spent and has not been credited yet")).to_be_visible()
    expect(desk.get_by_label("Claimed, in dollars")).to_have_value("9999")
    expect(desk.get_by_label("Note (optional)").first).to_have_value("by mail")


def test_nobody_is_shut_out(desk: Page, failure, log_in, seen):
    log_in(desk, "office")
    claim = claimed.claim(failure)
    models.Supplier.objects.create(name="Pellbrook Parts Counter", fee=Decimal("5.00"))
    for address in (
        "/claims",
        f"/claims/{claim.pk}",
        "/deadlines",
        "/suppliers",
        "/suppliers/add",
        "/on-our-desk",
    ):
        desk.goto(address)
        open_all(desk)
        seen(desk)


def test_a_long_list_is_close_on_a_phone_and_a_ledger_at_a_desk(failure, phone: Page, log_in):
    log_in(phone, "office")
    phone.goto("/deadlines")
    row = phone.locator("tbody tr", has_text="Return the old part")
    expect(row).to_be_visible()
    # What to do takes three lines and the rest four, of which links are as high as a thumb: a line for each title would take more.
    assert row.bounding_box()["height"] < 220
    unit = row.locator("[data-title=Unit]")
    # Heard and not seen: the title goes without saying.
    assert unit.evaluate("cell => getComputedStyle(cell, '::before').content") == '"Unit"'
    assert unit.evaluate("cell => getComputedStyle(cell, '::before').width") == "1px"
    phone.set_viewport_size({"width": 1440, "height": 900})
    heights = [one.bounding_box()["y"] for one in phone.locator("tbody tr").first.locator("th, td").all()]
    assert max(heights) - min(heights) < 2
    expect(phone.get_by_role("columnheader", name="Last day")).to_be_visible()
