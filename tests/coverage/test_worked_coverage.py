"""An invented fleet with answers worked out independently of this code, row by row."""

import csv
import json
from datetime import date

import pytest

from fleet.coverage.actions import terms
from fleet.coverage.queries import answers
from fleet.derived import recheck
from fleet.loading import history, installs
from tests.paths import WORKED

FLEET = WORKED / "coverage"
TODAY = date(2026, 11, 24)
COMPARED = (
    "terms",
    "payer",
    "pays_for",
    "result",
    "first_day",
    "last_day",
    "possible_last_day",
    "days_left",
    "file_by",
    "part_back_by",
)


@pytest.fixture
def fleet(db):
    terms.load_files(sorted((FLEET / "terms").glob("*.toml")), by=None, on=TODAY)
    installs.load(FLEET / "installs.csv", by=None, on=TODAY)
    history.load(FLEET / "history.csv", by=None, on=TODAY)


def _codes(found):
    """What somebody must do or find; that a start was assumed is told beside it, and was not worked out here."""
    return sorted({one["code"] for one in found} - {"start_assumed"})


def test_every_answer_is_the_one_worked_out(fleet):
    with (FLEET / "questions.csv").open(newline="") as file:
        asked = [answers.question(row, today=TODAY) for row in csv.DictReader(file)]
    wanted = [json.loads(line) for line in (FLEET / "expected.jsonl").read_text().splitlines()]
    given = list(answers.ask_all(asked))
    assert len(given) == len(wanted) == 600
    for number, (want, got) in enumerate(zip(wanted, given, strict=True)):
        where = f"question {number}: {want['serial']} {want['component']} {want['on']}"
        assert [{name: one[name] for name in COMPARED} for one in got["answers"]] == [
            {name: one[name] for name in COMPARED} for one in want["answers"]
        ], where
        for one, other in zip(got["answers"], want["answers"], strict=True):
            assert one["reasons"], where
            if other["result"] == "covered_if":
                assert _codes(one["needs"]) == other["needs"], where
        assert got["pays"] == want["pays"], where
        assert got["worth_asking"] == want["worth_asking"], where
        assert _codes(got["notes"]) == want["notes"], where


def test_what_is_kept_of_the_worked_fleet_is_what_its_facts_give(fleet):
    assert list(recheck.differences(on=TODAY)) == []


def test_loading_the_worked_fleet_again_changes_nothing(fleet):
    for report in (
        installs.load(FLEET / "installs.csv", by=None, on=TODAY),
        history.load(FLEET / "history.csv", by=None, on=TODAY),
    ):
        assert (report.added, report.filled, report.corrected) == (0, 0, 0)
