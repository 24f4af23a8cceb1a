"""The dues of the worked fleets through everybody's doors: their files are loaded, and the command is asked.

In `dues-begin` the record of upkeep begins on a day.
"""

import datetime as dt
import json
import tomllib
from io import StringIO

import pytest
from django.core.management import call_command

from fleet import clock
from fleet.care.actions import care_sheets
from fleet.derived import recheck
from fleet.loading import history, installs
from tests.paths import WORKED

FLEET, BEGIN = WORKED / "dues", WORKED / "dues-begin"
TODAY = dt.date(2026, 11, 24)


def loaded(folder):
    call_command("load_care", folder / "care.toml", stdout=StringIO())
    call_command("load_installs", folder / "installs.csv", stdout=StringIO())
    call_command("load_history", folder / "history.csv", stdout=StringIO())


@pytest.fixture
def fleet(db, monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    loaded(FLEET)


def due(**named):
    out = StringIO()
    call_command("due", json=True, stdout=out, **named)
    return json.loads(out.getvalue())


def differing(found, asked, folder=FLEET):
    expected = json.loads((folder / f"expected_due_{asked}.json").read_text(encoding="utf-8"))
    assert len(found) == len(expected) >= 400
    return [pair for pair in zip(expected, found, strict=True) if pair[0] != pair[1]]


@pytest.mark.parametrize("asked", ["2026-11-24", "2027-03-01"])
def test_every_due_is_as_worked(fleet, asked):
    assert differing(due(on=dt.date.fromisoformat(asked)), asked) == []


@pytest.mark.parametrize("asked", ["2026-11-24", "2027-04-15"])
def test_every_due_of_a_record_that_begins_is_as_worked(db, monkeypatch, asked):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    loaded(BEGIN)
    assert differing(due(on=dt.date.fromisoformat(asked)), asked, BEGIN) == []
    assert list(recheck.differences(on=TODAY)) == []


def test_a_later_sheet_without_the_day_keeps_it(db, monkeypatch):
    """The sheet of the other fleet has the same tasks and no such day."""
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    loaded(BEGIN)
    without = (BEGIN / "care.toml").read_text(encoding="utf-8").replace("upkeep_on_file_from = 2026-05-01", "")
    care_sheets.load_table(tomllib.loads(without) | {"code": "later"}, on=TODAY)
    assert differing(due(), "2026-11-24", BEGIN) == []


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
    care_sheets.load_file(FLEET / "care.toml", by=None, on=TODAY)
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
