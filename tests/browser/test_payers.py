"""What a payer said, in a real browser by keys alone: it stands out beside our answer until somebody settles it."""

import pytest
from playwright.sync_api import Locator, Page, expect

from fleet import clock, models
from fleet.derived import recheck
from fleet.rules.dates import in_words
from tests import company
from tests.browser.waiting import unfold_page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def unit(live) -> models.Unit:
    """A unit whose parts are covered for two more years, whatever day it is."""
    company.on_file()
    began = clock.today().replace(year=clock.today().year - 3, day=1).isoformat()
    made = company.unit("SB-1002", room="Long gallery", started_on=began, installed_on=began, registered_on=began)
    company.worked_out(clock.today())
    return made


def tab_to(page: Page, wanted: Locator) -> None:
    """Go on by Tab until what is wanted has the focus, as somebody without a mouse does."""
    expect(wanted).to_be_visible()
    for _ in range(120):
        if wanted.evaluate("(it) => it === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError("no number of tabs leads there")


def enter(page: Page, button: Locator) -> None:
    tab_to(page, button)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_a_difference_stands_out_until_it_is_settled(desk: Page, unit, log_in, seen):
    page = desk
    log_in(page, "office")
    page.goto("/on-our-desk")
    expect(page.get_by_role("heading", name="Payer disagreements")).to_have_count(0)

    page.goto(f"/units/{unit.pk}")
    # Refused first, for what was not chosen: what was typed stays.
    tab_to(page, page.get_by_text("Record what a payer said"))
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_label("Who you spoke with"))
    page.keyboard.type("Dana at the desk")
    enter(page, page.get_by_role("button", name="Record what they said"))
    expect(page.get_by_text("Choose covered or not covered.")).to_be_visible()
    expect(page.get_by_label("Who you spoke with")).to_have_value("Dana at the desk")
    assert not models.PayerWord.objects.exists()
    page.get_by_label("They say").focus()
    page.keyboard.type("not")
    enter(page, page.get_by_role("button", name="Record what they said"))
    said = page.locator("#payers ~ *")
    expect(page.get_by_text("1 disagreement with the terms on file is not settled.")).to_be_visible()
    expect(said.get_by_text("They disagree.")).to_be_visible()
    expect(said.filter(has_text="Dana at the desk").first).to_contain_text(f"on {in_words(clock.today())}")
    expect(said.filter(has_text="Dana at the desk").first).to_contain_text("not covered")
    unfold_page(page)
    seen(page)

    page.goto("/on-our-desk")
    expect(page.get_by_role("heading", name="Payer disagreements")).to_be_visible()
    seen(page)
    there = page.locator("section", has=page.get_by_role("heading", name="Payer disagreements"))
    there.get_by_role("link", name="SB-1002").press("Enter")
    expect(page).to_have_url(f"{page.url.partition('/units/')[0]}/units/{unit.pk}#payers")

    tab_to(page, page.get_by_label("How it was settled"))
    page.keyboard.type("Their list had another serial.")
    enter(page, page.get_by_role("button", name="Mark as settled"))
    expect(page.get_by_text(f"Settled on {in_words(clock.today())}: Their list had another serial.")).to_be_visible()
    expect(page.get_by_text("They disagree.")).to_have_count(0)
    expect(page.get_by_text("is not settled")).to_have_count(0)
    unfold_page(page)
    seen(page)
    page.goto("/on-our-desk")
    expect(page.get_by_role("heading", name="Payer disagreements")).to_have_count(0)

    page.goto(f"/units/{unit.pk}")
    settled = page.locator("li", has_text="Their list had another serial.")
    settled.get_by_role("button", name="Reopen").press("Enter")
    expect(page.get_by_text("They disagree.")).to_be_visible()
    assert list(recheck.differences(on=clock.today())) == []
