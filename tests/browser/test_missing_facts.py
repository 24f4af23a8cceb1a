"""Missing information and payers' words in a real browser: by keyboard, at the desk and on a phone, nobody shut out."""

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.derived import recheck
from tests import company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def unit(live) -> models.Unit:
    company.on_file()
    today = clock.today()
    began = today.replace(year=today.year - 3, day=1)
    days = {"started_on": began.isoformat(), "installed_on": began.isoformat(), "registered_on": began.isoformat()}
    made = company.unit("SB-1002", room="Den", **days)
    company.unit("", room="Long gallery over the boat house", style="", customer="Brit Sørby-Halloran", **days)
    company.unit("SB-1004", started_on=None, installed_on=began.isoformat(), customer="Cato Wren")
    company.worked_out(today)
    return made


def test_nobody_is_shut_out(desk: Page, unit, log_in, seen):
    log_in(desk, "office")
    word = {"terms": models.Terms.objects.get(code="northrill-1"), "kind": "parts", "said_on": clock.today()}
    models.PayerWord.objects.create(unit=unit, who="Dana at the desk", covered=False, **word)
    for address in ("/missing-information", "/payers-differ"):
        desk.goto(address)
        seen(desk)


def test_a_fact_is_filled_in_and_undone_by_keyboard(unit, desk: Page, log_in):
    log_in(desk, "office")
    desk.goto("/missing-information")
    row = desk.get_by_role("row").filter(has_text="SB-1002")
    row.get_by_label("Installed by a licensed installer").focus()
    desk.keyboard.type("yes")
    desk.keyboard.press("Tab")
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    expect(desk.get_by_role("status").filter(has_text="longer")).to_contain_text(
        "Coverage of 1 unit runs longer: parts until"
    )
    expect(desk.get_by_role("row").filter(has_text="SB-1002")).to_have_count(0)
    unit.refresh_from_db()
    assert unit.licensed_installer is True
    desk.get_by_role("button", name="Undo").focus()
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    expect(desk.get_by_role("row").filter(has_text="SB-1002")).to_have_count(1)
    assert list(recheck.differences(on=clock.today())) == []
