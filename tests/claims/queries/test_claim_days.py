"""The day and the make that are kept with a claim follow its failure and its unit, whatever becomes of them."""

import pytest

from fleet import models
from fleet.claims.actions import failures
from fleet.derived import recheck, refresh
from tests import claimed, company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def claim():
    company.on_file(claimed.PAYS)
    of = company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return claimed.approved(claimed.failure(of, "2026-02-01"), "120.00")


def kept_with(claim: models.Claim) -> tuple[str | None, str]:
    """Give what is kept with a claim, after recheck found nothing wrong with it."""
    assert [str(one) for one in recheck.differences(on=TODAY)] == []
    claim.refresh_from_db()
    return claim.failed_on and claim.failed_on.isoformat(), claim.maker


def test_it_is_kept_from_the_opening_on(claim):
    assert kept_with(claim) == ("2026-02-01", "Northrill")


def test_a_day_that_is_corrected_moves_it(claim):
    failures.correct(claim.failure_id, {"failed_on": failures.Edit("2026-02-01", "2026-01-15")}, by=None, on=TODAY)
    assert kept_with(claim) == ("2026-01-15", "Northrill")


def test_one_on_a_failure_that_was_voided_counts_for_nothing(claim):
    other = claimed.claim(claimed.failure(claim.failure.unit, "2026-02-03"))
    failures.void(other.failure_id, reason="Wrong unit.", by=None, on=TODAY)
    assert kept_with(other) == (None, "Northrill")


def test_another_make_is_kept_with_it(claim):
    unit = claim.failure.unit
    models.Unit.objects.filter(pk=unit.pk).update(maker="NORTHRILL")
    refresh.refresh([unit.pk], on=TODAY)
    assert kept_with(claim) == ("2026-02-01", "NORTHRILL")


@pytest.mark.parametrize(
    ("told", "wrong"), [({"failed_on": None}, "failed_on=None"), ({"maker": "Zeph"}, "maker=Zeph")]
)
def test_recheck_says_where_it_differs(told, wrong, claim):
    models.Claim.objects.update(**told)
    (found,) = recheck.differences(on=TODAY)
    assert (found.row, wrong in found.kept, wrong in found.worked_out) == (f"claim {claim.pk}", True, False)
