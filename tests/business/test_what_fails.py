"""The failures command through everybody's doors: published field data, causes, coverage, and from when the record is whole."""

import datetime as dt
import json
from io import StringIO

import pytest
from django.core.management import call_command

from fleet import clock, models
from fleet.business.facts import lives
from fleet.business.pages.what_fails import Group, Scope
from fleet.coverage.actions import terms
from fleet.derived import refresh
from fleet.loading import history
from fleet.rules import words
from tests import rows

TODAY = dt.date(2026, 11, 24)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)


def told(component="", **named):
    out = StringIO()
    call_command("failures", component=component, json=True, stdout=out, **named)
    return json.loads(out.getvalue())


def ago(days: int) -> str:
    return (TODAY - dt.timedelta(days=days)).isoformat()


def repeated(text: str) -> list[int]:
    found = []
    for one in text.split():
        value, _, times = one.partition("x")
        found += [int(value)] * int(times or 1)
    return found


FAILED = repeated("450 1150x2 1600 2070x2 2080 3100 3450 4600 6100 8750")
LEFT = repeated(
    "460 1560 1660 1850x5 2030x3 2200 3000x4 3200 3750x2 4150x4 4300x4 4850x4 5000x3 6100x3 6300 6450x2 6700 7450 "
    "7800x2 8100x2 8200 8500x3 8750x2 9400 9900 10100x3 11500"
)


@pytest.fixture
def fans():
    """Nelson 1969, seventy generator fans: field data like ours, an hour of theirs for a day of ours."""
    put_in = [(f"F{number}", 12_000) for number, _ in enumerate(FAILED)]
    put_in += [(f"L{number}", age) for number, age in enumerate(LEFT)]
    rows.installed(
        *(
            {"customer": serial, "serial": serial, "role": "outdoor", "room": "", "started_on": ago(age)}
            for serial, age in put_in
        )
    )
    history.load_rows(
        [
            {"serial": f"F{number}", "day": ago(12_000 - age), "kind": "failure", "component": "outdoor fan motor"}
            for number, age in enumerate(FAILED)
        ],
        by=None,
        on=TODAY,
    )


def test_the_generator_fans(fans):
    """The curve and the fit that three statistics libraries give of them; the rate as a count over a time, by chi-square."""
    (found,) = told("outdoor fan motor")
    assert list(found) == [
        "component", "unit_years", "failures", "rate", "low", "high", "curve", "weibull", "expected_next_year",
        "expected_outside_coverage",
    ]  # fmt: skip
    assert found["failures"] == 12
    assert found["unit_years"] == pytest.approx(943.025325, abs=1e-6)  # 344,440 days
    assert (found["rate"], found["low"], found["high"]) == pytest.approx((0.0127250, 0.00657519, 0.02222802), rel=1e-6)
    assert [round(step["survival"], 6) for step in found["curve"]] == [
        0.985714, 0.956723, 0.942004, 0.907749, 0.890622, 0.871672, 0.852302, 0.827234, 0.795418, 0.707038,
    ]  # fmt: skip
    assert [(step["years"], step["at_risk"], step["failed"]) for step in found["curve"]][:2] == [
        (pytest.approx(450 / 365.25, abs=1e-6), 70, 1),
        (pytest.approx(1150 / 365.25, abs=1e-6), 68, 2),
    ]
    assert found["weibull"]["shape"] == pytest.approx(1.05845, rel=1e-5)
    assert found["weibull"]["scale"] == pytest.approx(26296.85 / 365.25, rel=1e-5)
    # No terms are on file: whatever fails is outside every coverage.
    assert found["expected_next_year"] == found["expected_outside_coverage"] > 0


def test_every_component_is_told_and_nothing_failing_has_an_upper_limit(fans):
    found = {one["component"]: one for one in told()}
    assert list(found) == list(words.COMPONENTS)
    panel = found["panel"]
    # The rule of three over all 70: 2.995732 / the days from start to today.
    days = sum(LEFT) + 12 * 12_000
    assert (panel["failures"], panel["rate"], panel["low"]) == (0, 0.0, 0.0)
    assert panel["high"] == pytest.approx(2.995732 / days * 365.25, rel=1e-6)
    assert (panel["curve"], panel["weibull"], panel["expected_next_year"]) == ([], None, 0.0)
    # Seventy outdoor units have no louver to lose: nothing was watched, so nothing is known.
    louver = found["louver"]
    assert (louver["unit_years"], louver["rate"], louver["high"], louver["expected_next_year"]) == (
        0.0,
        None,
        None,
        None,
    )


