"""A new company in a browser alone: from an empty database to its first answer by its own terms, by keyboard."""

import datetime as dt
import re
import threading
from pathlib import Path

import pytest
from django.db import connection
from playwright.sync_api import Page, expect

from fleet import clock, models, tasks
from fleet.coverage.actions import terms
from fleet.derived import recheck
from fleet.office.actions import first_owner
from fleet.rules.dates import add_months, in_words
from fleet.web import access

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TERMS = """
code = "workmanship-1"
payer = "installer"
maker = "*"
title = "Our workmanship"
models = ["*"]
installed_from = 2000-01-01
checked_on = {today}
source = {{ title = "Our proposal" }}
starts = [{{ from = "started_on" }}]
[[coverage]]
pays_for = ["labor"]
components = ["*"]
tiers = [{{ months = 24 }}]
"""
COLUMNS = "customer,phone,site,street,city,region,postcode,use,system,role,style,room,maker,model,serial,started_on,installed_on"


@pytest.fixture
def empty(live, settings, tmp_path) -> Path:
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "media"
    return tmp_path


def drain() -> None:
    """Do what waits as the web process does: in a thread of its own."""

    def work() -> None:
        tasks.drain()
        connection.close()

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()


class Hand:
    """Somebody at the keys: nothing here is clicked."""

    def __init__(self, page: Page, seen) -> None:
        self.page, self._seen, self._looks = page, seen, 0

    def look(self) -> None:
        """The page shuts nobody out, and is no wider than the screen."""
        self._looks += 1
        self._seen(self.page, f"new-{self._looks}")

    def type(self, **told: str) -> None:
        """Type into fields by their names."""
        for name, text in told.items():
            field = self.page.locator(f"[name={name}]:not([type=hidden])")
            field.focus()
            self.page.keyboard.press("ControlOrMeta+a")
            self.page.keyboard.type(text)

    def go(self, role: str, name: str) -> None:
        """Press a button or follow a link, and wait for the page that follows."""
        self.page.get_by_role(role, name=name, exact=True).first.focus()
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def back(self) -> None:
        self.go("link", "Back to the first steps")

    def expect(self, words: str) -> None:
        expect(self.page.locator("main")).to_contain_text(words)


def written(hand: Hand, folder: Path, today: dt.date) -> None:
    """Our own terms come on file."""
    file = folder / "workmanship.toml"
    file.write_text(TERMS.format(today=today))
    if "terms_write" not in access.table():
        terms.load_files([file], by=None, on=today)
        hand.page.reload()
        return
    hand.go("link", "Terms")
    hand.go("link", "Write terms")
    hand.page.get_by_text("Start from a file").focus()
    hand.page.keyboard.press("Enter")
    hand.page.locator("[name=file]").set_input_files(file)
    hand.go("button", "Fill the form from this file")
    hand.go("button", "Put these terms in force")
    hand.expect("In force: Our workmanship.")
    hand.back()


def test_from_nothing_to_the_first_answer(desk: Page, empty, seen):
    """What the pages show once there is something on file, the tests of each look at: here, what only a new company sees."""
    page = desk
    hand, today = Hand(page, seen), clock.today()
    page.goto("/")
    hand.look()
    hand.go("link", "Make the first owner’s login")
    hand.look()
    hand.type(
        code=first_owner.code(),
        first_name="Marit",
        username="marit",
        password="mossy lantern 47",
        again="mossy lantern 47",
    )
    hand.go("button", "Make the owner’s login")
    expect(page.get_by_role("heading", name="First steps")).to_be_visible()
    hand.expect("0 of 6 done.")
    hand.look()

    hand.go("link", "Your company")
    hand.type(name="Birch & Fell Heating", phone="555-0100", license_number="KY-HV-771")
    hand.go("button", "Save company")
    hand.expect("Saved.")
    hand.back()
    hand.expect("1 of 6 done.")

    written(hand, empty, today)

    hand.go("link", "Care sheet")
    hand.look()
    hand.go("button", "Begin with the one that comes with the program")
    hand.go("link", "Clear the drain line")
    hand.type(minutes="20", price="60")
    hand.go("button", "Save task")
    hand.go("link", "Look it over")
    hand.go("button", "Put this care sheet in force")
    hand.expect("house-2026 is in force.")
    hand.back()

    hand.go("link", "Hours and rates")
    hand.type(hourly_rate="110")
    hand.go("button", "Save")
    hand.back()

    hand.go("button", "Leave out People")
    hand.expect("5 of 6 done.")

    hand.go("link", "Your customers and units")
    sheet = empty / "units.csv"
    row = "Odile Marsh,555-0199,Home,7 Tar Lane,Brackwater,US-KY,40999,owner home,Whole house,head,wall,Den,Northrill,NH-9,SB-1002"
    sheet.write_text(f"{COLUMNS}\n{row},{add_months(today, -12)},{add_months(today, -12)}\n")
    page.get_by_label("File (CSV or XLSX)").set_input_files(sheet)
    hand.go("button", "Upload")
    drain()
    page.reload()
    hand.expect("Nothing is wrong with it")
    hand.go("button", "Import")
    drain()
    page.reload()
    hand.expect("Imported.")
    hand.back()
    hand.expect("All done.")
    hand.look()

    # The look-up stands on every page, one key away; then who pays, by the company's own terms.
    page.keyboard.press("/")
    page.keyboard.type("SB-1002")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    if not page.url.split("?")[0].rsplit("/", 1)[-1].isdigit():
        page.get_by_role("link", name="SB-1002").first.focus()
        with page.expect_navigation():
            page.keyboard.press("Enter")
    expect(page.locator("#answer")).to_contain_text(in_words(add_months(today, 12)))
    unit = models.Unit.objects.get()
    (kept,) = models.CoverageRow.objects.filter(unit=unit)[:1]
    assert kept.payer == "installer"
    assert models.DueRow.objects.filter(unit=unit, task="drain clearing").get().minutes == 20
    assert list(recheck.differences(on=today)) == []
    # By now nothing leads to the first steps any more.
    page.goto("/")
    expect(page).to_have_url(re.compile("/the-year-ahead$"))
