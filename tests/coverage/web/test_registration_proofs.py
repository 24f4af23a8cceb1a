"""The payer's paper stands on the registrations that it proves: with the confirmation, later, and where they are shown."""

import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image

from fleet import models
from fleet.derived import recheck
from fleet.registry.actions import documents, lives, merges
from tests import company
from tests.coverage.web.test_registrations import put_in, sent, words

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.7\ntrailer<<>>\n%%EOF\n"


def photo() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (600, 300), (90, 120, 90)).save(out, "JPEG")
    return out.getvalue()


def file(name: str, content: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


@pytest.fixture
def media(tmp_path, settings) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    return settings.MEDIA_ROOT


@pytest.fixture
def office(media):
    company.on_file()
    return company.as_role("office")


def confirm(office, system: models.System, **told):
    told = {"registered_on": "2026-03-01", "number": "N-77"} | told
    return office.post(f"/systems/{system.pk}/registration", sent(system, **told), follow=True)


def prove(office, system: models.System, told: SimpleUploadedFile | None, *registrations: models.Registration):
    number = models.Terms.objects.get(code="northrill-1").pk
    keys = [one.pk for one in registrations]
    data = {"payer": number, "key": keys} | ({f"with-{number}-proof": told} if told else {})
    return office.post(f"/systems/{system.pk}/registration/proof", data, follow=True)


def clean() -> bool:
    return not list(recheck.differences(on=company.TODAY))


@pytest.mark.parametrize(
    ("name", "content", "kind", "how"),
    [
        pytest.param("letter.pdf", PDF, "document", " download", id="a PDF"),
        pytest.param("letter.jpg", photo(), "photo", "", id="a photo"),
    ],
)
def test_one_paper_stands_on_every_registration_of_one_confirmation(name, content, kind, how, office):
    system = put_in(3)
    page = confirm(office, system, proof=file(name, content))
    paper = models.Document.objects.get()
    assert (paper.kind, paper.site, paper.proves_registration) == (kind, system.site, True)
    assert list(models.Registration.objects.values_list("proof", flat=True)) == [paper.pk] * 3
    link = f'<a href="/documents/{paper.pk}"{how}>Proof: {name}</a>'
    assert link in page.content.decode()
    unit = system.units.first()
    assert link in office.get(f"/units/{unit.pk}").content.decode()
    assert "Proof of registration" in words(office.get(f"/units/{unit.pk}/changes"))
    assert clean()


def test_a_paper_is_shown_to_no_stranger(office):
    confirm(office, put_in(), proof=file("letter.pdf", PDF))
    address = f"/documents/{models.Document.objects.get().pk}"
    assert b"".join(office.get(address).streaming_content) == PDF
    assert Client().get(address).status_code == 302
    assert company.as_role("").get(address).status_code == 404


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("letter.pdf", photo(), "It is named as a PDF, but it is none, or not a whole one."),
        ("letter.jpg", PDF, "It is named as a photo, but no photo could be read in it."),
        ("letter.exe", PDF, "Only photos (JPEG, PNG, WebP) and papers (PDF) are taken."),
        ("letter.pdf", PDF[:-7], "It is named as a PDF, but it is none, or not a whole one."),
    ],
)
def test_a_file_that_is_not_what_it_claims_is_refused_and_nothing_is_recorded(name, content, said, office, media):
    system = put_in()
    refused = confirm(office, system, proof=file(name, content))
    assert refused.status_code == 422
    assert said in words(refused)
    assert 'value="N-77"' in refused.content.decode()
    assert not models.Registration.objects.exists()
    confirm(office, system)
    told = models.Registration.objects.all()
    late = prove(office, system, file(name, content), *told)
    assert late.status_code == 422
    assert said in words(late)
    assert not models.Document.objects.exists()
    assert not [path for path in media.rglob("*") if path.is_file()]


