"""Are the dues of the worked fleets as two people worked them out, apart from each other, row by row?

`tests/worked/dues` has an invented fleet as a contractor's files and its dues on two days; in `dues-begin` the record of upkeep
begins on a day.
"""

import csv
import datetime as dt
import json
import tomllib
from typing import Any

import pytest

from fleet.rules import care, caresheet
from fleet.rules.dues import work_out
from tests.paths import WORKED

Row = dict[str, str]
Place = tuple[str, str, str]


def rows(folder: str, name: str) -> list[Row]:
    with (WORKED / folder / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def day(text: str) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None


def grade(text: str) -> int | None:
    return int(text) if text else None


def unit(row: Row) -> care.CareUnit:
    return care.CareUnit(
        key=row["serial"],
        serial=row["serial"],
        role=row["role"],
        style=row["style"],
        drain=row["drain"],
        surroundings=frozenset(row["surroundings"].split(";")) - {""},
        started_on=day(row["started_on"]),
        installed_on=day(row["installed_on"]),
    )


def record(row: Row) -> care.Record:
    return care.Record(
        unit=row["serial"],
        day=dt.date.fromisoformat(row["day"]),
        task=row["task"],
        what={"maintenance": care.DONE, "skipped": care.SKIPPED}[row["kind"]],
        dirt_wheel=grade(row["dirt_wheel"]),
        dirt_coil=grade(row["dirt_coil"]),
        not_before=day(row["not_before"]),
    )


class Fleet:
    """One worked fleet: its sheet, its units and its records by system."""

    def __init__(self, folder: str) -> None:
        self.folder = folder
        self.installs = rows(folder, "installs.csv")
        self.sheet = caresheet.read(tomllib.loads((WORKED / folder / "care.toml").read_text(encoding="utf-8")))

    def systems(self) -> dict[Place, care.System]:
        places = {row["serial"]: (row["customer"], row["site"], row["system"]) for row in self.installs}
        records: dict[Place, list[care.Record]] = {}
        for row in rows(self.folder, "history.csv"):
            records.setdefault(places[row["serial"]], []).append(record(row))
        return {
            place: care.System(
                tuple(unit(row) for row in self.installs if places[row["serial"]] == place),
                tuple(records.get(place, ())),
            )
            for place in set(places.values())
        }


def told(fleet: Fleet, due: care.Due, place: Place, on: dt.date) -> dict[str, Any]:
    """A due as the outside world is told of it."""
    install = next(row for row in fleet.installs if row["serial"] == due.serial)
    return {
        "customer": place[0],
        "site": place[1],
        "system": place[2],
        "maker": install["maker"],
        "model": install["model"],
        "serial": due.serial,
        "task": due.task.code,
        "by": due.task.by,
        "minutes": due.minutes,
        "last_done": due.last_done and due.last_done.isoformat(),
        "due_on": due.due_on.isoformat(),
        "opens_on": due.opens_on.isoformat(),
        "late_after": due.late_after.isoformat(),
        "state": str(due.state(on)),
        "not_before": due.not_before and due.not_before.isoformat(),
        "price": f"{due.price:.2f}",
    }


@pytest.mark.parametrize(
    ("folder", "asked"),
    [("dues", "2026-11-24"), ("dues", "2027-03-01"), ("dues-begin", "2026-11-24"), ("dues-begin", "2027-04-15")],
)
def test_every_due_is_as_worked(folder, asked):
    on, fleet = dt.date.fromisoformat(asked), Fleet(folder)
    found = [
        told(fleet, due, place, on)
        for place, system in fleet.systems().items()
        for due in work_out(system, fleet.sheet, on=on).dues
    ]
    found.sort(key=lambda row: [row[name] for name in ("due_on", "customer", "site", "serial", "task")])
    expected = json.loads((WORKED / folder / f"expected_due_{asked}.json").read_text(encoding="utf-8"))
    differing = [pair for pair in zip(expected, found, strict=True) if pair[0] != pair[1]]
    assert differing == []


@pytest.mark.parametrize("folder", ["dues", "dues-begin"])
def test_the_units_whose_start_is_not_known_are_wanted(folder):
    """No start and nothing done yet: no due, and somebody must find out when it was put in."""
    on, fleet = dt.date(2026, 11, 24), Fleet(folder)
    wanted = {one.serial for system in fleet.systems().values() for one in work_out(system, fleet.sheet, on=on).wanted}
    assert wanted <= {row["serial"] for row in fleet.installs if not row["installed_on"] and not row["started_on"]}
