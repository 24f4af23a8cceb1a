"""Photos and papers over the web: who gets them, how they are handed out, and what is said of a file that is refused."""

import io
import re
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from fleet import models
from fleet.models.people import Role
from fleet.registry.actions import documents
from fleet.web import access
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.7\ntrailer<<>>\n%%EOF\n"


def photo(width: int = 600) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, 300), (90, 120, 90)).save(out, "JPEG")
    return out.getvalue()


def content_of(response) -> bytes:
    """Read to its end, which also closes the file."""
    return b"".join(response.streaming_content)


def sent(*files: tuple[str, bytes], **said: str) -> dict[str, object]:
    return {"documents": [SimpleUploadedFile(name, content) for name, content in files], **said}


@pytest.fixture
def media(tmp_path, settings) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    return settings.MEDIA_ROOT


@pytest.fixture
def unit(media) -> models.Unit:
    company.on_file()
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return made


@pytest.fixture
def office(unit) -> Client:
    return company.as_role("office")


@pytest.fixture
def kept(unit, office) -> dict[str, models.Document]:
    """A photo and a paper of the unit."""
    by = models.User.objects.get(username="office")
    return {
        name: documents.add(file=io.BytesIO(content), name=name, whose=unit, by=by)
        for name, content in (("plate.png", photo()), ("confirmation.pdf", PDF))
    }


# -- adding


@pytest.mark.parametrize("role", list(Role))
def test_everybody_adds_photos_and_papers_and_comes_back_to_the_unit(role, unit):
    client = company.as_role(role)
    files = sent(("a.jpg", photo()), ("b.pdf", PDF), caption="Nameplate", proves_registration="on")
    response = client.post(f"/units/{unit.pk}/documents", files)
    assert response["Location"] == f"/units/{unit.pk}#documents"
    page = client.get(f"/units/{unit.pk}")
    assert "2 added." in words(page)
    assert [(one.words, one.proves_registration) for one in page.context["papers"].photos] == [("Nameplate", True)]
    assert [(one.words, one.size) for one in page.context["papers"].papers] == [("Nameplate", "27 bytes")]
    assert f"Wynn {role.title()}" in words(page)


def test_a_site_has_its_own(unit, office):
    site = unit.system.site
    response = office.post(f"/sites/{site.pk}/documents", sent(("a.jpg", photo())))
    assert response["Location"] == f"/sites/{site.pk}#documents"
    assert len(office.get(f"/sites/{site.pk}").context["papers"].photos) == 1
    assert len(office.get(f"/units/{unit.pk}").context["papers"].photos) == 0


def test_one_file_that_is_refused_does_not_cost_the_others(unit, office):
    files = sent(("a.jpg", photo()), ("b.jpg", b"<html>"), ("c.txt", b"hello"), caption="Nameplate")
    response = office.post(f"/units/{unit.pk}/documents", files)
    assert response.status_code == 422
    page = words(response)
    assert "Added." in page
    assert "b.jpg was not added. It is named as a photo, but no photo could be read in it." in page
    assert "c.txt was not added. Only photos (JPEG, PNG, WebP) and papers (PDF) are taken." in page
    assert 'value="Nameplate"' in page
    assert models.Document.objects.count() == 1


def test_a_name_is_escaped(unit, office):
    response = office.post(f"/units/{unit.pk}/documents", sent(("<b>x.jpg", b"no")))
    assert "&lt;b&gt;x.jpg was not added" in words(response)


@pytest.mark.parametrize(
    ("number", "status"),
    [pytest.param(0, 422, id="none"), pytest.param(20, 302, id="20"), pytest.param(21, 422, id="21")],
)
def test_some_files_at_once(number, status, unit, office):
    files = sent(*((f"{one}.jpg", photo(40 + one)) for one in range(number)))
    response = office.post(f"/units/{unit.pk}/documents", files)
    assert response.status_code == status
    assert models.Document.objects.count() == (number if status == 302 else 0)
    if status == 422:
        said = "At most 20 at once; these are 21." if number else "Choose a photo or a paper first."
        assert said in words(response)


def test_nothing_is_added_to_what_is_not_there(office):
    for address in ("/units/987654/documents", "/sites/987654/documents"):
        assert office.get(address).status_code == 404
        assert office.post(address, sent(("a.jpg", photo()))).status_code == 404


def test_the_form_sends_files_and_a_phone_sends_jpeg(unit, office):
    page = words(office.get(f"/units/{unit.pk}"))
    assert f'<form method="post" action="/units/{unit.pk}/documents" enctype="multipart/form-data"' in page
    (field,) = re.findall(r'<input type="file"[^>]+>', page)
    assert 'accept="image/jpeg,image/png,image/webp,application/pdf"' in field
    assert " multiple" in field


