"""People in a browser: logged in without the login page, what axe says of a page, and how a page is drawn on each screen."""

import os
import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from playwright.sync_api import Page, ViewportSize

from tests import company

# The database's rows must be seen by the live server's own connection.
pytestmark = pytest.mark.django_db(transaction=True)

SIZES: dict[str, ViewportSize] = {"desk": {"width": 1440, "height": 900}, "phone": {"width": 360, "height": 740}}
# Layout hangs on the size and contrast on the scheme, each by itself: two of the four pairs show both of each. What
# everybody sees, in the office and in the field, is tried in all four (test_frame).
Pairs = tuple[tuple[str, str], ...]
TWO: Pairs = (("desk", "light"), ("phone", "dark"))
FOUR: Pairs = (*TWO, ("phone", "light"), ("desk", "dark"))

FOUND = """async () => (await axe.run({ resultTypes: ["violations"] })).violations
    .map((fault) => [fault.id, fault.nodes[0].html, fault.nodes[0].failureSummary])"""
TOO_LOW = """(which) => [...document.querySelectorAll(which)]
    .filter((it) => it.checkVisibility() && it.getBoundingClientRect().height < 44).map((it) => it.outerHTML)"""


@pytest.fixture
def log_in(live):
    """Log somebody of a role in: `log_in(page, "owner")`."""

    def log_in(page: Page, role: str) -> None:
        cookie = company.as_role(role).cookies[settings.SESSION_COOKIE_NAME]
        page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie.value, "url": live.url}])

    return log_in


@pytest.fixture
def clean():
    """Fail where axe finds something that shuts somebody out."""
    script = Axe().axe_script

    def clean(page: Page) -> None:
        if not page.evaluate("() => 'axe' in window"):
            page.evaluate(script)
        assert page.evaluate(FOUND) == []

    return clean


@pytest.fixture
def seen(clean):
    """Fail where a page, as it stands, shuts somebody out or is too wide: at a desk in light, then on a phone in the dark.

    The page is loaded once, since how it is drawn hangs on the style sheet alone. `thumbs` chooses what must be high enough
    for a thumb on the phone; `tallest` is how much of it anybody is to scroll through.
    """

    def seen(page: Page, name: str = "", *, on: Pairs = TWO, thumbs: str = "", tallest: int = 0) -> None:
        before = page.viewport_size
        for screen, scheme in on:
            page.set_viewport_size(SIZES[screen])
            page.emulate_media(color_scheme=scheme)
            where = f"{page.url} on a {screen} in {scheme}"
            if folder := os.environ.get("SHOTS"):
                told = name or re.sub(r"\W+", "-", page.url.partition("//")[2].partition("/")[2]) or "first"
                page.screenshot(path=Path(folder) / f"{told}-{screen}-{scheme}.png", full_page=True)
            clean(page)
            assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0, f"too wide: {where}"
            if thumbs and screen == "phone":
                assert page.evaluate(TOO_LOW, thumbs) == [], f"too low: {where}"
            if tallest:
                assert page.evaluate("() => document.documentElement.scrollHeight") <= tallest, f"too tall: {where}"
        page.set_viewport_size(before)
        page.emulate_media(color_scheme="null")

    return seen
