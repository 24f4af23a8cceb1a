"""The dues of the worked fleet through everybody's doors: its files are loaded, and the command is asked."""

import datetime as dt
import json
from io import StringIO

import pytest
from django.core.management import call_command

from fleet import clock
from fleet.care.actions import care
from fleet.derived import recheck
from fleet.loading import history, installs
from tests.paths import WORKED

FLEET = WORKED / "dues"
TODAY = dt.date(2026, 11, 24)


@pytest.fixture
def fleet(db, monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    call_command("load_care", FLEET / "care.toml", stdout=StringIO())
    call_command("load_installs", FLEET / "installs.csv", stdout=StringIO())
    call_command("load_history", FLEET / "history.csv", stdout=StringIO())


def due(**named):
    out = StringIO()
    call_command("due", json=True, stdout=out, **named)
    return json.loads(out.getvalue())


def differing(found, asked):
    expected = json.loads((FLEET / f"expected_due_{asked}.json").read_text(encoding="utf-8"))
    assert len(found) == len(expected) == 412
    return [pair for pair in zip(expected, found, strict=True) if pair[0] != pair[1]]


@pytest.mark.parametrize("asked", ["2026-11-24", "2027-03-01"])
def test_every_due_is_as_worked(fleet, asked):
    assert differing(due(on=dt.date.fromisoformat(asked)), asked) == []


def test_a_day_gone_by_is_worked_out_from_the_records_of_that_time(fleet, monkeypatch):
    """Asked some weeks later, the same day has the same dues, whatever was recorded since."""
    monkeypatch.setattr(clock, "today", lambda: dt.date(2026, 12, 30))
    assert differing(due(on=TODAY), "2026-11-24") == []


def test_what_is_kept_of_the_worked_fleet_is_what_its_facts_give(fleet):
    assert list(recheck.differences(on=TODAY)) == []


def test_the_care_sheet_may_come_last(db, monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    installs.load(FLEET / "installs.csv", by=None, on=TODAY)
    history.load(FLEET / "history.csv", by=None, on=TODAY)
    assert due() == []
    care.load_file(FLEET / "care.toml", by=None, on=TODAY)
    assert differing(due(), "2026-11-24") == []


def test_a_customer_and_a_site_narrow_it(fleet):
    everything = due()
    first = everything[0]
    mine = due(customer=first["customer"], site=first["site"])
    assert mine == [one for one in everything if (one["customer"], one["site"]) == (first["customer"], first["site"])]
    assert mine


def test_a_name_that_nobody_has_is_told(fleet):
    with pytest.raises(SystemExit) as ended:
        due(customer="Nobody at all")
    assert ended.value.code == 1
