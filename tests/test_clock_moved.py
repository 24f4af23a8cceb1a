"""The computer's clock is set back, or jumps ahead: pages answer, and once it is right again so is everything on file."""

import datetime as dt

import pytest
from django.urls import reverse

from fleet.derived import recheck
from fleet.web import access
from tests import company

pytestmark = [pytest.mark.django_db, pytest.mark.slow, pytest.mark.any_database]

LOADED = dt.date(2026, 12, 1)
# Back by a day and by a month, on by one, over the end of a year and of February.
DAYS = [dt.date(2026, 11, 30), dt.date(2026, 10, 31), dt.date(2026, 12, 2), dt.date(2027, 3, 1)]


def broken() -> list[str]:
    """Every page without a row of its own that breaks for the owner."""
    owner = company.as_role("owner")
    owner.raise_request_exception = False
    pages = [name for name, where in access.table().items() if not where.pattern.converters and name != "logout"]
    return [name for name in pages if owner.get(reverse(name)).status_code >= 500]


def test_pages_answer_and_rows_come_right_again(settings, tmp_path, demo_company):
    settings.MEDIA_ROOT = tmp_path
    with company.on_day(LOADED):
        demo_company.load()
    for day in DAYS:
        with company.on_day(day):
            assert (day, broken()) == (day, [])
            if day > LOADED:
                assert (day, list(recheck.differences(on=day))) == (day, [])
