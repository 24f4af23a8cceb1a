"""Scanning over the web: a photo is read on the server, nothing is opened or kept before somebody says that it reads the same."""

import io
import json
import os
import re
import time
import uuid
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from fleet import models
from fleet.models.people import Role
from fleet.registry.actions import lives, scans, unit_labels
from tests import company, plates, rows
from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folders(tmp_path, settings) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.DATA_DIR = tmp_path
    return tmp_path / scans.FOLDER


@pytest.fixture
def den() -> models.Unit:
    company.on_file()
    unit = company.unit("SB10020041", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return unit


@pytest.fixture
def technician(den) -> Client:
    return company.as_role("technician")


def photo(*codes: tuple[str, str], **how: int) -> bytes:
    return plates.jpeg(plates.plate(*(codes or (("Code 128", "SB10020041"),)), module=4, size=(1400, 1000)), **how)


def sent(client: Client, content: bytes, name: str = "a.jpg", **told: str):
    return client.post("/scan", {"photo": SimpleUploadedFile(name, content), **told})


def read(client: Client, *codes: tuple[str, str], **told: str) -> str:
    """Send a photo and give the address where what was read is shown."""
    response = sent(client, photo(*codes), **told)
    assert response.status_code == 302, words(response)
    return response["Location"]


def kept() -> list[tuple[models.Unit | models.Site, str]]:
    return [(one.whose, one.serial_read) for one in models.Document.objects.all()]


# -- read, shown, confirmed


@pytest.mark.parametrize("role", list(Role))
def test_a_plate_is_read_shown_and_confirmed(role, den):
    client = company.as_role(role)
    address = read(client)
    page = words(client.get(address))
    assert 'Code 128: <span class="serial">SB10020041</span>' in page
    assert "Compare it with what is printed, letter by letter." in page
    (crop,) = re.findall(r'<img src="([^"]+)"', page)
    image = client.get(crop)
    assert image["Content-Type"] == "image/jpeg"
    assert Image.open(io.BytesIO(image.content)).width > 300
    done = client.post(address, {"choice": f"0:{den.pk}", "keep": "yes"})
    assert done["Location"] == f"/units/{den.pk}"
    assert kept() == [(den, "SB10020041")]
    shown = words(client.get(f"/units/{den.pk}"))
    assert 'Serial <span class="serial">SB10020041</span> read from this photo and compared with the plate' in shown


def test_nothing_is_kept_or_opened_before_it_is_confirmed(den, technician, folders):
    before = {table: table.objects.count() for table in (models.Document, models.Change, models.Label, models.Unit)}
    for codes in (
        (("Code 128", "SB10020041"),),
        (("Code 39", "NOT0ON0FILE"),),
        (("QR code", "HTTPS://X.EXAMPLE.COM/L/K7QM3RTX9W"),),
    ):
        address = read(technician, *codes)
        assert re.fullmatch(r"/scan/[0-9a-f]{32}", address)  # a page of its own, not that of a unit
        assert technician.get(address).status_code == 200
    assert {table: table.objects.count() for table in before} == before
    assert not (Path(folders).parent / "media").exists()
    assert len(list(folders.iterdir())) == 6  # three photos for a day, and what was read in them


def test_without_the_tick_no_photo_is_kept_and_what_was_read_is_forgotten(den, technician, folders):
    address = read(technician)
    assert technician.post(address, {"choice": f"0:{den.pk}"})["Location"] == f"/units/{den.pk}"
    assert kept() == []
    assert list(folders.iterdir()) == []
    assert technician.get(address).status_code == 404


@pytest.mark.parametrize("choice", ["", "7:", "x", "0:987654", "0:x", "7:1", "typed"])
def test_a_choice_that_is_none_opens_and_keeps_nothing(choice, den, technician):
    address = read(technician)
    response = technician.post(address, {"choice": choice, "keep": "yes"})
    assert response.status_code in (409, 422)
    assert kept() == []
    assert technician.get(address).status_code == 200


def test_of_several_codes_a_person_picks_the_serial(den, technician):
    address = read(technician, ("Code 128", "NH-9-0417"), ("Code 39", "SB10020041"))
    page = words(technician.get(address))
    assert "2 codes were read. Find the serial among them" in page
    assert 'No unit on file has the serial <span class="serial">NH-9-0417</span>.' in page
    assert f'value="1:{den.pk}"' in page
    assert technician.post(address, {"choice": f"1:{den.pk}"})["Location"] == f"/units/{den.pk}"


def test_look_alikes_are_folded_and_shown_for_the_eye(den, technician):
    address = read(technician, ("Code 128", "5B1OO2OO41"))
    page = words(technician.get(address))
    assert 'Code 128: <span class="serial">5B1OO2OO41</span>' in page
    assert (
        'On file: Den, wall head, Northrill NH-9 <span class="serial">SB10020041</span>. Odile Marsh, 7 Tar Lane'
        in page
    )
    assert f'value="0:{den.pk}"' in page


def test_what_the_photo_does_not_show_is_typed_and_is_not_called_read(den, technician):
    address = read(technician, ("Code 128", "NH-9-0417"))
    done = technician.post(address, {"choice": "typed", "typed": "sb1002 0041", "keep": "yes"})
    assert done["Location"] == f"/units/{den.pk}"
    assert kept() == [(den, "")]


def test_a_photo_without_a_code_says_so_and_takes_what_is_typed(den, technician):
    response = sent(technician, plates.jpeg(Image.new("L", (600, 400), 120)))
    page = words(technician.get(response["Location"]))
    assert "No code could be read in this photo." in page
    done = technician.post(response["Location"], {"choice": "typed", "typed": "SB10020041"})
    assert done["Location"] == f"/units/{den.pk}"


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_a_photo_is_turned_as_the_camera_was_held(orientation, den, technician):
    response = sent(technician, photo(orientation=orientation))
    assert "SB10020041" in words(technician.get(response["Location"]))


# -- not on file


def test_a_serial_that_is_not_on_file(den, technician):
    address = read(technician, ("Code 128", "NEW0000417"))
    done = technician.post(address, {"choice": "0:", "keep": "yes"})
    assert done["Location"] == "/scan?serial=NEW0000417&photo=read"
    page = words(technician.get(done["Location"]))
    assert 'No unit on file has the serial <span class="serial">NEW0000417</span>.' in page
    assert "/new-install" not in page.split("<main")[1]
    office = words(company.as_role("office").get(done["Location"]))
    assert 'href="/new-install?serial=NEW0000417"' in office
    assert kept() == []


def test_at_a_stop_the_photo_of_a_unit_not_on_file_is_kept_with_the_site(den, technician):
    site = den.system.site
    stop = f"/sites/{site.pk}/write-up"
    address = read(technician, ("Code 128", "NEW0000417"), stop=stop)
    done = technician.post(address, {"choice": "0:", "keep": "yes", "stop": stop})
    assert kept() == [(site, "NEW0000417")]
    page = words(technician.get(done["Location"]))
    assert f'<a href="{stop}">Back to the write-up</a>' in page
    assert f'href="/sites/{site.pk}/units/found?serial=NEW0000417"' in page
    assert f'<a href="/units/{den.pk}/serial?serial=NEW0000417">Den, wall head</a>' in page


def test_two_units_of_one_serial_are_both_offered(den, technician):
    twin = company.unit("SB1002OO41", maker="Osmarik", room="Loft")
    page = words(technician.get("/scan", {"serial": "SB10020041"}))
    assert "2 units on file have the serial" in page
    for unit in (den, twin):
        assert f'href="/units/{unit.pk}"' in page


# -- typed


def test_a_typed_serial_leads_to_the_unit(den, technician):
    assert technician.get("/scan", {"serial": " sb-1002 0041 "})["Location"] == f"/units/{den.pk}"
    assert "No unit on file has the serial" in words(technician.get("/scan", {"serial": "<b>1"}))
    assert technician.get("/scan", {"serial": ""}).status_code == 200


# -- from a write-up


@pytest.mark.parametrize("booking", ["", "?booking=7"])
def test_a_scan_in_a_write_up_leads_back_to_that_unit(booking, den, technician):
    stop = f"/sites/{den.system.site_id}/write-up{booking}"
    address = read(technician, stop=stop)
    assert f'name="stop" value="{stop}"' in words(technician.get(address))
    done = technician.post(address, {"choice": f"0:{den.pk}", "stop": stop})
    assert done["Location"] == f"{stop}#unit-{den.pk}"
    assert technician.get("/scan", {"serial": "SB10020041", "stop": stop})["Location"] == f"{stop}#unit-{den.pk}"


def test_a_unit_of_another_site_says_where_it_is_by_our_records(den, technician):
    other = company.unit("ZZ10020041", customer="Tam Reyes", room="Hall")
    stop = f"/sites/{den.system.site_id}/write-up"
    response = technician.get("/scan", {"serial": "ZZ10020041", "stop": stop}, follow=True)
    assert response.redirect_chain == [(f"/units/{other.pk}", 302)]
    said = "By our records this unit is not at this stop: Tam Reyes, 7 Tar Lane. Your write-up is as you left it."
    assert said in words(response)


def test_a_unit_that_is_gone_says_so(den, technician):
    by = models.User.objects.get(username="technician")
    lives.tell(den.pk, kind="removed", day="2026-02-01", told={}, by=by, on=company.TODAY)
    stop = f"/sites/{den.system.site_id}/write-up"
    response = technician.get("/scan", {"serial": "SB10020041", "stop": stop}, follow=True)
    assert "By our records this unit is no longer in service" in words(response)


@pytest.mark.parametrize(
    "stop", ["https://evil.example/", "//evil.example/sites/1/write-up", "/sites/1/write-up#x", "/units/1", "/sites/x/write-up"]
)  # fmt: skip
def test_it_leads_nowhere_else(stop, den, technician):
    page = words(technician.get("/scan", {"stop": stop}))
    assert "Back to the write-up" not in page
    assert technician.get("/scan", {"serial": "SB10020041", "stop": stop})["Location"] == f"/units/{den.pk}"


# -- labels of ours


def test_a_label_of_ours_is_read_at_whatever_address_it_was_printed(den, technician):
    by = models.User.objects.get(username="technician")
    on, blank = unit_labels.make(units=[den.pk], blank=1, batch=uuid.uuid4(), by=by)
    address = read(technician, ("QR code", f"HTTPS://OLD.EXAMPLE.COM/L/{on.code}"))
    assert f'QR code: <span class="serial">label {on}</span>' in words(technician.get(address))
    done = technician.post(address, {"choice": f"0:{den.pk}", "keep": "yes"})
    assert done["Location"] == f"/units/{den.pk}"
    assert kept() == [(den, "")]  # a label says no serial
    address = read(technician, ("QR code", f"http://10.0.0.7/L/{blank.code}"))
    assert f'href="/labels/{blank.pk}"' in words(technician.get(address))


def test_a_blank_label_that_is_scanned_in_a_write_up_is_put_on_a_unit_there(den, technician):
    by = models.User.objects.get(username="technician")
    (blank,) = unit_labels.make(units=[], blank=1, batch=uuid.uuid4(), by=by)
    stop = f"/sites/{den.system.site_id}/write-up?booking=7"
    address = read(technician, ("QR code", f"HTTPS://X.EXAMPLE.COM/L/{blank.code}"), stop=stop)
    (link,) = re.findall(rf'href="(/labels/{blank.pk}[^"]*)"', words(technician.get(address)))
    page = words(technician.get(link))
    assert f'name="unit" value="{den.pk}"' in page  # the heads of the stop are offered at once
    assert f'<a href="{stop}">Back to the write-up</a>' in page
    done = technician.post(link, {"unit": den.pk, "stop": stop})
    assert done["Location"] == f"{stop}#unit-{den.pk}"
    assert technician.post(link, {"unit": den.pk, "stop": "/sites/999/write-up"})["Location"] == f"/units/{den.pk}"


# -- what the phone read itself


def test_what_the_phone_read_is_shown_beside_the_photo(den, technician):
    told = json.dumps([{"kind": "Code 128", "text": "SB10020041", "box": [10, 10, 300, 100]}])
    response = sent(technician, plates.jpeg(Image.new("L", (600, 400), 120)), seen=told)
    page = words(technician.get(response["Location"]))
    assert f'value="0:{den.pk}"' in page
    both = sent(technician, photo(), seen=told)
    assert words(technician.get(both["Location"])).count('<h2 id="read-') == 1


@pytest.mark.parametrize(
    "told", ["x", "{}", "[1]", '[{"kind": "a", "text": "", "box": [0, 0, 1, 1]}]', '[{"kind": "a", "text": "A", "box": [0, 0]}]',
             '[{"kind": "a", "text": "A", "box": [5, 0, 1, 1]}]', '[{"kind": "a", "text": "A\\nB", "box": [0, 0, 1, 1]}]', "9" * 5000, "[" * 5000]
)  # fmt: skip
def test_what_is_told_otherwise_is_left_out(told, technician):
    response = sent(technician, plates.jpeg(Image.new("L", (600, 400), 120)), seen=told)
    assert "No code could be read in this photo." in words(technician.get(response["Location"]))


# -- whose, how long, how large


def test_a_photo_is_for_whoever_sent_it(den, technician):
    address = read(technician)
    office = company.as_role("office")
    for path in (address, f"{address}/0"):
        assert office.get(path).status_code == 404
        assert Client().get(path)["Location"].startswith("/login?next=/scan/")
    assert office.post(address, {"choice": f"0:{den.pk}", "keep": "yes"}).status_code == 404
    assert kept() == []


@pytest.mark.parametrize("token", ["x", "..", "0" * 32, "0" * 31 + "/"])
def test_a_photo_that_is_not_there(token, technician):
    assert technician.get(f"/scan/{token}").status_code == 404


def test_a_photo_that_nobody_confirmed_goes_after_a_day(technician, folders):
    first = read(technician)
    for path in folders.iterdir():
        os.utime(path, (time.time() - scans.KEPT_FOR - 60,) * 2)
    read(technician)
    assert technician.get(first).status_code == 404
    assert len(list(folders.iterdir())) == 2


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        pytest.param("a.jpg", b"<html>", "no photo could be read in it", id="no photo"),
        pytest.param("a.jpg", b"", "It is empty.", id="empty"),
        pytest.param("a.jpg", b"%PDF-1.7\n%%EOF", "no photo could be read in it", id="a paper"),
    ],
)
def test_what_is_no_photo_is_refused(name, content, said, technician, folders):
    response = sent(technician, content, name)
    assert response.status_code == 422
    assert said in words(response)
    assert not folders.exists() or not list(folders.iterdir())


def test_a_photo_of_too_many_pixels_is_refused_before_it_is_unpacked(technician):
    out = io.BytesIO()
    Image.new("1", (5000, 4000)).save(out, "PNG")
    response = sent(technician, out.getvalue(), "a.png")
    assert response.status_code == 422
    assert "It has too many pixels" in words(response)


def test_no_photo(technician):
    response = technician.post("/scan", {})
    assert response.status_code == 422
    assert "Take or choose a photo first." in words(response)


def test_more_codes_and_units_take_no_more_queries(den, technician):
    one = read(technician)
    with rows.asked() as few:
        technician.get(one)
    for number in range(5):
        company.unit(f"SB1002005{number}", room=f"Room {number}")
    more = read(technician, *(("QR code", f"SB1002005{number}") for number in range(3)))
    with rows.asked() as many:
        page = technician.get(more)
    assert words(page).count("On file:") == 3
    assert len(few) == len(many) <= 30
