"""A correction of what a claim has beside its steps, undone from its log."""

import datetime as dt

import pytest

from fleet import models
from fleet.claims.actions import claims
from fleet.derived import recheck
from tests import claimed, company
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def claim() -> models.Claim:
    company.on_file(claimed.STRICT)
    return claimed.claim(claimed.failure())


def change(claim: models.Claim, **edits) -> models.Change:
    claim.refresh_from_db()
    claims.change(claim.pk, version=claim.version, edits=edits, by=None, on=TODAY)
    return models.Change.objects.filter(table="claim").latest("pk")


def undo(client, claim: models.Claim, noted: models.Change):
    return client.post(f"/claims/{claim.pk}/undo-correction", {"change": noted.pk}, follow=True)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("reference", "K-77"),
        ("carrier", "Parcel 9"),
        ("approved_on", dt.date(2026, 2, 3)),
        ("part_asked_for", True),
        ("kinds", ["labor"]),
        ("supplier", "Ridge Supply"),
    ],
)
def test_each_correction_is_undone(field, value, claim):
    before = getattr(claim, field)
    if field == "supplier":
        value = models.Supplier.objects.create(name=value)
    noted = change(claim, **{field: value})
    office = company.as_role("office")
    assert "Undo this correction" in words(office.get(f"/claims/{claim.pk}"))
    assert "The correction is undone." in words(undo(office, claim, noted))
    claim.refresh_from_db()
    assert getattr(claim, field) == before
    assert models.Change.objects.filter(table="claim").latest("pk").why == "correction undone"
    assert not list(recheck.differences(on=TODAY))


def test_what_was_changed_again_since_stays(claim):
    first = change(claim, reference="K-77")
    change(claim, reference="K-78")
    office = company.as_role("office")
    assert "It was changed again since." in words(office.get(f"/claims/{claim.pk}"))
    assert "Nothing was undone. This was changed again since." in words(undo(office, claim, first))
    claim.refresh_from_db()
    assert claim.reference == "K-78"


def test_another_claims_correction_and_nonsense_are_none(claim):
    other = claimed.claim(claimed.failure())
    noted = change(other, reference="K-77")
    office = company.as_role("office")
    assert "This correction is no longer on file." in words(undo(office, claim, noted))
    assert office.post(f"/claims/{claim.pk}/undo-correction", {"change": "x"}).status_code == 404
    assert company.as_role("technician").post(f"/claims/{claim.pk}/undo-correction", {"change": "1"}).status_code == 403
    other.refresh_from_db()
    assert other.reference == "K-77"
