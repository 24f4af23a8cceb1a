"""The frame in a real browser: the look-up from anywhere, lists that narrow as you choose, nobody shut out."""

import re

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.rules.dates import DAY, add_months
from tests import company
from tests.browser.conftest import FOUR
from tests.browser.waiting import when

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def there(live):
    """Three units; the promises of two end within 30 days of whatever day it is."""
    today = clock.today()
    company.on_file()
    for serial, days, customer in (
        ("SB-1002", 18, "Aldo Quist"),
        ("TC-2001", 10, "Brit Sørby"),
        ("UD-3003", 200, "Cato"),
    ):
        started = add_months(today + days * DAY, -60).isoformat()
        company.unit(serial, started_on=started, installed_on=started, customer=customer, registered_on=started)
    company.worked_out(today)


THUMBS = "button, input:not([type=hidden]), select, summary, nav a, .files a, .finds a"
EVERYBODY = ("/look-up", "/look-up?text=tar", "/look-up?text=nothing", "/no-such-page")
OFFICE = ("/coverage-ending", "/coverage-ending?payer=labor plan", "/terms", "/terms/{}", "/terms/{}/units")


def test_nobody_is_shut_out(desk: Page, there, log_in, seen):
    desk.goto("/login")
    seen(desk, on=FOUR)
    terms = models.Terms.objects.get(code="northrill-1").pk
    log_in(desk, "owner")
    for address in OFFICE:
        desk.goto(address.format(terms))
        seen(desk, thumbs=THUMBS if address in ("/coverage-ending", "/terms") else "")
    for address in EVERYBODY:
        desk.goto(address)
        seen(desk, on=FOUR, thumbs=THUMBS if address == "/look-up?text=tar" else "")
    log_in(desk, "technician")
    desk.goto("/coverage-ending")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Not for your role")
    seen(desk, on=FOUR)


