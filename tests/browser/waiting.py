"""Waiting for what a page has in its own store."""

import re
import time
from collections.abc import Callable

from playwright.sync_api import Locator, Page


def until(page: Page, question: str, arg: object = None) -> None:
    """Wait until what a page is asked comes true; the page's own waiting takes a promise for a yes."""
    # Its scripts are deferred, so what they define is there from then on.
    page.wait_for_load_state("domcontentloaded")
    last = time.monotonic() + 20
    while not page.evaluate(question, arg):
        assert time.monotonic() < last, f"never true: {question}"
        page.wait_for_timeout(50)


def when(page: Page, come: Callable[[], object]) -> None:
    """Wait until something besides the page has come about: a row on file, a request that was held."""
    last = time.monotonic() + 20
    while not come():
        assert time.monotonic() < last, "never came about"
        page.wait_for_timeout(50)


def unfold_page(page: Page) -> None:
    """Open at once what a unit's page folds away on a phone; test_unit_in_hand does it with a thumb."""
    page.evaluate("() => document.querySelectorAll('.fold').forEach((fold) => { fold.open = true; })")


def open_all(page: Page) -> None:
    """Open at once all that a page folds away, so that it can be looked at."""
    page.evaluate("() => document.querySelectorAll('main details').forEach((fold) => { fold.open = true; })")


def unfold(page: Page, name: str) -> Locator:
    """Open the line of a unit in a write-up, where it is closed; the answer is the unit's part of the form."""
    unit = page.locator("fieldset.head_of").filter(
        has=page.locator(".name", has_text=re.compile(f"^{re.escape(name)}$"))
    )
    if unit.locator("details.line").get_attribute("open") is None:
        unit.locator("details.line > summary").click()
    return unit
