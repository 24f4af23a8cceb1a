"""What one form costs to save: it works out what the change can touch, and nothing else."""

import datetime as dt

import pytest

from fleet import models
from fleet.claims.actions import claims, failures
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.registry.actions import correct
from tests import claimed, company, rows

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
FAILED = {"component": "sensor", "failed_on": "2026-02-20"}


@pytest.fixture
def claim():
    """A claim on one of eight heads, with everything worked out."""
    company.on_file(claimed.PAYS, company.OURS)
    heads = [
        company.unit(f"SB-{number}", room=f"Room {number}", started_on="2024-03-10", installed_on="2024-03-09")
        for number in range(8)
    ]
    company.worked_out()
    return claimed.claim(claimed.failure(heads[0], repaired_on="2026-02-02", part_taken_on="2026-02-02"))


def cost(work):
    """The queries that saving takes, savepoints aside; what is kept afterward must be what the facts give."""
    with rows.asked() as queries:
        work()
    assert list(recheck.differences(on=TODAY)) == []
    return [query for query in queries if "SAVEPOINT" not in query]


def kept_of_others(unit):
    """What is kept of the units beside one, by the keys of its rows, which a rewriting changes."""
    tables = (models.HoldingRow, models.CoverageRow, models.DueRow)
    return [list(table.objects.exclude(unit=unit).order_by("pk").values_list("pk", flat=True)) for table in tables]


def change(claim, **edits):
    return cost(lambda: claims.change(claim.pk, version=claim.version, edits=edits, by=None, on=TODAY))


def test_a_reference_number_reads_and_writes_the_claim_alone(claim):
    assert len(change(claim, reference="NR-5521")) == 3
    on_file = models.Claim.objects.get(pk=claim.pk)
    assert (on_file.reference, on_file.version) == ("NR-5521", claim.version + 1)


def test_a_claim_is_given_back_as_it_then_stands(claim):
    for edits in ({"reference": "NR-5521"}, {"carrier": "Parcel 7"}, {"part_back_on": dt.date(2026, 2, 20)}):
        claim = claims.change(claim.pk, version=claim.version, edits=edits, by=None, on=TODAY)
        on_file = models.Claim.objects.get(pk=claim.pk)
        names = [field.attname for field in models.Claim._meta.concrete_fields]
        assert [getattr(claim, name) for name in names] == [getattr(on_file, name) for name in names]


def test_a_day_of_a_claim_works_out_its_clocks_alone(claim):
    before = [list(table.objects.values_list("pk", flat=True)) for table in (models.CoverageRow, models.DueRow)]
    assert len(change(claim, part_back_on=dt.date(2026, 2, 20))) <= 40
    assert before == [list(table.objects.values_list("pk", flat=True)) for table in (models.CoverageRow, models.DueRow)]


def test_a_failure_works_out_its_own_unit_alone(claim):
    unit = claim.failure.unit
    before = kept_of_others(unit)
    queries = cost(lambda: failures.record(unit.pk, FAILED, by=None, on=TODAY))
    assert kept_of_others(unit) == before
    assert len(queries) <= 50


@pytest.mark.parametrize(("field", "now", "most"), [("room", "Loft", 25), ("surroundings", "coast", 70)])
def test_a_correction_works_out_what_hangs_on_the_field(claim, field, now, most):
    unit = claim.failure.unit
    edits = {field: Edit(getattr(unit, field), now)}
    assert len(cost(lambda: correct.unit(unit.pk, edits, by=None, on=TODAY, why="read again"))) <= most
