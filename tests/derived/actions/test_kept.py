"""Whatever is written, and however much time passes: what is kept is what the facts give."""

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet import models
from fleet.care.actions import care_sheets
from fleet.coverage.actions import terms
from fleet.derived import recheck, refresh, rows
from fleet.facts import fleet_facts
from fleet.loading import history, installs
from fleet.registry.actions import undo_events
from fleet.rules import lost as losses
from fleet.rules import registration
from fleet.rules.starts import start_of
from fleet.rules.words import COMPONENTS
from fleet.sheets import BadFile
from tests.caring import entry
from tests.examples import examples

pytestmark = pytest.mark.django_db

FIRST = dt.date(2018, 3, 1)
SERIALS = ("A1", "B2", "C3")

MAKER = {
    "code": "osmarik-1",
    "payer": "maker",
    "maker": "Osmarik",
    "title": "Statement",
    "models": ["*"],
    "installed_from": dt.date(2000, 1, 1),
    "checked_on": dt.date(2018, 1, 1),
    "source": {"title": "Statement"},
    "starts": [
        {"from": "closed_on", "when": "new house"},
        {"from": "started_on"},
        {"earliest_of": [{"from": "purchased_on"}, {"from": "manufactured_on", "plus_months": 18}], "assumed": True},
    ],
    "registration": {
        "within_days": 60,
        "counted_from": "installed_on",
        "not_required_in": [{"region": "US-FL", "use": ["rental"]}],
    },
    "transfer": {"rule": "notice", "within_days": 30, "automatic_in": [{"region": "US-FL"}]},
    "replacement": {"rule": "longer of", "months": 12},
    "coverage": [
        {
            "pays_for": ["parts"],
            "components": ["*"],
            "waits_days": 10,
            "tiers": [{"months": 12}, {"months": 24, "when": ["registered", "first owner"]}],
        },
        {
            "pays_for": ["parts", "labor"],
            "components": ["compressor"],
            "tiers": [
                {"days": 400, "when": ["yearly maintenance", "original site"]},
                {"lifetime": True, "when": ["rental"]},
            ],
        },
    ],
}
CHECKED = {"checked_on": dt.date(2018, 1, 1)}
SHEET = {
    "code": "house",
    "task": [
        entry("coil", styles=["wall"], counts_from="due day", months=[3, 4], dirt="coil", **CHECKED),
        entry("drain", per="drain line", every_months=6, **CHECKED),
        entry("check", per="system", **CHECKED),
        entry("wash", by="owner", every_months=1, shorten=[{"when": "pets", "times": "0.5"}], **CHECKED),
    ],
}
FRESH = MAKER | {
    "code": "osmarik-plan",
    "payer": "labor plan",
    "maker": "*",
    "starts": [{"from": "attached_on"}],
    "replacement": {"rule": "fresh", "days": 90},
    "counts_first_day": True,
}

