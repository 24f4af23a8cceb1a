"""A clock that was ahead once leaves nothing wrong: what it worked out for days to come is worked out again."""

import datetime as dt
import io

import pytest
from django.core.management import call_command

from fleet import models
from fleet.derived import recheck, refresh
from tests import company
from tests.company import TODAY

pytestmark = pytest.mark.django_db

AHEAD = dt.date(2027, 3, 2)


@pytest.fixture
def on_file():
    """A unit whose registration is still to do on March 2, 2026, and is missed a year later."""
    company.on_file()
    made = company.unit("SB-1", installed_on="2026-02-01", started_on="2026-02-01")
    company.worked_out()
    return made


def held():
    """What is kept, without the rows' own numbers: they are written anew."""
    return sorted(
        str({name: value for name, value in row.items() if name != "id"})
        for table in (models.HoldingRow, models.CoverageRow, models.FactRow)
        for row in table.objects.values()
    )


def test_a_year_ahead_and_back_everything_is_as_it_was(on_file):
    before = held()
    refresh.catch_up(on=AHEAD)
    assert held() != before
    assert refresh.is_due(on=TODAY)
    refresh.catch_up(on=TODAY)
    assert held() == before
    assert list(recheck.differences(on=TODAY)) == []
    assert not refresh.is_due(on=TODAY)


@pytest.mark.parametrize(
    ("ahead", "again"),
    [
        pytest.param(TODAY - dt.timedelta(days=1), False, id="the day before"),
        pytest.param(TODAY, False, id="the same day"),
        pytest.param(TODAY + dt.timedelta(days=1), True, id="the day after"),
    ],
)
def test_everything_is_worked_out_again_only_where_the_last_day_is_still_to_come(on_file, monkeypatch, ahead, again):
    models.KeptDay.objects.update(on=ahead)
    called = []
    monkeypatch.setattr(refresh, "refresh_all", lambda *, on: called.append(on))
    refresh.catch_up(on=TODAY)
    assert called == ([TODAY] if again else [])
    assert models.KeptDay.objects.get().on == TODAY


@pytest.mark.parametrize(
    ("on", "again", "ahead_to"),
    [
        pytest.param(TODAY - dt.timedelta(days=1), True, TODAY, id="the day before"),
        pytest.param(TODAY, True, None, id="the day itself"),
        pytest.param(TODAY + dt.timedelta(days=1), True, None, id="the day after"),
        pytest.param(TODAY - dt.timedelta(days=9), False, TODAY, id="no new day"),
    ],
)
def test_a_clock_set_back_works_each_new_day_out_until_it_is_right_again(on_file, monkeypatch, on, again, ahead_to):
    back = TODAY - dt.timedelta(days=9)
    models.KeptDay.objects.update(on=TODAY)
    refresh.catch_up(on=back)
    assert models.KeptDay.objects.values_list("on", "ahead_to").get() == (back, TODAY)
    called = []
    monkeypatch.setattr(refresh, "refresh_all", lambda *, on: called.append(on))
    refresh.catch_up(on=on)
    assert bool(called) is again
    assert models.KeptDay.objects.values_list("on", "ahead_to").get() == (on, ahead_to)


def test_a_save_with_a_clock_ahead_is_noticed_too(on_file):
    refresh.refresh([on_file.pk], on=AHEAD)
    assert models.KeptDay.objects.get().on == AHEAD
    assert refresh.is_due(on=TODAY)


@pytest.mark.time_machine("2026-03-02T12:00:00-05:00", tick=False)
def test_recheck_mends_on_demand(on_file):
    models.CoverageRow.objects.update(result="ended")
    said = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("recheck", stdout=said, stderr=io.StringIO())
    call_command("recheck", mend=True, stdout=said, stderr=said)
    assert "Everything was worked out again." in said.getvalue()
    call_command("recheck", stdout=io.StringIO())
