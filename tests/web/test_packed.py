"""What is sent compressed: text to a browser that asks for it, and nothing that is compressed already."""

import gzip
import io

import pytest
from PIL import Image

from fleet import models
from tests import company, stops

pytestmark = pytest.mark.django_db

ASKING = {"HTTP_ACCEPT_ENCODING": "gzip, deflate, br"}
MOST = 40_000


def body(response) -> bytes:
    return b"".join(response.streaming_content) if response.streaming else response.content


def test_the_pages_of_a_site_of_22_units_are_small_on_the_line():
    units = stops.house(21)
    technician = company.as_role("technician")
    for address in (f"/sites/{units[0].system.site_id}/write-up", *(f"/units/{unit.pk}" for unit in units[::10])):
        plain = technician.get(address)
        sent = technician.get(address, **ASKING)
        assert (plain.status_code, sent.status_code) == (200, 200)
        assert not plain.has_header("Content-Encoding")
        assert sent["Content-Encoding"] == "gzip"
        assert int(sent["Content-Length"]) == len(sent.content) < MOST
        assert "Accept-Encoding" in sent["Vary"]
        assert b"</html>" in gzip.decompress(sent.content)


def test_a_stop_for_the_phone_and_a_list_as_a_file_are_compressed():
    site = stops.house(2)[0].system.site_id
    owner = company.as_role("owner")
    for address, starts in (
        (f"/phone/stops?site={site}", b"{"),
        ("/calls?as=csv", b"\xef\xbb\xbf"),
        ("/phone-worker.js", b"/"),
    ):
        sent = owner.get(address, **ASKING)
        assert (sent.status_code, sent["Content-Encoding"]) == (200, "gzip")
        assert gzip.decompress(body(sent)).startswith(starts)


def test_what_is_compressed_already_is_sent_as_it_is(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    unit = company.unit("SB-1")
    owner = company.as_role("owner")
    picture = io.BytesIO()
    Image.effect_noise((400, 300), 60).save(picture, "JPEG")
    picture.seek(0)
    picture.name = "plate.jpg"
    assert owner.post(f"/units/{unit.pk}/documents", {"documents": picture, "caption": "plate"}).status_code == 302
    photo = models.Document.objects.get().pk
    for address, starts in (
        (f"/documents/{photo}", b"\xff\xd8"),
        (f"/documents/{photo}/small", b"\xff\xd8"),
        ("/calls?as=xlsx", b"PK"),
    ):
        sent = owner.get(address, **ASKING)
        assert sent.status_code == 200
        assert not sent.has_header("Content-Encoding")
        whole = body(sent)
        assert int(sent["Content-Length"]) == len(whole)
        assert whole.startswith(starts)


def test_the_length_of_a_page_tells_nobody_what_secret_stands_in_it():
    """A token is another each time, and so is the length, since the framework adds bytes at random."""
    office = company.as_role("office")
    sent = [office.get("/calls/new", **ASKING) for _ in range(12)]
    assert len({gzip.decompress(one.content).partition(b"csrfmiddlewaretoken")[2][:120] for one in sent}) == 12
    assert len({len(one.content) for one in sent}) > 3
