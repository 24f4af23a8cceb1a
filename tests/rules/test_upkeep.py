"""Whose maintenance a record counts for: its own unit's, and as far as its task reaches."""

import pytest

from fleet.rules import upkeep
from fleet.rules.care import System
from tests.caring import done, entry, sheet, skipped, unit

SHEET = sheet(
    entry("coil", per="head", styles=["wall"]),
    entry("drain", per="drain line"),
    entry("rinse", per="outdoor"),
    entry("check", per="system"),
    entry("wash", by="owner", per="head"),
)
OUT = unit("O1", role="outdoor")
DEN = unit("H1", drain="west")
LOFT = unit("H2", drain="west")
HALL = unit("H3")
DUCTED = unit("H4", style="ducted")
ALL = (OUT, DEN, LOFT, HALL, DUCTED)


def counted(*records, units=ALL, rules=SHEET):
    found = upkeep.maintained(System(units, records), rules)
    return {key: sorted(day.isoformat() for day in days) for key, days in sorted(found.items())}


@pytest.mark.parametrize(
    ("serial", "task", "whose"),
    [
        pytest.param("H1", "coil", ["H1"], id="a head's own"),
        pytest.param("O1", "rinse", ["O1"], id="the outdoor unit's own"),
        pytest.param("H1", "drain", ["H1", "H2"], id="a shared drain line is of both heads"),
        pytest.param("H3", "drain", ["H3"], id="a line of its own"),
        pytest.param("O1", "check", ["H1", "H2", "H3", "H4", "O1"], id="the system's is everybody's"),
        pytest.param(
            "O1", "drain", ["H1", "H2", "H3", "H4", "O1"], id="written on a unit it is not for: every line, and it"
        ),
        pytest.param("O1", "coil", ["H1", "H2", "H3", "O1"], id="but no head of another style"),
        pytest.param("H4", "coil", ["H1", "H2", "H3", "H4"], id="nor is it taken from the unit it is written on"),
        pytest.param("H1", "hand tune-up", ["H1"], id="a task that nobody knows"),
        pytest.param("H1", "", ["H1"], id="no task at all"),
    ],
)
def test_a_record_reaches_as_far_as_its_task(serial, task, whose):
    assert list(counted(done("2024-05-01", serial, task, technician=True))) == whose


@pytest.mark.parametrize(
    ("record", "counts"),
    [
        pytest.param(done("2024-05-01", "H1", "coil"), True, id="a technician's task, whoever wrote it"),
        pytest.param(done("2024-05-01", "H1", "wash"), False, id="an owner's task, done by the owner"),
        pytest.param(
            done("2024-05-01", "H1", "wash", technician=True), True, id="an owner's task that a technician did"
        ),
        pytest.param(done("2024-05-01", "H1", "tune-up"), False, id="an unknown task that names nobody"),
        pytest.param(done("2024-05-01", "H1", "tune-up", technician=True), True, id="an unknown task that names one"),
        pytest.param(skipped("2024-05-01", code="coil"), False, id="skipped"),
    ],
)
def test_only_what_a_technician_did_is_maintenance(record, counts):
    assert (counted(record) == {"H1": ["2024-05-01"]}) is counts


def test_without_a_care_sheet_a_record_counts_for_its_own_unit_if_it_names_a_technician():
    told = (done("2024-05-01", "O1", "check", technician=True), done("2024-06-01", "H1", "coil"))
    assert counted(*told, rules=None) == {"O1": ["2024-05-01"]}


@pytest.mark.parametrize(
    ("day", "whose"),
    [
        pytest.param("2023-12-31", ["H1", "O1"], id="the day before it came"),
        pytest.param("2024-01-01", ["H1", "H9", "O1"], id="the day it came"),
        pytest.param("2024-05-31", ["H1", "H9", "O1"], id="the day before it left"),
        pytest.param("2024-06-01", ["H1", "O1"], id="the day it left"),
    ],
)
def test_a_unit_has_part_in_what_was_done_while_it_stood_there(day, whose):
    guest = unit("H9", joined_on="2024-01-01", left_on="2024-06-01")
    assert list(counted(done(day, "O1", "check"), units=(OUT, DEN, guest))) == whose


def test_what_was_written_on_a_unit_on_the_day_of_its_exchange_is_the_new_one_s_to_spread():
    old = unit("O1", role="outdoor", left_on="2024-03-01")
    new = unit("O2", role="outdoor", replaced_on="2024-03-01", took_over=("O1",))
    assert list(counted(done("2024-03-01", "O1", "check"), units=(old, new, DEN))) == ["H1", "O1", "O2"]
