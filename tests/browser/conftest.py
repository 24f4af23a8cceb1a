"""People in a browser: logged in without the login page, and what axe says of a page."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from playwright.sync_api import Page

from tests import company

# The database's rows must be seen by the live server's own connection.
pytestmark = pytest.mark.django_db(transaction=True)


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

    def clean(page: Page) -> None:
        found = Axe().run(page).response["violations"]
        assert [(fault["id"], fault["nodes"][0]["html"], fault["nodes"][0]["failureSummary"]) for fault in found] == []

    return clean