def test_a_proof_that_comes_later_stands_on_what_is_on_file(office):
    """Also on what a file told."""
    unit = company.unit("SB-1", installed_on="2026-02-10", registered_on="2026-02-20", registration_number="N-5")
    company.worked_out()
    told = unit.registrations.get()
    page = prove(office, unit.system, file("letter.pdf", PDF), told)
    assert "Proof added: letter.pdf." in words(page)
    assert "Proof: letter.pdf" in words(page)
    told.refresh_from_db()
    assert told.proof == models.Document.objects.get()
    missing = prove(office, unit.system, None, told)
    assert missing.status_code == 422
    assert "Choose a photo or a PDF first." in words(missing)
    another = prove(office, unit.system, file("letter.jpg", photo()), told)
    assert "Proof: letter.jpg" in words(another)
    assert models.Document.objects.count() == 2  # the first stays with the papers of the site


def test_the_same_confirmation_sent_again_with_its_paper_stands_on_what_was_recorded(office):
    system = put_in()
    confirm(office, system)
    first, second = models.Registration.objects.order_by("pk")
    prove(office, system, file("letter.pdf", PDF), first)
    prove(office, system, file("letter.pdf", PDF), first, second)
    assert models.Document.objects.count() == 1
    assert list(models.Registration.objects.values_list("proof", flat=True)) == [models.Document.objects.get().pk] * 2
    assert models.Change.objects.filter(field="proof of registration").count() == 2


def test_another_systems_registration_is_not_proved(office):
    system, other = put_in(1), put_in(1, customer="Tove Lind")
    confirm(office, other)
    told = models.Registration.objects.get()
    refused = prove(office, system, file("letter.pdf", PDF), told)
    assert "Nothing was recorded" in words(refused)
    assert not models.Document.objects.exists()
    told.refresh_from_db()
    assert told.proof is None


def test_a_paper_that_was_dropped_proves_nothing_until_it_is_brought_back(office):
    system = put_in(1)
    confirm(office, system, proof=file("letter.pdf", PDF))
    paper = models.Document.objects.get()
    documents.drop(document=paper, by=models.User.objects.get(), on=company.TODAY)
    addresses = (f"/systems/{system.pk}/registration", f"/units/{system.units.get().pk}")
    for address in addresses:
        assert "Proof: letter.pdf" not in words(office.get(address))
    documents.bring_back(document=paper, by=models.User.objects.get())
    for address in addresses:
        assert "Proof: letter.pdf" in words(office.get(address))


def test_a_proof_goes_along_in_an_exchange_and_in_a_merge(office):
    system = put_in(1)
    confirm(office, system, proof=file("letter.pdf", PDF))
    unit = system.units.get()
    told = {"new_serial": "N-1", "under_warranty": "yes"}
    heir = lives.tell(unit.pk, kind="exchanged", day="2026-03-02", told=told, by=None, on=company.TODAY)
    assert "Proof: letter.pdf" in words(office.get(f"/units/{heir.pk}"))
    twin = company.unit("", room="Room 0", customer="Tove Lind")
    kept = merges.merge("unit", twin.pk, unit.pk, chosen={"system": "gone"}, by=None, on=company.TODAY)
    assert twin.registrations.get().proof == models.Document.objects.get()
    merges.undo(kept.pk, by=None, on=company.TODAY)
    assert unit.registrations.get().proof == models.Document.objects.get()
    assert clean()


def test_more_units_and_papers_take_no_more_queries(office):
    asked = []
    for number, customer in ((1, "Odile Marsh"), (5, "Tove Lind")):
        system = put_in(number, customer=customer)
        confirm(office, system, proof=file("letter.pdf", PDF))
        for address in (f"/systems/{system.pk}/registration", f"/units/{system.units.first().pk}"):
            office.get(address)
            with CaptureQueriesContext(connection) as queries:
                office.get(address)
            asked.append(len(queries))
    assert asked[:2] == asked[2:]