days = st.integers(0, 1200).map(lambda number: (FIRST + dt.timedelta(days=number)).isoformat())
maybe = st.one_of(st.just(""), days)
ROW = {
    "customer": "Ada Quill",
    "site": "Home",
    "system": "Main",
    "role": "head",
    "room": "Den",
    "maker": "Osmarik",
    "model": "OC-9",
}
installed = st.fixed_dictionaries(
    {
        "serial": st.sampled_from(SERIALS),
        "installed_on": maybe,
        "started_on": maybe,
        "purchased_on": maybe,
        "manufactured_on": maybe,
        "closed_on": maybe,
        "registered_on": maybe,
        "region": st.sampled_from(["", "US-FL", "US-KY"]),
        "use": st.sampled_from(["", "rental", "owner home"]),
        "new_construction": st.sampled_from(["", "yes", "no"]),
        "original_site": st.sampled_from(["", "yes", "no"]),
        "attached": st.sampled_from(["", "osmarik-plan"]),
        "style": st.sampled_from(["", "wall", "cassette"]),
        "drain": st.sampled_from(["", "west"]),
        "surroundings": st.sampled_from(["", "pets"]),
    }
)
told = st.one_of(
    st.fixed_dictionaries(
        {
            "kind": st.just("failure"),
            "component": st.sampled_from(["compressor", *COMPONENTS[:3]]),
            "new_part_number": st.sampled_from(["", "P1"]),
            "repaired": st.booleans(),
        }
    ),
    st.fixed_dictionaries(
        {
            "kind": st.just("maintenance"),
            "technician": st.sampled_from(["", "Robin Vale"]),
            "task": st.sampled_from(["", "coil", "drain", "check", "wash"]),
            "dirt_coil": st.sampled_from(["", "0", "2", "3"]),
        }
    ),
    st.fixed_dictionaries({"kind": st.just("skipped"), "task": st.sampled_from(["coil", "check"])}),
    st.fixed_dictionaries(
        {"kind": st.sampled_from(["sold", "notified", "registered", "accepted late", "removed", "idle", "back in use"])}
    ),
    st.fixed_dictionaries({"kind": st.just("attached"), "terms": st.just("osmarik-plan")}),
    st.fixed_dictionaries(
        {"kind": st.just("exchanged"), "under_warranty": st.just("yes"), "new_serial": st.just("N1")}
    ),
    st.fixed_dictionaries({"kind": st.just("moved"), "to_site": st.just("Cabin"), "to_system": st.just("Main")}),
)
steps = st.lists(
    st.one_of(
        st.tuples(st.just("install"), installed, st.just("")),
        st.tuples(st.sampled_from(SERIALS), told, days),
        st.tuples(st.just("pass"), st.integers(1, 500), st.just("")),
    ),
    max_size=12,
)


