"""Rows whose day has come are worked out again before anybody reads them."""

import datetime as dt

import pytest
import time_machine
from django.db import IntegrityError

from fleet import models
from fleet.derived import recheck, refresh
from fleet.web import fresh
from tests import company

pytestmark = [pytest.mark.django_db, pytest.mark.on_postgres]


@pytest.fixture
def ends_today():
    """A promise whose last day is March 2, 2026."""
    company.on_file()
    company.unit("SB-1", started_on="2021-03-02", installed_on="2021-03-01")
    company.worked_out()


def parts() -> models.CoverageRow:
    return models.CoverageRow.objects.get(kind="parts", components="*")


def test_a_page_on_the_next_day_shows_the_next_days_answer(ends_today):
    assert parts().result == "covered"
    with time_machine.travel("2026-03-03T00:05:00-05:00"):
        page = company.as_role("owner").get("/coverage-ending").content.decode()
        assert "SB-1" not in page
        assert parts().result == "not_covered"
        assert list(recheck.differences(on=dt.date(2026, 3, 3))) == []


def test_nothing_is_worked_out_where_no_day_has_come(ends_today, monkeypatch):
    monkeypatch.setattr(refresh, "catch_up", lambda **_: pytest.fail("nothing was due"))
    assert company.as_role("owner").get("/coverage-ending").status_code == 200


def test_the_login_and_whoever_is_turned_away_work_nothing_out(ends_today, client, monkeypatch):
    monkeypatch.setattr(refresh, "catch_up", lambda **_: pytest.fail("nobody may read"))
    with time_machine.travel("2026-03-03T00:05:00-05:00"):
        assert client.get("/login").status_code == 200
        assert client.get("/coverage-ending").status_code == 302
        assert company.as_role("").get("/coverage-ending").status_code == 404


def test_another_process_that_was_first_is_no_fault(ends_today, monkeypatch):
    with time_machine.travel("2026-03-03T00:05:00-05:00"):
        catch_up = refresh.catch_up

        def too_late(*, on: dt.date) -> int:
            catch_up(on=on)
            raise IntegrityError("they are there already")

        monkeypatch.setattr(refresh, "catch_up", too_late)
        fresh.catch_up()
        assert parts().result == "not_covered"


def test_a_fault_that_leaves_rows_stale_is_not_hidden(ends_today, monkeypatch):
    def fails(*, on: dt.date) -> int:
        raise IntegrityError("something else")

    monkeypatch.setattr(refresh, "catch_up", fails)
    with time_machine.travel("2026-03-03T00:05:00-05:00"), pytest.raises(IntegrityError, match="something else"):
        fresh.catch_up()