# -- handing out


def test_a_photo_is_shown_and_a_paper_is_saved(kept, office):
    shown = office.get(f"/documents/{kept['plate.png'].pk}")
    assert (shown["Content-Type"], shown["Content-Disposition"]) == ("image/jpeg", 'inline; filename="plate.jpg"')
    assert Image.open(io.BytesIO(content_of(shown))).size == (600, 300)
    saved = office.get(f"/documents/{kept['confirmation.pdf'].pk}")
    assert (saved["Content-Type"], saved["Content-Disposition"]) == (
        "application/pdf", 'attachment; filename="confirmation.pdf"',
    )  # fmt: skip
    assert content_of(saved) == PDF


def test_the_small_copy_is_small_and_a_paper_has_none(kept, office):
    small = office.get(f"/documents/{kept['plate.png'].pk}/small")
    assert Image.open(io.BytesIO(content_of(small))).size == (400, 200)
    assert office.get(f"/documents/{kept['confirmation.pdf'].pk}/small").status_code == 404


@pytest.mark.parametrize("name", ["plate.png", "confirmation.pdf"])
def test_nothing_in_a_file_runs_and_nobody_keeps_a_copy(name, kept, office):
    response = office.get(f"/documents/{kept[name].pk}")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Security-Policy"] == "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    assert response["Cache-Control"] == "private, no-store"
    assert response["X-Frame-Options"] == "DENY"
    content_of(response)


def test_a_name_cannot_break_out_of_its_header(unit, office):
    by = models.User.objects.get(username="office")
    row = documents.add(file=io.BytesIO(photo()), name='a"; x="\N{SNOWMAN}.jpg', whose=unit, by=by)
    response = office.get(f"/documents/{row.pk}")
    assert response["Content-Disposition"] == "inline; filename*=utf-8''a%22%3B%20x%3D%22%E2%98%83.jpg"
    content_of(response)


def test_who_gets_a_file(kept):
    address = f"/documents/{kept['plate.png'].pk}"
    stranger = company.as_role("")
    for path in (address, f"{address}/small"):
        assert Client().get(path)["Location"] == f"/login?next={path}"
        assert stranger.get(path).status_code == 404
        for role in Role:
            response = company.as_role(role).get(path)
            assert response.status_code == 200
            content_of(response)


def test_the_folder_has_no_address(kept, office):
    for address in (
        f"/media/{kept['plate.png'].stored}",
        f"/{kept['plate.png'].stored}",
        f"/static/{kept['plate.png'].stored}",
    ):
        assert office.get(address).status_code == 404


def test_a_file_that_is_on_file_but_not_on_the_disk_is_not_there(kept, office, media, caplog):
    (media / kept["plate.png"].stored).unlink()
    assert office.get(f"/documents/{kept['plate.png'].pk}").status_code == 404
    assert "is on file, but not in the media folder" in caplog.text


# -- dropping


def test_the_office_drops_a_photo_and_brings_it_back(kept, unit, office):
    row = kept["plate.png"]
    response = office.post(f"/documents/{row.pk}/drop")
    assert response["Location"] == f"/units/{unit.pk}#documents"
    page = office.get(f"/units/{unit.pk}")
    assert "Removed: plate.png." in words(page)
    assert "Removed (1)" in words(page)
    assert page.context["papers"].photos == ()
    assert office.get(f"/documents/{row.pk}").status_code == 404
    assert office.get(f"/documents/{row.pk}/small").status_code == 404
    office.post(f"/documents/{row.pk}/back")
    page = office.get(f"/units/{unit.pk}")
    assert [one.name for one in page.context["papers"].photos] == ["plate.png"]
    assert "Removed (" not in words(page)


def test_a_technician_neither_drops_nor_is_offered_to(kept, unit):
    technician = company.as_role("technician")
    row = kept["plate.png"]
    assert technician.post(f"/documents/{row.pk}/drop").status_code == 403
    row.refresh_from_db()
    assert row.dropped_on is None
    page = words(technician.get(f"/units/{unit.pk}"))
    assert ">Remove<" not in page
    assert Role.TECHNICIAN not in access.roles_of("document_back")


def test_more_photos_take_no_more_queries(unit, office, django_assert_num_queries):
    by = models.User.objects.get(username="office")
    documents.add(file=io.BytesIO(photo()), name="a.jpg", whose=unit, by=by)
    with django_assert_num_queries(6):
        office.get(f"/units/{unit.pk}/documents")
    for number in range(5):
        documents.add(file=io.BytesIO(photo(100 + number)), name="a.jpg", whose=unit, by=by)
    with django_assert_num_queries(6):
        office.get(f"/units/{unit.pk}/documents")
