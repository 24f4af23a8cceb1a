"""Terms written in a real browser: at the desk and on a phone, with and without scripts, nobody shut out."""

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.derived import recheck
from tests import company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def unit():
    company.on_file(company.OURS)
    made = company.unit("SB-1002", room="Den", started_on="2024-06-10", installed_on="2024-06-09")
    company.worked_out(clock.today())
    return made


def choose(page: Page, opened: str, *names: str, at: int = 0) -> None:
    """Tick words of a field, which a line opens."""
    field = page.locator("details.written_words", has=page.get_by_text(opened)).nth(at)
    field.locator("summary").click()
    for name in names:
        field.get_by_label(name, exact=True).check()


def test_the_owner_writes_terms_reads_them_back_tries_them_and_puts_them_in_force(desk: Page, unit, log_in, seen):
    page = desk
    log_in(page, "owner")
    page.goto("/terms")
    with page.expect_navigation():
        page.get_by_role("link", name="Write terms").click()
    seen(page)
    page.get_by_label("Title", exact=True).fill("Northrill limited warranty")
    page.get_by_label("Code", exact=True).fill("northrill-2020")
    page.get_by_label("Manufacturer", exact=True).fill("Northrill")
    page.get_by_label("Models, one to a line").fill("NH-*")
    page.get_by_label("For coverage that starts from").fill("2020-01-01")
    page.locator("details.written_part", has_text="Where it says so").locator("summary").click()
    page.get_by_label("Paper", exact=True).fill("Form 12-A")
    page.locator('[id="starts[1].from"]').select_option("started_on")
    choose(page, "Pays for:", "parts")
    choose(page, "Components:", "all components not named elsewhere")
    page.locator('[id="coverage[1].tiers[1].months"]').fill("60")
    # One more term, by a button that draws the page again with everything typed still there.
    page.get_by_role("button", name="Add term to For how long").click()
    expect(page.get_by_label("Title", exact=True)).to_have_value("Northrill limited warranty")
    page.locator('[id="coverage[1].tiers[2].months"]').fill("soon")
    page.get_by_role("button", name="Read it back").last.click()
    expect(page.get_by_role("alert")).to_contain_text("Coverage line 1, Term 2, Months: a whole number from 1 to 1200")
    seen(page)
    page.locator('[id="coverage[1].tiers[2].months"]').fill("120")
    choose(page, "Only if it is:", "installed by a licensed installer", at=1)
    page.get_by_label("Try it on a unit").fill("SB-1002")
    page.get_by_role("button", name="Read it back").last.click()
    said = page.locator("#said")
    expect(said).to_contain_text("Northrill, the manufacturer, covers models NH-*.")
    expect(said).to_contain_text(
        "Parts for all components not named elsewhere: 10 years, if it is installed by a licensed installer."
    )
    expect(said).to_contain_text(
        "The manufacturer pays until June 10, 2029; until June 10, 2034 if it was installed by a licensed installer."
    )
    seen(page)
    assert not models.Terms.objects.filter(code="northrill-2020").exists()
    page.get_by_role("button", name="Put these terms in force").click()
    expect(page.get_by_text("In force: Northrill limited warranty.")).to_be_visible()
    assert models.HoldingRow.objects.filter(unit=unit, terms__code="northrill-2020").exists()
    assert list(recheck.differences(on=clock.today())) == []


def test_without_scripts_it_is_written_by_the_same_buttons(chromium, live, unit, log_in):
    with chromium.new_context(base_url=live.url, java_script_enabled=False) as context:
        page = context.new_page()
        log_in(page, "owner")
        page.goto("/terms/write")
        page.get_by_label("Title", exact=True).fill("Half a paper")
        page.get_by_role("button", name="Add coverage line").click()
        expect(page.get_by_label("Title", exact=True)).to_have_value("Half a paper")
        expect(page.get_by_role("group", name="Coverage line 2")).to_be_visible()
        page.get_by_role("button", name="Remove Coverage line 2 of What is covered").click()
        expect(page.get_by_role("group", name="Coverage line 2")).to_have_count(0)
        expect(page.get_by_label("Title", exact=True)).to_have_value("Half a paper")