def three(**failure):
    """Three units of Osmarik, whose parts are covered for sixty months; the third failed four years in."""
    terms.load_tables([rows.TERMS | {"starts": [{"from": "started_on"}]}], on=TODAY)
    a = rows.unit("A", started_on="2021-12-24")
    b = rows.unit("B", started_on="2026-01-01")
    c = rows.unit("C", started_on="2016-11-24")
    models.Failure.objects.create(
        **{"unit": c, "component": "control board", "failed_on": dt.date(2020, 11, 24)} | failure
    )
    refresh.refresh_all(on=TODAY)
    return a, b, c


def test_what_is_expected_and_what_of_it_nobody_covers():
    """One failure in 1,796 + 327 + 1,461 days. A is covered for 31 days more (December 24 included), B throughout, C not."""
    three()
    (found,) = told("control board")
    assert found["unit_years"] == pytest.approx(3584 / 365.25, abs=1e-6)
    assert found["weibull"] is None
    assert found["expected_next_year"] == pytest.approx(0.290482, abs=1e-6)
    assert found["expected_outside_coverage"] == pytest.approx(0.185042, abs=1e-6)


def test_a_component_with_a_coverage_of_its_own_is_judged_by_that():
    """The one that names the compressor ended for all three; the one for all others says nothing of it."""
    own = {"pays_for": ["parts"], "components": ["compressor"], "tiers": [{"months": 1}]}
    three(component="compressor")
    models.Terms.objects.all().delete()
    terms.load_tables(
        [rows.TERMS | {"starts": [{"from": "started_on"}], "coverage": [*rows.TERMS["coverage"], own]}], on=TODAY
    )
    refresh.refresh_all(on=TODAY)
    (found,) = told("compressor")
    assert found["expected_outside_coverage"] == pytest.approx(found["expected_next_year"])
    (board,) = told("panel")
    assert board["expected_next_year"] == 0.0


@pytest.mark.parametrize("cause", ["maintenance", "misuse", "shipping", "no fault found"])
def test_some_causes_count_only_where_all_are_asked_for(cause):
    three(cause=cause)
    assert told("control board")[0]["failures"] == 0
    assert told("control board", every_cause=True)[0]["failures"] == 1


def test_a_voided_failure_counts_for_nothing():
    three(voided_on=TODAY, void_reason="wrong unit")
    assert told("control board", every_cause=True)[0]["failures"] == 0


@pytest.mark.parametrize(
    ("whole_since", "failures", "days"),
    [
        pytest.param("2020-11-23", 1, 1796 + 327 + 1, id="the day before the failure"),
        pytest.param("2020-11-24", 1, 1796 + 327 + 1, id="that day: a day of service"),
        pytest.param("2020-11-25", 0, 1796 + 327, id="the day after: it had left already"),
        pytest.param("2026-10-25", 0, 30 + 30, id="all enter at the age they have then"),
    ],
)
def test_a_unit_is_watched_since_the_record_is_whole(whole_since, failures, days):
    three()
    models.House.objects.create(pk=1, record_complete_from=dt.date.fromisoformat(whole_since))
    (found,) = told("control board")
    assert (found["failures"], round(found["unit_years"] * 365.25)) == (failures, days)


@pytest.mark.parametrize(
    ("on", "failures", "days"),
    [
        pytest.param("2020-11-23", 0, 1460, id="the day before it failed"),
        pytest.param("2020-11-24", 1, 1461, id="the day"),
        pytest.param("2021-12-25", 1, 1462, id="A is a day old"),
    ],
)
def test_a_day_gone_by_knows_nothing_of_later_ones(on, failures, days):
    three()
    (found,) = told("control board", on=dt.date.fromisoformat(on))
    assert (found["failures"], round(found["unit_years"] * 365.25)) == (failures, days)


