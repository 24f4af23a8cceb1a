"""Importing in a real browser: by keyboard, at the desk and on a phone, with the work done in the background."""

import itertools
import threading
from pathlib import Path

import pytest
from django.db import connection
from playwright.sync_api import Page, expect

from fleet import models, tasks
from tests import company, sheets

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def sheet(live, tmp_path, settings) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    path = tmp_path / "Units of the workshop.csv"
    path.write_bytes(sheets.as_csv(sheets.row(1, "3/8/2021", car=""), sheets.row(2, "4/9/2021")).read())
    return path


def drain() -> None:
    """Do what waits as the web process does: in a thread of its own."""

    def work() -> None:
        tasks.drain()
        connection.close()

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()


def press(page: Page, name: str) -> None:
    """Press a button by keyboard, and wait for the page that follows."""
    page.get_by_role("button", name=name, exact=True).focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")


def bring(page: Page, sheet: Path) -> None:
    page.goto("/import")
    page.get_by_label("File (CSV or XLSX)").set_input_files(sheet)
    press(page, "Upload")


def test_a_sheet_is_matched_asked_about_given_back_and_taken_by_keyboard(desk: Page, sheet, log_in):
    page = desk
    log_in(page, "office")
    bring(page, sheet)
    expect(page.get_by_label("Serial #")).to_have_value("serial")
    page.get_by_label("Crew car").focus()
    page.keyboard.type("Other terms bought")
    press(page, "Continue")

    page.get_by_label("day first: 3/8/2021 is").focus()
    page.keyboard.press("Space")
    press(page, "Continue")
    expect(page.get_by_text("Waiting its turn.")).to_be_visible()
    drain()
    # Nobody reloads: the page asks by itself.
    expect(page.get_by_text("Nothing was imported: 1 thing to correct.")).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("link", name="Download your file with what is wrong").click()
    back = Path(download.value.path()).read_text(encoding="utf-8-sig")
    assert download.value.suggested_filename == "Units of the workshop, what is wrong.csv"
    assert back.splitlines()[2].startswith("Crew car: codes of terms on file;")

    sheet.write_text(back.replace("blue", ""), encoding="utf-8")
    bring(page, sheet)
    drain()
    expect(page.get_by_text("Nothing is wrong with it. Nothing was imported yet.")).to_be_visible()
    press(page, "Import")
    drain()
    expect(page.get_by_text("Imported.", exact=True)).to_be_visible()
    assert models.Unit.objects.count() == 2
    assert models.Unit.objects.get(serial="SB-1").installed_on == company.day("2021-08-03")


def test_nobody_is_shut_out(desk: Page, sheet, log_in, seen):
    page = desk
    log_in(page, "office")
    looks = itertools.count(1)

    def look() -> None:
        seen(page, f"import-{next(looks)}")

    bring(page, sheet)
    look()
    press(page, "Continue")  # one column is neither matched nor left out
    look()
    page.get_by_label("Crew car").select_option("Other terms bought")
    press(page, "Continue")
    look()
    press(page, "Continue")  # and days could be months
    look()
    page.get_by_label("month first: 3/8/2021").check()
    press(page, "Continue")
    look()
    job = models.Job.objects.latest("pk")
    models.Job.objects.filter(pk=job.pk).update(
        state="running", lease="a", leased_until=job.asked_at, parts_done=1, parts=2
    )
    page.reload()
    look()
    models.Job.objects.filter(pk=job.pk).update(state="waiting", lease="", leased_until=None)
    drain()
    expect(page.get_by_text("1 thing to correct.")).to_be_visible()
    look()
    page.goto("/import")
    look()


def test_without_scripts_the_page_is_reloaded_by_hand(sheet, chromium, live, log_in):
    context = chromium.new_context(base_url=live.url, java_script_enabled=False, viewport={"width": 390, "height": 800})
    page = context.new_page()
    log_in(page, "office")
    bring(page, sheet)
    page.get_by_label("Every column without a choice").select_option("do not import it")
    press(page, "Continue")
    page.get_by_label("month first: 3/8/2021").check()
    press(page, "Continue")
    expect(page.get_by_text("Waiting its turn.")).to_be_visible()
    drain()
    page.get_by_role("link", name="Check again").click()
    expect(page.get_by_text("Nothing is wrong with it. Nothing was imported yet.")).to_be_visible()
    context.close()
