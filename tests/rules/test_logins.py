"""How long a name waits after wrong passwords in a row: both sides of each edge."""

import datetime as dt

import pytest

from fleet.rules import logins

LAST = dt.datetime(2026, 3, 2, 12, 0, 0, tzinfo=dt.UTC)


def wait(wrong: int, seconds: int) -> logins.Wait | None:
    return logins.wait(wrong=wrong, last_at=LAST, at=LAST + dt.timedelta(seconds=seconds))


@pytest.mark.parametrize(
    ("wrong", "seconds"),
    [
        pytest.param(5, 30, id="the first that costs something"),
        (6, 60),
        (7, 120),
        (8, 240),
        pytest.param(9, 480, id="the last before the lock"),
        pytest.param(10, 86_400, id="locked for a day"),
        pytest.param(11, 86_400, id="and no longer after that"),
        pytest.param(60_000, 86_400, id="however many"),
    ],
)
def test_each_wrong_password_waits_twice_as_long_until_the_lock(wrong, seconds):
    until = LAST + dt.timedelta(seconds=seconds)
    assert wait(wrong, 0) == wait(wrong, seconds - 1) == logins.Wait(until, locked=wrong >= 10)
    assert wait(wrong, seconds) is None


@pytest.mark.parametrize(
    ("seconds", "waits"),
    [
        pytest.param(-299, True, id="looked at a little after a later one"),
        pytest.param(-300, True, id="five minutes"),
        pytest.param(-301, False, id="set back by more"),
        pytest.param(-90 * 86_400, False, id="set back by months"),
    ],
)
def test_a_clock_that_was_set_back_leaves_nobody_waiting_for_it(seconds, waits):
    assert bool(wait(10, seconds)) is waits


@pytest.mark.parametrize("wrong", [0, 1, 4])
def test_a_few_cost_nothing(wrong):
    assert wait(wrong, 0) is None


@pytest.mark.parametrize(("seconds", "left"), [(0, 7), (86_399, 7), (86_400, 0), (90_000, 0)])
def test_a_day_without_a_wrong_one_forgets_them(seconds, left):
    assert logins.in_a_row(wrong=7, last_at=LAST, at=LAST + dt.timedelta(seconds=seconds)) == left


def test_a_name_is_counted_alike_however_it_is_typed():
    assert len({logins.folded(name) for name in ("office", " Office", "OFFICE ", "o\0ffice", "\uff4fffice")}) == 1
    assert logins.folded("office2") != logins.folded("office")
    assert len(logins.folded("\u0390" * 150)) == 150  # which casefolding makes three times as long
