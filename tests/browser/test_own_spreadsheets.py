"""Two messy spreadsheets brought in by a person in a browser: their actions counted, the result held against a careful person's."""

import threading
from pathlib import Path

import pytest
from django.db import connection
from playwright.sync_api import Page, expect

from fleet import clock, models, tasks
from fleet.coverage.actions import terms
from tests import spreadsheets

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# What a person does: a click, a choice, a text typed, a key.
MOST_ACTIONS = 40
# What nobody minds scrolling through, on a phone too; whatever else there is to see is folded.
TALLEST = 7_000


@pytest.fixture
def empty_house(live, tmp_path, settings) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"
    terms.load_files(spreadsheets.terms(), by=None, on=clock.today())


class Hand:
    """A person at the page; each of their actions is counted."""

    def __init__(self, page: Page, seen, kind: str) -> None:
        self.page, self.actions, self._seen, self._kind, self._looks = page, 0, seen, kind, 0

    def look(self) -> None:
        """The page shuts nobody out, and is no wider than the screen."""
        self._looks += 1
        self._seen(self.page, f"own-{self._kind}-{self._looks}", tallest=TALLEST)

    def choose(self, label: str, option: str) -> None:
        self.actions += 1
        self.page.get_by_label(label, exact=True).select_option(option)

    def tick(self, label: str, *, of: str = "") -> None:
        """By keyboard; where several questions have the same answer, of one of them."""
        self.actions += 1
        where = self.page.get_by_role("region", name=of) if of else self.page
        where.get_by_label(label).focus()
        self.page.keyboard.press("Space")

    def unfold(self, words: str) -> None:
        """By keyboard."""
        self.actions += 1
        self.page.locator("summary", has_text=words).focus()
        self.page.keyboard.press("Enter")

    def upload(self, path: Path) -> None:
        self.actions += 1
        self.page.get_by_label("File (CSV or XLSX)").set_input_files(path)

    def press(self, name: str) -> None:
        """Press a button by keyboard, and wait for the page that follows and for the work behind it."""
        self.actions += 1
        self.page.get_by_role("button", name=name, exact=True).focus()
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")
        drain()

    def open(self, address: str) -> None:
        self.actions += 1
        self.page.goto(address)


def drain() -> None:
    """Do what waits as the web process does: in a thread of its own."""

    def work() -> None:
        tasks.drain()
        connection.close()

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()


def test_a_sheet_of_three_hands_is_brought_in_as_a_careful_person_would(desk: Page, empty_house, log_in, seen):
    page = desk
    log_in(page, "office")
    hand = Hand(page, seen, "csv")
    hand.open("/import")
    hand.upload(spreadsheets.FOLDER / "by-three-hands.csv")
    hand.press("Upload")

    expect(page.get_by_role("heading", name="What do these columns mean?")).to_be_visible()
    hand.look()
    hand.choose("Truck", "do not import it")
    hand.press("Continue")

    expect(page.get_by_role("heading", name="What do these mean?")).to_be_visible()
    hand.look()
    hand.unfold("more, with our guess selected")
    hand.choose("Reg. date: no", "leave it blank")
    hand.press("Continue")

    expect(page.get_by_role("heading", name="Is this right?")).to_be_visible()
    hand.look()
    hand.tick("The same unit: use row 140 and skip the other")
    hand.tick("Different units: use the serial shown for each", of="Serial MB36793374")
    hand.tick("Juno & Orrin Farthingdale")
    hand.tick("Nerys & Silas Ambrell")
    hand.press("Yes, continue")

    expect(page.get_by_text("Nothing is wrong with it. Nothing was imported yet.")).to_be_visible()
    hand.look()
    hand.press("Import")
    expect(page.get_by_text("Imported.", exact=True)).to_be_visible()
    hand.look()
    assert spreadsheets.differences("by-three-hands") == []
    assert hand.actions < MOST_ACTIONS


def test_a_workbook_of_several_sheets_is_brought_in_as_a_careful_person_would(desk: Page, empty_house, log_in, seen):
    page = desk
    log_in(page, "office")
    hand = Hand(page, seen, "xlsx")
    hand.open("/import")
    hand.upload(spreadsheets.FOLDER / "workbook.xlsx")
    hand.press("Upload")

    expect(page.get_by_role("heading", name="Which row names the columns?")).to_be_visible()
    hand.look()
    hand.press("Continue")
    expect(page.get_by_role("heading", name="What do these columns mean?")).to_be_visible()
    hand.look()
    hand.choose("Row ID", "do not import it")
    hand.choose("System is", "one system for each outdoor unit and the units below it")
    hand.press("Continue")

    expect(page.get_by_role("heading", name="What do these mean?")).to_be_visible()
    hand.look()
    hand.choose("Registered: no", "leave it blank")
    hand.press("Continue")
    expect(page.get_by_text("Nothing is wrong with it. Nothing was imported yet.")).to_be_visible()
    hand.look()
    hand.press("Import")
    expect(page.get_by_text("Imported.", exact=True)).to_be_visible()
    hand.look()
    assert spreadsheets.differences("workbook") == []
    assert models.Unit.objects.filter(system__name="System 2").exists()
    assert hand.actions < MOST_ACTIONS
