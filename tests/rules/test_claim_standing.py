"""Where a claim stands follows from its steps, in their order."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet.rules.claims import Standing, State, Taken, standing

FILED, MORE, ALL, PART = State.FILED, State.ASKED_FOR_MORE, State.APPROVED, State.PART_APPROVED
DENIED, CREDITED, OFF = State.DENIED, State.CREDITED, State.WRITTEN_OFF


def step(asked_for: State, day: int, amount: str | None = None, went_to: State | None = None) -> Taken:
    return Taken(asked_for, went_to or asked_for, dt.date(2024, 3, day), amount and Decimal(amount))


@pytest.mark.parametrize(
    ("steps", "state", "asked", "approved", "credited", "filed", "last"),
    [
        pytest.param([], State.GATHERING, "0", "0", "0", None, None, id="none yet"),
        pytest.param([step(FILED, 8, "320")], FILED, "320", "0", "0", 8, 8, id="filed"),
        pytest.param(
            [step(FILED, 8, "320"), step(MORE, 9), step(FILED, 11)], FILED, "320", "0", "0", 8, 11,
            id="filed again as it was asked for",
        ),
        pytest.param(
            [step(FILED, 8, "320"), step(MORE, 9), step(FILED, 11, "300")], FILED, "300", "0", "0", 8, 11,
            id="filed again for less",
        ),
        pytest.param([step(FILED, 8, "320"), step(PART, 9, "200")], PART, "320", "200", "0", 8, 9, id="approved in part"),
        pytest.param(
            [step(FILED, 8, "320"), step(ALL, 9, "320"), step(CREDITED, 10, "120", ALL)], ALL, "320", "320", "120", 8, 10,
            id="a part of the credit",
        ),
        pytest.param(
            [step(FILED, 8, "320"), step(ALL, 9, "320"), step(CREDITED, 10, "120", ALL), step(CREDITED, 12, "200")],
            CREDITED, "320", "320", "320", 8, 12, id="credits add up",
        ),
        pytest.param(
            [step(FILED, 8, "320"), step(DENIED, 9), step(FILED, 11, "250"), step(DENIED, 12), step(OFF, 13)],
            OFF, "250", "0", "0", 8, 13, id="denied twice",
        ),
        pytest.param(
            [step(FILED, 8, "320"), step(ALL, 9, "320"), step(CREDITED, 10, "320"), step(FILED, 14)],
            FILED, "320", "0", "320", 8, 14, id="opened again: approved before counts no more, what came stays",
        ),
    ],
)  # fmt: skip
def test_the_steps_make_the_standing(steps, state, asked, approved, credited, filed, last):
    days = [day and dt.date(2024, 3, day) for day in (filed, last)]
    assert standing(steps) == Standing(state, Decimal(asked), Decimal(approved), Decimal(credited), *days)
