"""From a failure on a phone to the owner's figures: recorded, claimed, filed, credited in two parts; and a payer's statement."""

from decimal import Decimal

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from fleet.derived import recheck
from fleet.rules.claims import State
from tests import claimed, company
from tests.browser.waiting import open_all

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def unit(live) -> models.Unit:
    company.on_file(claimed.PAYS)
    models.House.objects.create(pk=1, hourly_rate=Decimal("85.00"))
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return made


def narrow_enough(page: Page) -> None:
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0


def press(page: Page, name: str) -> None:
    """Press a button by keyboard and wait for the page that follows."""
    page.get_by_role("button", name=name, exact=True).first.focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")


def take_step(page: Page, title: str, amount: str, day: str) -> None:
    step = page.get_by_role("form", name=title, exact=True)
    if not step.is_visible():
        page.locator("summary", has_text=title).first.focus()
        page.keyboard.press("Enter")
    step.get_by_label("On", exact=True).fill(day)
    step.get_by_label("in dollars").fill(amount)
    step.get_by_role("button", name=title, exact=True).focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    if (missing := step.get_by_label("That is right: record it anyway")).is_visible():
        missing.check()
        press(page, title)


def test_a_failure_on_a_phone_ends_in_the_owner_s_figures(unit, phone: Page, desk: Page, log_in):
    log_in(phone, "technician")
    phone.goto(f"/units/{unit.pk}")
    phone.get_by_role("link", name="Record a failure").first.click()
    phone.get_by_role("combobox", name="What failed").select_option("sensor")
    phone.get_by_label("Found on", exact=True).fill("2026-02-24")
    phone.get_by_role("combobox", name="Cause").select_option("manufacturing defect")
    phone.get_by_text("The repair, if it is done").click()
    phone.get_by_label("Repaired on", exact=True).fill("2026-02-25")
    phone.get_by_label("Labor, minutes", exact=True).fill("150")
    phone.get_by_label("New part number", exact=True).fill("SN-88")
    phone.get_by_label("New part picked up on", exact=True).fill("2026-02-25")
    phone.get_by_label("Parts cost, $", exact=True).fill("200.00")
    narrow_enough(phone)
    phone.get_by_role("button", name="Record the failure").click()
    expect(phone.locator("h1")).to_have_text("Sensor failed on February 24, 2026")
    failure = models.Failure.objects.get()

    log_in(desk, "office")
    desk.goto(f"/failures/{failure.pk}")
    press(desk, "Open a claim with Northrill")
    claim = models.Claim.objects.get()
    assert (claim.failure, claim.kinds, claim.expected) == (failure, "parts;labor", Decimal("377.00"))
    desk.goto(f"/claims/{claim.pk}")
    take_step(desk, "File this claim", "377.00", "2026-02-26")
    take_step(desk, "Record approval in full", "377.00", "2026-02-27")
    take_step(desk, "Record a credit", "277.00", "2026-02-28")
    expect(desk.locator("p.lead")).to_contain_text("$277.00 has been credited and $100.00 is still to come")
    desk.goto("/money")
    expect(desk.locator("p.lead")).to_contain_text(
        "payers credited $277.00; $100.00 is outstanding with payers; we bear $35.50 ourselves."
    )
    expect(desk.locator("p.lead")).to_contain_text("Of these failures, 1 claim is outstanding.")
    desk.goto(f"/claims/{claim.pk}")
    take_step(desk, "Record a credit", "100.00", "2026-03-02")
    claim.refresh_from_db()
    assert (claim.state, claim.credited) == (State.CREDITED, Decimal("377.00"))

    log_in(desk, "owner")
    desk.goto("/money")
    expect(desk.locator("p.lead")).to_contain_text(
        "cost us $412.50: payers credited $377.00; we bear $35.50 ourselves."
    )
    expect(desk.locator("p.lead")).to_contain_text("No claim on these failures is outstanding.")
    # Two hours and a half at 85.00 are 212.50; the payer pays 72.00 + 1.25 x 88.00 = 182.00.
    expect(desk.get_by_text("payers should pay $182.00 of it.")).to_be_visible()
    assert [str(one) for one in recheck.differences(on=company.TODAY)] == []


def statement(tmp_path, *rows: str) -> str:
    path = tmp_path / "march.csv"
    path.write_text("reference,number,day,amount,text\n" + "".join(f"{row}\n" for row in rows))
    return str(path)


def test_a_statement_is_taken_and_what_is_left_of_it_decided_by_keyboard(unit, desk: Page, log_in, tmp_path):
    first = claimed.approved(claimed.failure(unit, "2026-02-01"), "120.00", "NR-1")
    second = claimed.approved(claimed.failure(unit, "2026-02-02"), "80.00", "NR-2")
    log_in(desk, "office")
    desk.goto("/statements")
    desk.get_by_label("The payer’s file of credits").set_input_files(
        statement(tmp_path, "NR-1,,2026-02-27,120.00,", "NR-2,,2026-02-27,50.00,", "NR-9,,2026-02-27,12.00,Goodwill")
    )
    press(desk, "Import the statement")
    expect(desk.locator("p.lead")).to_have_text("Of 3 credits, 1 is booked: $120.00. 2 are for you to decide: $62.00.")
    press(desk, "Book $50.00 on this claim")  # the part that is proposed is chosen already
    expect(desk.get_by_role("status").filter(has_text="Row 3")).to_have_text(f"Row 3 is booked on claim {second.pk}.")
    press(desk, "Set this credit aside")
    expect(desk.locator(".left .fault")).to_have_text("Say why you are setting it aside.")
    desk.get_by_label("Set it aside because").fill("It belongs to another branch.")
    press(desk, "Set this credit aside")
    expect(desk.locator("p.lead")).to_have_text("Of 3 credits, 2 are booked: $170.00. 1 is set aside: $12.00.")
    for claim, state, credited in ((first, State.CREDITED, "120.00"), (second, State.APPROVED, "50.00")):
        claim.refresh_from_db()
        assert (claim.state, claim.credited) == (state, Decimal(credited))
    assert [str(one) for one in recheck.differences(on=company.TODAY)] == []


def test_nobody_is_shut_out(desk: Page, unit, log_in, seen, tmp_path):
    page = desk
    claimed.approved(claimed.failure(unit, "2026-02-01"), "120.00", "NR-1")
    denied = claimed.claim(claimed.failure(unit, "2026-02-02"))
    claimed.step(denied, State.FILED, "2026-02-03", "377.00")
    claimed.step(denied, State.DENIED, "2026-02-10", reason="Photo was blurred.")
    log_in(page, "owner")
    page.goto("/statements")
    page.get_by_label("The payer’s file of credits").set_input_files(
        statement(tmp_path, "NR-1,,2026-02-27,50.00,", ",SB-1002,2026-02-27,12.00,A text", "NR-9,,2026-02-27,-8.00,")
    )
    press(page, "Import the statement")
    for address in (page.url, "/statements", "/money", "/calendars"):
        page.goto(address)
        if address == "/calendars":
            page.get_by_label("For which phone or desk").fill("Desk by the window")
            press(page, "Make a private link")
        open_all(page)
        seen(page)
