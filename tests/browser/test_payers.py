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


def say_not_covered(page: Page) -> None:
    tab_to(page, page.get_by_text("Record what a payer said"))
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_label("Who you spoke with"))
    page.keyboard.type("Dana at the desk")
    tab_to(page, page.get_by_label("They say"))
    page.keyboard.type("not")
    enter(page, page.get_by_role("button", name="Record what they said"))


def looked_at(page: Page, clean) -> None:
    """Nobody is shut out and nothing is too wide, by day and by night."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        clean(page)
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0


@pytest.mark.parametrize("screen", ["desk", "phone"])
def test_a_difference_stands_out_until_it_is_settled(screen, request, unit, log_in, clean):
    page: Page = request.getfixturevalue(screen)
    log_in(page, "office")
    page.goto("/on-our-desk")
    expect(page.get_by_role("heading", name="Payer disagreements")).to_have_count(0)

    page.goto(f"/units/{unit.pk}")
    unfold_page(page)
    say_not_covered(page)
    if screen == "phone":
        unfold_page(page)
    said = page.locator("#payers ~ *")
    expect(page.get_by_text("1 disagreement with the terms on file is not settled.")).to_be_visible()
    expect(said.get_by_text("They disagree.")).to_be_visible()
    expect(said.filter(has_text="Dana at the desk").first).to_contain_text(f"on {in_words(clock.today())}")
    expect(said.filter(has_text="Dana at the desk").first).to_contain_text("not covered")
    looked_at(page, clean)

    page.goto("/on-our-desk")
    expect(page.get_by_role("heading", name="Payer disagreements")).to_be_visible()
    looked_at(page, clean)
    there = page.locator("section", has=page.get_by_role("heading", name="Payer disagreements"))
    enter(page, there.get_by_role("link", name="SB-1002"))
    expect(page).to_have_url(f"{page.url.partition('/units/')[0]}/units/{unit.pk}#payers")

    tab_to(page, page.get_by_label("How it was settled"))
    page.keyboard.type("Their list had another serial.")
    enter(page, page.get_by_role("button", name="Mark as settled"))
    expect(page.get_by_text(f"Settled on {in_words(clock.today())}: Their list had another serial.")).to_be_visible()
    expect(page.get_by_text("They disagree.")).to_have_count(0)
    expect(page.get_by_text("is not settled")).to_have_count(0)
    looked_at(page, clean)
    page.goto("/on-our-desk")
    expect(page.get_by_role("heading", name="Payer disagreements")).to_have_count(0)

    page.goto(f"/units/{unit.pk}")
    unfold_page(page)
    settled = page.locator("li", has_text="Their list had another serial.")
    enter(page, settled.get_by_role("button", name="Reopen"))
    expect(page.get_by_text("They disagree.")).to_be_visible()
    assert list(recheck.differences(on=clock.today())) == []


def test_what_was_typed_stays_where_it_is_refused(desk: Page, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}")
    tab_to(desk, desk.get_by_text("Record what a payer said"))
    desk.keyboard.press("Enter")
    tab_to(desk, desk.get_by_label("Who you spoke with"))
    desk.keyboard.type("Dana at the desk")
    enter(desk, desk.get_by_role("button", name="Record what they said"))
    expect(desk.get_by_text("Choose covered or not covered.")).to_be_visible()
    expect(desk.get_by_label("Who you spoke with")).to_have_value("Dana at the desk")
    assert not models.PayerWord.objects.exists()
