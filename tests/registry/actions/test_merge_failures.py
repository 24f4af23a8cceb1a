"""A unit entered twice, of which failures were recorded: merged, what hangs on them comes along; undone, it is as it was."""

from decimal import Decimal
from uuid import uuid4

import pytest

from fleet import models
from fleet.claims.actions import failures
from fleet.derived import recheck
from fleet.refusals import Refused
from fleet.registry.actions import merges
from tests import claimed, company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
TABLES = (
    models.Unit, models.Failure, models.Reading, models.RefrigerantEntry, models.FailureAnswer, models.Document, models.Claim,
    models.ClaimStep,
)  # fmt: skip
SENSOR = {"component": "sensor", "failed_on": "2026-02-20", "parts_cost": "84.50"}
AMPS = {"reading": "amps", "value": "7"}
ADDED = {"move": "added", "refrigerant": "R-410A", "ounces": "8", "who": "Tam Reyes"}
CHOSEN = {"serial": "kept", "system": "kept"}


def told() -> dict[str, list[tuple]]:
    return {table.__name__: list(table.objects.order_by("pk").values_list()) for table in TABLES}


@pytest.fixture
def two():
    company.on_file()
    left = company.unit("SB-1002", started_on="2021-03-10", room="Den")
    right = company.unit("SB-10O2", customer="O. Marsh", started_on="2021-03-10")
    company.worked_out()
    return left, right


def record(unit, told=SENSOR, **rows):
    return failures.record(unit.pk, told, key=uuid4(), by=None, on=TODAY, **rows)


def merge(two):
    return merges.merge("unit", two[0].pk, two[1].pk, chosen=CHOSEN, by=None, on=TODAY)


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def test_a_failure_comes_along_with_all_that_hangs_on_it(two):
    left, right = two
    failure = record(right, measured=[AMPS], weighed=[ADDED])
    models.Document.objects.create(
        unit=right, failure=failure, kind="photo", name="a.jpg", media_type="image/jpeg", stored="a", digest="a", size=1
    )
    claimed.claim(failure)
    before = told()
    done = merge(two)
    failure.refresh_from_db()
    assert failure.unit == left
    assert (failure.readings.get().unit, failure.documents.get().unit) == (left, left)
    assert (failure.refrigerant_entries.get().ounces, failure.claims.get().state) == (Decimal("8.00"), "gathering")
    assert clean()
    merges.undo(done.pk, by=None, on=TODAY)
    assert told() == before
    assert clean()


def test_one_recorded_on_both_is_one_with_what_either_has(two):
    left, right = two
    kept, gone = record(left, measured=[AMPS]), record(right, measured=[AMPS, AMPS | {"value": "9"}], weighed=[ADDED])
    claimed.claim(gone)
    before = told()
    done = merge(two)
    assert models.Failure.objects.get() == kept
    assert sorted(kept.readings.values_list("value", flat=True)) == [Decimal("7.000"), Decimal("9.000")]
    assert (kept.refrigerant_entries.count(), kept.claims.count(), kept.answers.count()) == (1, 1, 2)
    assert clean()
    merges.undo(done.pk, by=None, on=TODAY)
    assert told() == before
    assert clean()


def test_a_voided_one_stays_beside_the_same_one_that_counts(two):
    left, right = two
    record(left)
    failures.void(record(right).pk, reason="told twice", by=None, on=TODAY)
    merge(two)
    assert sorted(left.failures.values_list("voided_on", flat=True), key=str) == [TODAY, None]
    assert clean()


def test_two_claims_on_one_payer_for_what_is_one_failure_are_refused(two):
    for unit in two:
        claimed.claim(record(unit), because=str(unit))
    before = told()
    with pytest.raises(Refused, match="cannot be merged as they are"):
        merge(two)
    assert told() == before


def test_sites_merged_keep_the_refrigerant_of_their_systems(two):
    left, right = two
    record(left, weighed=[ADDED])
    record(right, weighed=[ADDED | {"ounces": "12"}])
    before = told()
    sites = [unit.system.site_id for unit in two]
    done = merges.merge("site", *sites, chosen={"customer": "kept", "name": "kept"}, by=None, on=TODAY)
    system = models.System.objects.get()
    assert sorted(system.refrigerant_entries.values_list("ounces", flat=True)) == [Decimal("8.00"), Decimal("12.00")]
    assert clean()
    merges.undo(done.pk, by=None, on=TODAY)
    assert told() == before
