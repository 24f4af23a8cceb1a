"""Right after a new install: a photo of each nameplate, and the proof that it is registered."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from tests import company
from tests.pages import words
from tests.registry.actions.test_documents import photo

pytestmark = pytest.mark.django_db


@pytest.fixture
def system(settings, tmp_path) -> models.System:
    settings.MEDIA_ROOT = tmp_path
    company.on_file()
    for serial, room in (("SB-1", "Den"), ("SB-2", "Hall")):
        company.unit(serial, room=room)
    company.worked_out()
    return models.System.objects.get()


@pytest.fixture
def office():
    return company.as_role("office")


def file(name: str, content: bytes | None = None) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, photo() if content is None else content)


def test_each_photo_goes_to_its_unit_and_the_proof_to_the_site(system, office):
    den, hall = models.Unit.objects.order_by("pk")
    page = office.get(f"/new-install/{system.pk}")
    assert "Nameplate photo of Den" in words(page)
    assert "Photo on file" not in words(page)
    sent = {
        f"plate-{den.pk}": [file("den.jpg")],
        "proof": [file("paper.pdf", b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF\n")],
    }
    response = office.post(f"/new-install/{system.pk}/photos", sent)
    assert response["Location"] == f"/new-install/{system.pk}"
    kept = {
        (one.unit_id, one.site_id, one.name, one.caption, one.proves_registration)
        for one in models.Document.objects.all()
    }
    assert kept == {
        (den.pk, None, "den.jpg", "Nameplate", False),
        (None, system.site_id, "paper.pdf", f"Proof of registration: {system.name}", True),
    }
    page = words(office.get(f"/new-install/{system.pk}"))
    assert "2 added." in page
    assert page.count("Photo on file") == 1
    assert hall.documents.count() == 0


def test_one_that_is_refused_is_said_at_its_unit_and_costs_no_other(system, office):
    den, hall = models.Unit.objects.order_by("pk")
    sent = {f"plate-{den.pk}": [file("den.jpg")], f"plate-{hall.pk}": [file("hall.jpg", b"no picture")]}
    response = office.post(f"/new-install/{system.pk}/photos", sent)
    assert response.status_code == 422
    assert "hall.jpg was not added." in words(response)
    assert response.context["form"].errors.keys() == {f"plate-{hall.pk}"}
    assert [one.unit_id for one in models.Document.objects.all()] == [den.pk]
    assert office.post(f"/new-install/{system.pk}/photos", {f"plate-{den.pk}": [file("den.jpg")]}).status_code == 302
    assert models.Document.objects.count() == 1  # the same photo again is kept once


def test_nothing_chosen_and_a_unit_of_another_system_add_nothing(system, office):
    response = office.post(f"/new-install/{system.pk}/photos", {})
    assert response.status_code == 422
    assert "Choose a photo first." in words(response)
    other = company.unit("SB-3", customer="Brit Vale")
    assert office.post(f"/new-install/{system.pk}/photos", {f"plate-{other.pk}": [file("a.jpg")]}).status_code == 422
    assert not models.Document.objects.exists()
    assert office.post("/new-install/999/photos", {}).status_code == 404
    assert company.as_role("technician").post(f"/new-install/{system.pk}/photos", {}).status_code == 403


def test_more_units_take_no_more_queries(system, office):
    counts = []
    for round_ in range(2):
        with CaptureQueriesContext(connection) as found:
            office.get(f"/new-install/{system.pk}")
        counts.append(len(found))
        for number in range(5):
            company.unit(f"SB-9{round_}{number}", room=f"Room {round_}{number}")
        company.worked_out()
    assert counts[1] <= counts[0] <= 30
