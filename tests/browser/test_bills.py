"""Bills of agreements and promises of our own in a real browser: on every page nobody is shut out, and keys alone do."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.business.actions import agreements, bills, own_promises
from fleet.care.actions import care_sheets
from fleet.rules.dates import add_months
from tests import company
from tests.browser.waiting import open_all
from tests.caring import entry

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHEET = {
    "code": "ours-1",
    "setup_minutes": 30,
    "task": [entry("coil", title="Clean the coil", minutes=45, price="95.00", checked_on=dt.date(2026, 1, 1))],
}


@pytest.fixture
def made(live) -> models.Agreement:
    """Billed upfront for a year that began six months ago; a third head was added a month ago."""
    company.on_file()
    today = clock.today()
    for number, months in ((1, 12), (2, 12), (3, 1)):
        began = add_months(today, -months).isoformat()
        company.unit(f"OB-{number}", room=f"Room {number}", started_on=began, installed_on=began)
    care_sheets.load_table(SHEET, on=today)
    site = models.Site.objects.get(customer__name="Odile Marsh")
    facts = {
        "reference": "A-1", "start_on": add_months(today, -6), "months": 12, "visits_per_year": 1, "first_head": 120,
        "further_head": 80, "discount_percent": 0, "billing": "upfront", "renews": "by asking", "rise_percent": 0, "notes": "",
    }  # fmt: skip
    return agreements.make(site.pk, facts=facts, by=None, on=today)


def test_nobody_is_shut_out(desk: Page, made, log_in, seen):
    page = desk
    today, how = clock.today(), {"by": None, "on": clock.today()}
    first = add_months(today, -6)
    unsent = f"/agreements/{made.pk}/bill?kind=term&first={first.isoformat()}"
    log_in(page, "owner")
    page.goto(unsent)
    seen(page)
    last = add_months(first, 12) - dt.timedelta(days=1)
    bill = bills.send(
        made.pk, kind="term", first=first, last=last, amount=200, billed_on=first, number="A long number 17", **how
    )
    bills.pay(bill.pk, paid_on=today, amount=50, note="Check 412", **how)
    promise = own_promises.make(
        made.site_id,
        facts={
            "system_id": None, "words": "Should this size not carry the house, we change it.", "conditions": "Doors closed.",
            "made_by": "Wynn", "made_on": today, "until": add_months(today, 24), "cost_at_most": 4200,
        },
        **how,
    )  # fmt: skip
    agreements.end(made.pk, day=today, why="Sold the house", **how)
    for address in (
        f"/agreements/{made.pk}",
        "/agreements/to-decide",
        "/agreements/bills",
        f"/agreement-bills/{bill.pk}",
        "/our-promises",
        f"/our-promises/{promise.pk}",
        f"/sites/{made.site_id}/promise",
        f"/sites/{made.site_id}",
    ):
        page.goto(address)
        open_all(page)
        seen(page)


def test_a_bill_is_recorded_and_paid_by_keys_alone(made, desk: Page, log_in):
    def press(role, name):
        desk.get_by_role(role, name=name).first.focus()
        with desk.expect_navigation():
            desk.keyboard.press("Enter")

    log_in(desk, "office")
    desk.goto("/agreements")
    press("link", "A-1")
    press("button", "Bill the added heads")
    expect(desk.get_by_text("The added heads will be billed.")).to_be_visible()
    press("link", "Record as sent")
    desk.get_by_label("Bill number").focus()
    desk.keyboard.type("17")
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    expect(desk.get_by_text("Bill recorded.")).to_be_visible()
    press("link", "Open bill")
    press("button", "Record payment")
    expect(desk.get_by_text("Payment recorded.")).to_be_visible()
    expect(desk.get_by_text("; paid.")).to_be_visible()
    press("button", "Undo payment")
    expect(desk.get_by_text("No payments yet.")).to_be_visible()