def test_a_unit_that_was_taken_out_is_watched_until_then_and_is_none_of_todays():
    a, _, _ = three()
    models.Unit.objects.filter(pk=a.pk).update(removed_on=dt.date(2021, 12, 29), removal_reason="removed")
    company = lives.company(Scope(), on=TODAY)
    assert company.units == 3
    assert sum(company.today("panel").values()) == 2
    assert sum((life.left - life.entered) * count for life, count in company.whole.lives("panel").items()) == (
        5 + 327 + 3652
    )


def test_one_that_came_in_exchange_is_new_on_that_day():
    _, _, c = three()
    models.Unit.objects.filter(pk=c.pk).update(removed_on=dt.date(2020, 11, 24), removal_reason="exchanged")
    rows.unit("D", within=c.system, took_over_from=c, replaced_on="2026-11-14")
    company = lives.company(Scope(), on=TODAY)
    assert sum((life.left - life.entered) * count for life, count in company.whole.lives("panel").items()) == (
        1796 + 327 + 1461 + 10
    )


def test_a_unit_without_a_start_is_counted_apart():
    three()
    rows.unit("E")
    company = lives.company(Scope(), on=TODAY)
    assert (company.units, company.without_start) == (3, 1)


def test_units_are_told_apart_and_narrowed():
    three()
    rows.unit("G", role="outdoor", maker="Tarn", model="T-1", started_on="2025-11-24")
    kinds = lives.company(Scope(), on=TODAY, group=Group.KIND).groups
    assert sorted(kinds) == ["head", "outdoor"]
    years = lives.company(Scope(maker="osmarik"), on=TODAY, group=Group.YEAR).groups
    assert sorted(years) == ["2016", "2021", "2026"]
    assert lives.company(Scope(kind="outdoor"), on=TODAY).units == 1
    assert lives.company(Scope(model="oc 9"), on=TODAY).units == 3
    assert lives.company(Scope(year=2021), on=TODAY).units == 1


def mixed():
    """A head and a furnace, each 1,461 days in service, and a failure of each on the day they were 731 days old.

    The head's is of a heat exchanger, which a head has none of; the furnace's is of its igniter.
    """
    head = rows.unit("H1", started_on="2022-11-24")
    furnace = rows.unit("F1", role="furnace", started_on="2022-11-24")
    for unit, component in ((head, "heat exchanger"), (furnace, "igniter")):
        models.Failure.objects.create(unit=unit, component=component, failed_on=dt.date(2024, 11, 24))
    refresh.refresh_all(on=TODAY)
    return head, furnace


@pytest.mark.parametrize(
    ("component", "unit_days", "failures"),
    [
        pytest.param("heat exchanger", 1461, 0, id="the furnace alone has one, and the head's failure is none"),
        pytest.param("igniter", 731, 1, id="watched until it failed"),
        pytest.param("louver", 1461, 0, id="the head alone"),
        pytest.param("filter", 2922, 0, id="both"),
        pytest.param("compressor", 0, 0, id="neither"),
    ],
)
def test_a_component_is_counted_over_the_units_that_have_one(component, unit_days, failures):
    mixed()
    (one,) = told(component)
    assert round(one["unit_years"] * 365.25) == unit_days
    assert one["failures"] == failures
    every = {row["component"]: row for row in told()}
    assert every[component] == one


def test_a_failure_of_what_the_unit_does_not_have_stands_apart():
    head, _ = mixed()
    assert [row.unit for row in lives.misplaced(Scope(), on=TODAY)] == [head]
    assert not lives.misplaced(Scope(component="igniter"), on=TODAY)
    assert not lives.misplaced(Scope(year=2023), on=TODAY)
    assert not lives.misplaced(Scope(kind="furnace"), on=TODAY)
    assert not lives.misplaced(Scope(), on=dt.date(2024, 11, 23))
    assert len(lives.misplaced(Scope(component="heat exchanger", year=2022, kind="head"), on=TODAY)) == 1
    # One that would not count anyway is not named either.
    models.Failure.objects.update(cause="misuse")
    assert not lives.misplaced(Scope(), on=TODAY)
    assert len(lives.misplaced(Scope(every_cause=True), on=TODAY)) == 1


def test_the_same_for_people():
    three()
    out = StringIO()
    call_command("failures", component="control board", stdout=out)
    assert out.getvalue().startswith("control board: 1 failure in 9.8 unit-years: 10.2 in 100 unit-years;")
    assert "Too few failures for a fit: 1 of the 5" in out.getvalue()
