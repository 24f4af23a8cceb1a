"""Waiting for what a page has in its own store."""

import time

from playwright.sync_api import Page


def until(page: Page, question: str, arg: object = None) -> None:
    """Wait until what a page is asked comes true; the page's own waiting takes a promise for a yes."""
    last = time.monotonic() + 20
    while not page.evaluate(question, arg):
        assert time.monotonic() < last, f"never true: {question}"
        page.wait_for_timeout(50)