@settings(max_examples=examples(30), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(steps=steps)
def test_what_is_kept_is_what_the_facts_give_after_any_writes_and_any_passing_of_days(steps, db):
    from django.db import transaction

    with transaction.atomic():
        _live_through(steps)
        transaction.set_rollback(True)


def _live_through(steps):
    today = FIRST + dt.timedelta(days=1200)
    terms.load_tables([MAKER, FRESH], on=today)
    care_sheets.load_table(SHEET, on=today)
    cabin = ROW | {"site": "Cabin", "serial": "Z9", "region": "US-KY", "installed_on": FIRST.isoformat()}
    installs.load_rows([cabin], on=today)
    for what, content, day in steps:
        if what == "pass":
            today += dt.timedelta(days=content)
            refresh.catch_up(on=today)
        else:
            _tell(what, content, day, today)
        assert list(recheck.differences(on=today)) == []
    assert models.CoverageRow.objects.exists()
    assert models.DueRow.objects.exists()


def _tell(what, content, day, today):
    """Tell one thing; a thing that cannot be is refused, and must have changed nothing."""
    try:
        if what == "install":
            installs.load_rows([ROW | content], on=today, correct=True)
        else:
            row = {"serial": what, "day": day} | {key: value for key, value in content.items() if key != "repaired"}
            if content.get("repaired"):
                row["repaired_on"] = day
            history.load_rows([row], on=today)
    except BadFile:
        pass


@pytest.mark.parametrize(
    ("days_on", "wanted"),
    [
        pytest.param(0, "covered", id="the last day"),
        pytest.param(1, "not_covered", id="the day after"),
    ],
)
def test_a_row_whose_day_has_come_is_worked_out_again(days_on, wanted):
    last = dt.date(2024, 6, 15)
    plain = {key: value for key, value in MAKER.items() if key not in ("registration", "replacement")}
    plain |= {"coverage": [{"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60}]}]}
    terms.load_tables([plain], on=last)
    installs.load_rows([ROW | {"serial": "A1", "started_on": "2019-06-15"}], on=dt.date(2024, 1, 1))
    refresh.catch_up(on=last + dt.timedelta(days=days_on))
    assert models.CoverageRow.objects.get().result == wanted


def test_terms_that_come_later_are_held_by_units_on_file():
    installs.load_rows([ROW | {"serial": "A1", "started_on": "2019-06-15"}], on=dt.date(2024, 1, 1))
    assert not models.HoldingRow.objects.exists()
    terms.load_tables([MAKER], on=dt.date(2024, 1, 1))
    assert models.HoldingRow.objects.get().start_on == dt.date(2019, 6, 15)


def test_a_row_that_was_tampered_with_is_reported():
    terms.load_tables([MAKER], on=dt.date(2024, 1, 1))
    installs.load_rows([ROW | {"serial": "A1", "started_on": "2019-06-15"}], on=dt.date(2024, 1, 1))
    models.CoverageRow.objects.filter(components="*").update(last_on=dt.date(2030, 1, 1))
    found = list(recheck.differences(on=dt.date(2024, 1, 1)))
    assert len(found) == 1
    assert "parts" in found[0].row


@pytest.mark.parametrize(
    ("installed_on", "state"),
    [
        pytest.param("2024-01-10", "to do", id="it can still be registered"),
        pytest.param("2023-11-03", "to do", id="the limit is the day asked"),
        pytest.param("2023-11-02", "missed", id="the limit was the day before"),
        pytest.param("", "waiting for a date", id="without a day that the limit counts from"),
    ],
)
def test_where_a_registration_stands_and_what_it_lost_read_back_as_the_rules_say(installed_on, state):
    today = dt.date(2024, 1, 2) if installed_on != "2024-01-10" else dt.date(2024, 1, 11)
    terms.load_tables([MAKER], on=today)
    told = {"serial": "A1", "installed_on": installed_on, "started_on": "2023-11-02", "region": "US-KY"}
    installs.load_rows([ROW | told], on=today)
    row = models.HoldingRow.objects.get()
    told = fleet_facts(models.Unit.objects.all())[row.unit_id]
    (holding,) = told.holdings
    start = start_of(told.unit, holding).day
    assert row.registration == state
    assert rows.standing_of(row) == registration.standing(told.unit, holding, start=start, asked=today)
    lost = rows.lost_of(row)
    assert [(one.kind, str(one.last), str(one.would_reach)) for one in lost] == (
        [("parts", "2024-11-02", "2025-11-02")] if state == "missed" else []
    )
    assert lost == (losses.lost(told.unit, holding, on=today) if state == "missed" else ())


NEW_HOUSE = ROW | {"site": "New house", "new_construction": "yes", "region": "US-KY"}
TODAY = dt.date(2024, 1, 2)


def differences():
    return [str(one) for one in recheck.differences(on=TODAY)]


def test_a_unit_that_moved_away_is_still_missing_its_start_when_its_former_system_changes():
    terms.load_tables([MAKER], on=TODAY)
    care_sheets.load_table(SHEET, on=TODAY)
    installs.load_rows([NEW_HOUSE | {"serial": "A1"}, NEW_HOUSE | {"serial": "B2", "room": "Loft"}], on=TODAY)
    installs.load_rows([ROW | {"site": "Cabin", "serial": "Z9"}], on=TODAY)
    moved = {"serial": "B2", "day": "2023-11-01", "kind": "moved", "to_site": "Cabin", "to_system": "Main"}
    history.load_rows([moved], on=TODAY)
    missing = models.FactRow.objects.filter(unit__serial="B2", fact="installed_on")
    assert missing.exists()
    history.load_rows([{"serial": "A1", "day": "2023-12-01", "kind": "accepted late"}], on=TODAY)
    assert missing.exists()
    assert differences() == []


def test_a_unit_that_was_moved_by_mistake_is_due_only_where_it_stands():
    """Where it had been moved to, nothing stands that would have the system there worked out again."""
    care_sheets.load_table(SHEET, on=TODAY)
    told = {"style": "wall", "installed_on": "2023-02-01", "started_on": "2023-02-01"}
    installs.load_rows([ROW | told | {"serial": "A1"}, ROW | told | {"serial": "B2", "room": "Loft"}], on=TODAY)
    unit = models.Unit.objects.get(serial="B2")
    here = {*unit.dues.values_list("system_id", "task")}
    elsewhere = models.System.objects.create(site=unit.system.site, name="Annex")
    moved = {"serial": "B2", "day": "2023-11-01", "kind": "moved", "to_system": "Annex"}
    history.load_rows([moved], on=TODAY)
    assert {system for system, _ in unit.dues.values_list("system_id", "task")} == {elsewhere.pk}
    undo_events.undo_event(unit.pk, kind="moved", day=dt.date(2023, 11, 1), why="Wrong unit.", by=None, on=TODAY)
    assert {*unit.dues.values_list("system_id", "task")} == here
    assert differences() == []
