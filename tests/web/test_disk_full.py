"""Nothing more fits on the disk: said in words, with what was typed at hand, and taken once there is room."""

import contextlib
import io
import resource
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from PIL import Image

from fleet import models
from tests import company
from tests.web.test_busy import TYPED, sent_again

pytestmark = pytest.mark.django_db


@contextlib.contextmanager
def no_room_in_the_database() -> Iterator[None]:
    """SQLite's own limit of a file, at what it has already; what it then says is what it says of a full disk.

    Pages that tests before this one left free are filled first: a thousand rows may find room in them.
    """
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA page_size")
        (bytes_of_a_page,) = cursor.fetchone()
        cursor.execute("PRAGMA freelist_count")
        (free,) = cursor.fetchone()
        cursor.execute(f"CREATE TABLE filled AS SELECT zeroblob({free * bytes_of_a_page}) AS room")
        cursor.execute("PRAGMA page_count")
        (now,) = cursor.fetchone()
        cursor.execute("PRAGMA max_page_count")
        (usual,) = cursor.fetchone()
        cursor.execute(f"PRAGMA max_page_count={now}")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA max_page_count={usual}")
            cursor.execute("DROP TABLE filled")


@contextlib.contextmanager
def no_room_for_files(largest: int) -> Iterator[None]:
    """No file may grow beyond so many bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.django_db(transaction=True)
def test_what_was_typed_stands_ready_until_there_is_room():
    if connection.vendor != "sqlite":
        pytest.skip("about a file of SQLite's")
    company.on_file()
    site = company.unit("SB-1").system.site
    office = company.as_role("office")
    address = f"/sites/{site.pk}/contacts/add"
    with no_room_in_the_database():
        for number in range(1_000):  # until the last page is full
            typed = {**TYPED, "name": f"Ida {number}", "reach": "x" * 300}
            response = office.post(address, typed)
            if response.status_code != 302:
                break
        count = models.Contact.objects.count()
    page = response.content.decode()
    assert response.status_code == 507
    assert "The disk is full" in page
    assert "nothing that you typed is lost" in page
    assert sent_again(page) == typed
    assert count == number
    assert office.post(address, sent_again(page)).status_code == 302
    assert models.Contact.objects.filter(name=f"Ida {number}").count() == 1


def test_a_photo_that_no_longer_fits_leaves_nothing_behind(tmp_path, settings):
    settings.MEDIA_ROOT = Path(tmp_path / "media")
    company.on_file()
    unit = company.unit("SB-1")
    office = company.as_role("office")
    kept = io.BytesIO()
    Image.effect_noise((800, 800), 80).save(kept, "PNG")
    photo = SimpleUploadedFile("plate.png", kept.getvalue())
    with no_room_for_files(20_000):
        response = office.post(f"/units/{unit.pk}/documents", {"documents": photo, "caption": "plate"})
    assert response.status_code == 507
    assert "The disk is full" in response.content.decode()
    assert "choose them again afterwards" in response.content.decode()
    assert not models.Document.objects.exists()
    assert [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()] == []


@pytest.mark.parametrize("larger_by", [3_000_000, 10], ids=["before its end", "with its last bytes"])
def test_a_large_file_that_no_longer_fits_is_told_of_before_anybody_misses_it(larger_by, tmp_path, settings):
    """One of more than 2.5 MB waits on the disk for temporary files until the view takes it."""
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    company.on_file()
    unit = company.unit("SB-1")
    office = company.as_role("office")
    paper = SimpleUploadedFile("paper.pdf", b"%PDF-1.7\n" + b"0" * 6_000_000 + b"\n%%EOF\n")
    with no_room_for_files(paper.size - larger_by):
        response = office.post(f"/units/{unit.pk}/documents", {"caption": "the <old> paper", "documents": paper})
    page = response.content.decode()
    assert response.status_code == 507
    assert "The disk is full" in page
    assert "choose them again afterwards" in page
    assert sent_again(page)["caption"] == "the <old> paper"
    assert not models.Document.objects.exists()
    assert list(tmp_path.iterdir()) == []


def test_what_stands_after_a_file_that_does_not_fit_is_read_too(tmp_path, settings):
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    company.on_file()
    unit = company.unit("SB-1")
    paper = SimpleUploadedFile("paper.pdf", b"%PDF-1.7\n" + b"0" * 3_000_000)
    with no_room_for_files(20_000):
        response = company.as_role("office").post(
            f"/units/{unit.pk}/documents", {"documents": paper, "caption": "after it"}
        )
    assert sent_again(response.content.decode())["caption"] == "after it"
