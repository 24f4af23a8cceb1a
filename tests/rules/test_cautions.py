"""Cautions stand at the work they are for, and nowhere else."""

import datetime as dt
import tomllib

import pytest

from fleet.rules import caresheet, readings, words
from fleet.rules.wording import cautions
from tests.caring import entry
from tests.paths import HOUSE_SHEET


def task(**named):
    table = {
        "code": "ours-1",
        "setup_minutes": 20,
        "task": [entry("coil", **{"checked_on": dt.date(2026, 1, 1)} | named)],
    }
    return caresheet.read(table).tasks[0]


@pytest.mark.parametrize(
    ("access", "wanted", "unwanted"),
    [
        ("high", ("ladder", "someone holding it"), ("roof", "crawl")),
        ("roof", ("fall protection", "ladder"), ("crawl",)),
        ("crawlspace", ("crawl in", "mask"), ("ladder", "roof")),
    ],
)
def test_a_fall_is_spoken_of_on_a_ladder_and_on_a_roof_and_not_in_a_crawlspace(access, wanted, unwanted):
    said = cautions.of_access(access)
    assert all(word in said for word in wanted)
    assert not any(word in said for word in unwanted)


def test_every_access_but_the_ordinary_one_has_its_caution():
    assert [access for access in words.ACCESS if not cautions.of_access(access)] == ["normal"]
    assert cautions.of_access("") == ""


@pytest.mark.parametrize("dirt", ["coil", "wheel"])
def test_cleaning_speaks_of_cleaners_and_of_mold(dirt):
    said = cautions.of_task(task(dirt=dirt, cautions=["Power off and locked out."]))
    assert said == ("Power off and locked out.", cautions.CLEANERS, cautions.MOLD)
    # A sheet that says the same says it once.
    assert cautions.of_task(task(dirt=dirt, cautions=[cautions.MOLD])) == (cautions.MOLD, cautions.CLEANERS)


def test_what_is_no_cleaning_or_the_customers_own_has_what_its_sheet_says():
    assert cautions.of_task(task(cautions=["Power off."])) == ("Power off.",)
    assert cautions.of_task(task(dirt="coil", by="owner", cautions=["Switch it off."])) == ("Switch it off.",)


def test_the_house_sheet_speaks_of_cleaners_wherever_they_are_used():
    sheet = caresheet.read(tomllib.loads(HOUSE_SHEET.read_text("utf-8")))
    spoken_of = {task.code for task in sheet.tasks if any("never mix" in text for text in cautions.of_task(task))}
    assert spoken_of == {"drain clearing", "coil cleaning", "blower wheel cleaning", "dehumidifier service"}


def test_what_is_measured_live_says_so():
    live = {reading for reading in readings.READINGS if cautions.of_reading(reading)}
    assert live == {"amps", "volts", "capacitor", "insulation resistance"}