def test_a_key_reaches_the_look_up_and_arrows_what_it_found(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/terms")
    desk.keyboard.press("/")
    expect(desk.locator("#lookup")).to_be_focused()
    desk.keyboard.type("5B-1OO2")
    expect(desk.locator("#found a")).to_have_count(1)
    expect(desk.locator("#told")).to_have_text("1 found")
    expect(desk).to_have_url(re.compile("/terms$"))
    desk.keyboard.press("ArrowDown")
    expect(desk.locator("#found a").first).to_be_focused()
    desk.keyboard.press("ArrowUp")
    desk.keyboard.press("Escape")
    expect(desk.locator("#found a")).to_have_count(0)
    expect(desk.locator("#lookup")).to_have_value("")
    # Where somebody writes, the key is a letter like any other.
    desk.locator("#id_text").fill("a")
    desk.locator("#id_text").press("/")
    expect(desk.locator("#id_text")).to_have_value("a/")


def test_a_list_narrows_as_somebody_chooses_and_the_address_follows(desk: Page, there, log_in):
    log_in(desk, "owner")
    desk.goto("/coverage-ending")
    expect(desk.locator("#lead")).to_contain_text("2 coverages end in the next 30 days, the first on")
    expect(desk.locator("#list tbody tr")).to_have_count(2)
    desk.get_by_label("Ends in the next").select_option("year")
    expect(desk.locator("#list tbody tr")).to_have_count(3)
    expect(desk.locator("#lead")).to_contain_text("3 coverages end in the next year")
    desk.get_by_label("Serial, model, site or customer has").press_sequentially("brit")
    expect(desk.locator("#list tbody tr")).to_have_count(1)
    expect(desk.get_by_label("Serial, model, site or customer has")).to_be_focused()
    for said in ("days=365", "text=brit"):
        expect(desk).to_have_url(re.compile(said))
    expect(desk.locator(".files a").first).to_have_attribute("href", re.compile(r"^\?days=365"))


def test_the_way_back_shows_the_whole_page_as_it_was(desk: Page, there, log_in):
    log_in(desk, "owner")
    desk.goto("/coverage-ending")
    desk.get_by_label("Ends in the next").select_option("year")
    expect(desk.locator("#list tbody tr")).to_have_count(3)
    desk.evaluate("() => history.back()")
    expect(desk.locator("#list tbody tr")).to_have_count(2)
    expect(desk.locator("main")).to_have_count(1)
    expect(desk.get_by_label("Ends in the next")).to_have_value("30")


def test_what_is_chosen_while_the_page_still_arrives_narrows_the_list(desk: Page, there, log_in):
    log_in(desk, "owner")
    held = []
    desk.route("**/htmx*.js", lambda route: held.append(route))
    desk.goto("/coverage-ending?days=90", wait_until="commit")
    desk.get_by_label("Payer").select_option("maker")
    expect(desk.locator("#list tbody tr")).to_have_count(2)
    when(desk, lambda: held)
    held[0].continue_()
    expect(desk).to_have_url(re.compile("payer=maker"))
    expect(desk.locator("#list tbody tr")).to_have_count(2)
    # Going back shows what stood there: nothing is put back into the form, which would narrow the list once more.
    desk.unroute("**/htmx*.js")
    desk.evaluate("() => history.back()")
    expect(desk).to_have_url(re.compile(r"/coverage-ending\?days=90$"))
    expect(desk.get_by_label("Payer")).to_have_value("")
    desk.wait_for_timeout(800)
    expect(desk).to_have_url(re.compile(r"/coverage-ending\?days=90$"))


def test_everything_works_without_scripts(chromium, there, live, log_in):
    context = chromium.new_context(base_url=live.url, java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    log_in(page, "owner")
    page.goto("/coverage-ending")
    page.get_by_label("Ends in the next").select_option("year")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("#list tbody tr")).to_have_count(3)
    page.get_by_label("Look-up").fill("tar")
    page.get_by_role("button", name="Look up").click()
    expect(page.locator("#found li > a")).to_have_count(3)  # below each, its unit
    context.close()


def test_on_a_phone_the_list_comes_before_its_filters(phone: Page, there, log_in):
    log_in(phone, "owner")
    phone.goto("/coverage-ending")
    expect(phone.get_by_label("Payer")).to_be_hidden()
    phone.get_by_text("Narrow or sort this list").click()
    expect(phone.get_by_label("Payer")).to_be_visible()
    phone.get_by_label("Sort by").select_option("-last_day")
    expect(phone.locator("#list tbody tr").first).to_contain_text("SB-1002")


def test_a_server_that_does_not_answer_is_said(desk: Page, there, log_in):
    log_in(desk, "owner")
    desk.goto("/coverage-ending")
    desk.context.set_offline(True)
    desk.get_by_label("Payer").select_option("maker")
    expect(desk.locator("#told")).to_contain_text("The server cannot be reached.")
    expect(desk.locator("#list tbody tr")).to_have_count(2)
    desk.context.set_offline(False)


def test_somebody_whose_session_ended_is_taken_to_the_login_and_back(desk: Page, there, log_in):
    log_in(desk, "owner")
    desk.goto("/coverage-ending?days=90")
    desk.context.clear_cookies()
    desk.get_by_label("Payer").select_option("maker")
    expect(desk).to_have_url(re.compile(r"/login\?next=/coverage-ending"))
    desk.get_by_label("Username").fill("owner")
    desk.get_by_label("Password").fill("quiet-ledger-9")
    desk.get_by_role("button", name="Log in").click()
    expect(desk).to_have_url(re.compile(r"/coverage-ending\?days=90"))


def test_a_check_is_recorded_and_undone(desk: Page, there, log_in):
    log_in(desk, "office")
    desk.goto("/terms")
    desk.get_by_role("link", name="Ductless statement").first.click()
    desk.get_by_label("What you saw").fill("unchanged")
    desk.get_by_role("button", name="Record a check today").click()
    expect(desk.get_by_text("Check recorded.")).to_be_visible()
    expect(desk.locator(".plainlist")).to_contain_text("Wynn Office: unchanged")
    desk.get_by_role("button", name="Undo").click()
    expect(desk.get_by_text("Check undone.")).to_be_visible()
    expect(desk.locator(".plainlist")).not_to_contain_text("unchanged")
