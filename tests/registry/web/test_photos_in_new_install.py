"""Photos chosen in the form of a new install, and an address in one line there: what is kept, what is refused, what is undone."""

import pytest

from fleet import models
from fleet.derived import recheck
from fleet.registry.actions.undo_install import undo_install
from fleet.registry.forms.addresses import ASK
from tests import company
from tests.pages import words
from tests.registry.web.test_install_photos import file
from tests.registry.web.test_new_install import HEAD, OUTDOOR, sent

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF\n"


@pytest.fixture
def office(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    company.on_file()
    return company.as_role("office")


def kept() -> set[tuple[str, str, str, bool]]:
    return {
        (str(one.whose), one.name, one.caption, one.proves_registration)
        for one in models.Document.objects.select_related("unit", "site")
    }


def test_each_photo_goes_to_the_unit_of_its_row_and_the_proof_to_the_site(office):
    told = sent(OUTDOOR, HEAD, HEAD | {"room": "Loft", "serial": ""})
    files = {"unit-0-plate": file("shed.jpg"), "unit-2-plate": file("loft.jpg"), "proof": file("proof.pdf", PDF)}
    answer = office.post("/new-install", told | files, follow=True)
    assert "Saved: 3 units added." in words(answer)
    assert kept() == {
        ("Northrill NX-36 NW-30177", "shed.jpg", "Nameplate", False),
        (str(models.Unit.objects.get(room="Loft")), "loft.jpg", "Nameplate", False),
        ("Home", "proof.pdf", "Proof of registration: System 1", True),
    }
    assert words(answer).count("Photo on file") == 2


def test_a_file_that_is_none_costs_neither_the_install_nor_the_others(office):
    files = {"unit-0-plate": file("shed.jpg", b"no picture"), "unit-1-plate": file("den.jpg")}
    answer = office.post("/new-install", sent(OUTDOOR, HEAD) | files, follow=True)
    assert "Saved: 2 units added." in words(answer)
    assert "shed.jpg was not added." in words(answer)
    assert {name for _, name, _, _ in kept()} == {"den.jpg"}


def test_a_photo_alone_is_a_unit_of_which_the_rest_is_still_to_be_written(office):
    told = sent(OUTDOOR)
    refused = office.post("/new-install", told | {"unit-1-plate": file("den.jpg")})
    assert refused.status_code == 422
    assert "Check the photos: if a field is empty now, choose the photo again." in words(refused)
    assert not models.Unit.objects.exists()
    assert not models.Document.objects.exists()


def test_undone_the_install_takes_its_photos_along_but_no_later_one(
    office, django_capture_on_commit_callbacks, settings
):
    files = {"unit-0-plate": file("shed.jpg"), "proof": file("proof.pdf", PDF)}
    office.post("/new-install", sent(OUTDOOR) | files)
    load, unit = models.Load.objects.get(kind="installs"), models.Unit.objects.get()
    later = models.Document.objects.create(
        unit=unit, kind="document", name="later.pdf", media_type="application/pdf", stored="documents/x.pdf", size=1
    )
    page = office.post(f"/new-install/saved/{load.pk}/back", follow=True)
    assert "Nothing was undone. 1 photo or paper on" in words(page)
    later.delete()
    assert len([one for one in settings.MEDIA_ROOT.rglob("*") if one.is_file()]) == 3  # a photo has its small copy
    with django_capture_on_commit_callbacks(execute=True):
        undo_install(load.pk, by=company.person("owner"), on=company.TODAY)
    assert not models.Document.objects.exists()
    assert not models.Customer.objects.exists()
    assert [one for one in settings.MEDIA_ROOT.rglob("*") if one.is_file()] == []
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_whole_address_is_looked_at_in_its_parts_before_it_is_saved(office):
    asked = office.post("/new-install", sent(OUTDOOR, street="12 Cider Ln, Quill Harbor, Maine 4791"))
    assert (asked.status_code, ASK in words(asked)) == (422, True)
    for text in ('value="12 Cider Ln"', 'value="Quill Harbor"', 'value="Maine"', 'value="04791"', 'value="NW-30177"'):
        assert text in words(asked)
    assert not models.Unit.objects.exists()
    parts = {"street": "12 Cider Ln", "city": "Quill Harbor", "region": "Maine", "postcode": "04791"}
    office.post("/new-install", sent(OUTDOOR, **parts))
    site = models.Site.objects.get()
    assert (site.street, site.city, site.region, site.postcode) == ("12 Cider Ln", "Quill Harbor", "US-ME", "04791")


def test_what_only_looks_like_more_than_a_street_is_left_alone(office):
    for street in ("12 Cider Ln", "12 Cider Ln, Apt 2", "Cider Ln"):
        answer = office.post("/new-install", sent(OUTDOOR | {"serial": f"NW-{street}"}, street=street, system=street))
        assert ASK not in words(answer), street


def test_the_state_begins_as_our_own(office):
    models.Company.objects.create(pk=1, address="3 Mill Rd\nQuill Harbor, ME 04791")
    assert 'name="region" value="Maine"' in words(office.get("/new-install"))
