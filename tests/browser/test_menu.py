"""The head in a real browser: one line of places that holds at every width, and a menu of all of them."""

import pytest
from playwright.sync_api import Page, expect

from fleet.web import menu
from tests import company
from tests.browser.conftest import FOUR

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WIDTHS = (360, 390, 543, 544, 600, 719, 720, 768, 959, 960, 1087, 1088, 1280, 1440, 1600)


@pytest.fixture
def all_there(live):
    company.on_file()


TOO_WIDE_OPEN = """() => {
  const menu = document.querySelector(".menu");
  menu.open = true;
  const over = document.documentElement.scrollWidth - innerWidth;
  menu.open = false;
  return over;
}"""
# The head's places stand in one line, none cut off, and nothing lies over anything else.
LINE = """() => {
  const seen = [...document.querySelectorAll(".head .first a, .menu > summary")].filter((it) => it.checkVisibility());
  const at = seen.map((it) => it.getBoundingClientRect());
  return {
    lines: new Set(at.map((box) => Math.round(box.top))).size,
    outside: at.some((box) => box.left < 0 || box.right > innerWidth),
    over: at.some((box, i) => i && box.left < at[i - 1].right),
    wrapped: at.some((box) => box.height > 60),
    number: seen.length,
  };
}"""


def test_the_places_stand_in_one_line_at_every_width(desk: Page, all_there, log_in):
    for role in ("technician", "office", "owner"):
        log_in(desk, role)
        desk.goto("/look-up")
        for width in WIDTHS:
            desk.set_viewport_size({"width": width, "height": 800})
            line = desk.evaluate(LINE)
            words = 2 if width < 544 else 3 if width < 720 else 5
            assert line["number"] == min(words, len(menu.FIRST[role])) + 1, (role, width)
            faults = line["lines"], line["outside"], line["over"], line["wrapped"]
            assert faults == (1, False, False, False), (role, width)
            assert desk.evaluate(TOO_WIDE_OPEN) <= 0, (role, width)


def test_the_menu_is_reached_and_left_by_keys_alone(desk: Page, all_there, log_in, seen):
    log_in(desk, "owner")
    desk.goto("/look-up")
    summary = desk.locator(".menu > summary")
    summary.focus()
    desk.keyboard.press("Enter")
    expect(desk.locator(".all_pages")).to_be_visible()
    seen(desk, on=FOUR, thumbs=".head a, .head summary")
    desk.keyboard.press("Tab")
    expect(desk.locator(".all_pages a").first).to_be_focused()
    desk.keyboard.press("Escape")
    expect(desk.locator(".all_pages")).to_be_hidden()
    expect(summary).to_be_focused()
    desk.keyboard.press("Space")
    desk.locator(".all_pages").get_by_role("link", name="Settings").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Settings")
    expect(desk.locator(".all_pages")).to_be_hidden()
    # It closes when somebody goes on past it.
    desk.locator(".menu > summary").click()
    desk.locator(".all_pages a").last.focus()
    desk.keyboard.press("Tab")
    expect(desk.locator(".all_pages")).to_be_hidden()
    desk.locator(".menu > summary").click()
    desk.mouse.click(700, 850)
    expect(desk.locator(".all_pages")).to_be_hidden()


def test_the_menu_works_without_scripts(chromium, all_there, live, log_in):
    context = chromium.new_context(base_url=live.url, java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    log_in(page, "office")
    page.goto("/look-up")
    page.locator(".menu > summary").click()
    page.locator(".all_pages").get_by_role("link", name="On our desk").click()
    page.get_by_role("navigation", name="In this section").get_by_role("link", name="New houses").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("New houses")
    context.close()
