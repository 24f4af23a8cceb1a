"""The year ahead and agreements in a real browser: made, renewed and ended by keys alone, hours entered, nobody shut out."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
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
def site(live) -> models.Site:
    """Two sites of two heads each, put in a year ago today."""
    company.on_file()
    began = add_months(clock.today(), -12).isoformat()
    for customer in ("Odile Marsh", "Żofia Łęcka"):
        for number in (1, 2):
            company.unit(f"{customer[0]}B-{number}", customer=customer, room=f"Room {number}", started_on=began)
    care_sheets.load_table(SHEET, on=clock.today())
    return models.Site.objects.get(customer__name="Odile Marsh")


def test_nobody_is_shut_out(desk: Page, site, log_in, seen):
    row = models.Agreement.objects.create(
        site=site, start_on=clock.today(), months=12, visits_per_year=2, first_head=120, further_head=80
    )
    log_in(desk, "owner")
    for address in (
        "/the-year-ahead",
        "/the-year-ahead?ahead=36",
        "/the-year-ahead/on-offer",
        "/agreements",
        f"/agreements/{row.pk}",
        f"/sites/{site.pk}/agreement",
        "/hours-and-rates",
    ):
        desk.goto(address)
        open_all(desk)
        seen(desk)


def test_from_the_offer_to_an_agreement_and_back_by_keys_alone(desk: Page, site, log_in):
    page = desk
    log_in(page, "owner")
    page.goto("/the-year-ahead")
    expect(page.get_by_text("Work to sell: 2 sites without an agreement have work due")).to_be_visible()

    page.goto(f"/sites/{site.pk}")
    page.get_by_role("link", name="New agreement").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.get_by_label("First day", exact=True).focus()
    page.get_by_label("First day", exact=True).fill(clock.today().isoformat())
    for label, text in (("First head", "120"), ("Each further head", "80")):
        page.get_by_label(label).focus()
        page.keyboard.type(text)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.get_by_text("Agreement saved.")).to_be_visible()
    expect(page.get_by_text("1 visit sold this year, 0 made: 1 to go.")).to_be_visible()

    page.goto("/the-year-ahead")
    # It is billed today, in the running month, which stands beside the twelve whole ones.
    expect(
        page.get_by_text(f"The rest of {clock.today():%B %Y} comes on top of that: $200.00 contracted")
    ).to_be_visible()
    expect(page.get_by_text("Work to sell: 1 site without an agreement has work due")).to_be_visible()

    page.goto("/agreements")
    page.get_by_role("link", name="no reference").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.get_by_text("End agreement", exact=True).first.focus()
    page.keyboard.press("Enter")
    page.get_by_label("First day without it").fill(clock.today().isoformat())
    page.get_by_label("Reason").focus()
    page.keyboard.type("Sold the house")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.get_by_text("Sold the house").first).to_be_visible()
    page.get_by_role("button", name="Resume agreement").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.get_by_text("In force since")).to_be_visible()


def test_a_year_of_hours_is_entered_by_keys_and_drawn(site, desk: Page, log_in):
    log_in(desk, "owner")
    following = add_months(clock.today().replace(day=1), 1)
    desk.goto(f"/hours-and-rates?year={following.year}")
    desk.get_by_label(f"{following:%B}", exact=True).focus()
    desk.keyboard.type("1.5")
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    expect(desk.get_by_text("Saved the hours of 1 month.")).to_be_visible()
    desk.goto("/the-year-ahead")
    expect(desk.locator("line.onhand")).to_have_count(1)
    # Further ahead without a new page.
    desk.get_by_role("link", name="36 months").click()
    expect(desk.get_by_text("In the 36 months through")).to_be_visible()
    expect(desk).to_have_url("/the-year-ahead?ahead=36")
