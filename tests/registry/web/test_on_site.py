"""On site: a unit put on file that was not, one that is not there, a serial put right; taken back, settled, and who may."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from fleet import models
from fleet.derived import recheck
from fleet.registry.actions import merges
from tests import company
from tests.pages import words
from tests.rows import asked

pytestmark = pytest.mark.django_db

READ = {"serial": "NW-30277", "room": "Den", "role": "head", "style": "wall", "maker": "Northrill", "model": "NH-9"}


def photo() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (300, 200), (90, 120, 90)).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture(autouse=True)
def media(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def there() -> models.Unit:
    """Odile Marsh's wall head SB-1002 in the loft."""
    company.on_file()
    unit = company.unit("SB-1002", room="Loft", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return unit


@pytest.fixture
def site(there) -> models.Site:
    return there.system.site


@pytest.fixture
def tech(there):
    return company.as_role("technician")


@pytest.fixture
def office(there):
    return company.as_role("office")


def found(client, site, **told):
    known = READ | {"system": str(site.systems.first().pk)} | told
    return client.post(f"/sites/{site.pk}/units/found", known, follow=True)


def new_one() -> models.Unit:
    return models.Unit.objects.exclude(serial="SB-1002").get()


# -- a unit that was not on file


def test_a_technician_puts_a_unit_on_file_and_the_office_sees_what_is_missing(tech, site):
    page = words(found(tech, site, model="", note="Above the door"))
    unit = new_one()
    assert (unit.serial, unit.room, unit.role, unit.style, unit.model) == (
        "NW-30277",
        "Den",
        "head",
        "wall",
        "(not read)",
    )
    assert unit.system.name == "Whole house"
    assert (unit.installed_on, unit.started_on, unit.installed_by) == (None, None, "")
    assert "It is on file now. The office completes what is missing." in page
    assert "Not known: the model, who installed it. Above the door" in page
    assert not list(recheck.differences(on=company.TODAY))
    desk = words(company.as_role("office").get("/on-our-desk"))
    assert "1 unit to complete or to decide about." in desk
    assert "Not known: the model, who installed it. Above the door" in desk
    assert "NW-30277" in words(tech.get("/look-up?text=NW30277", follow=True))
    change = models.Change.objects.get(field="found")
    assert (change.by.username, change.object_id) == ("technician", unit.pk)
    assert "Found on site" in words(tech.get(f"/units/{unit.pk}/changes"))


def test_nobody_knows_its_system_so_it_gets_one_of_its_own(tech, site):
    found(tech, site, system="not known")
    assert new_one().system.name == "Not known yet: NW-30277"
    assert new_one().system.site == site
    assert "its system" in models.UnitReport.objects.get().said


@pytest.mark.parametrize(
    ("chosen", "kept", "missing"), [("", "", True), ("us", "us", False), ("another company", "another company", False)]
)
def test_who_installed_it_is_asked_and_not_guessed(tech, site, chosen, kept, missing):
    found(tech, site, installed_by=chosen)
    assert new_one().installed_by == kept
    assert ("who installed it" in models.UnitReport.objects.get().said) is missing


def test_sent_twice_it_is_on_file_once(tech, site):
    for serial, model in (("NW-30277", ""), ("", "NH-9")):
        first, second = (found(tech, site, serial=serial, model=model, room=f"Den {serial}") for _ in range(2))
        assert first.redirect_chain == second.redirect_chain
        assert "It was on file already." in words(second)
    assert (models.Unit.objects.count(), models.UnitReport.objects.count()) == (3, 2)


def test_what_a_scan_read_is_filled_in_and_shown_beside_what_it_looks_like(tech, site, there):
    page = words(tech.get(f"/sites/{site.pk}/units/found?serial=5B-1OO2"))
    assert 'value="5B-1OO2"' in page
    assert "A serial that looks like this one is on file. Check the nameplate." in page
    assert f'href="/units/{there.pk}"' in page


def test_a_serial_like_one_on_file_is_shown_before_anything_is_saved(tech, site):
    response = found(tech, site, serial="5B-1OO2")
    assert response.status_code == 422
    page = words(response)
    assert "A serial that looks like this one is on file. Check the nameplate." in page
    assert "Loft, Whole house, Home, Odile Marsh" in page
    assert models.Unit.objects.count() == 1
    ticked = found(tech, site, serial="5B-1OO2", another_unit=response.context["form"].doubt.value)
    assert ticked.status_code == 200
    assert new_one().serial == "5B-1OO2"


def test_a_unit_that_is_on_file_elsewhere_is_not_put_on_file_again(tech, there):
    elsewhere = models.Site.objects.create(customer=models.Customer.objects.create(name="Brit Sørby"), name="Cabin")
    told = {"serial": "SB-1002", "system": "not known"}
    response = tech.post(f"/sites/{elsewhere.pk}/units/found", READ | told)
    assert response.status_code == 422
    assert "This unit is already on file." in words(response)
    assert "Odile Marsh" in words(response)
    tick = tech.post(f"/sites/{elsewhere.pk}/units/found", READ | told | {"another_unit": "5b1002"})
    assert tick.status_code == 422
    assert models.Unit.objects.count() == 1


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"serial": "", "room": ""}, "Enter a serial, or a room while the label cannot be read."),
        ({"role": ""}, "Choose what it is."),
        ({"system": ""}, "Choose the system, or “do not know”."),
        ({"room": "Loft"}, "Loft"),
        ({"serial": "- -"}, "Enter"),
    ],
)
def test_what_is_not_whole_is_refused_at_its_field_and_stays(tech, site, told, says):
    response = found(tech, site, **{"note": "Behind the sofa"} | told)
    assert response.status_code == 422
    assert says in words(response)
    assert "Behind the sofa" in words(response)
    assert models.Unit.objects.count() == 1
    assert not models.UnitReport.objects.exists()


def test_a_system_of_another_site_is_refused(tech, site):
    other = models.System.objects.create(
        site=models.Site.objects.create(customer=site.customer, name="Cabin"), name="Elsewhere"
    )
    assert found(tech, site, system=str(other.pk)).status_code == 422
    assert models.Unit.objects.count() == 1


def test_the_photo_of_its_plate_is_kept_with_it(tech, site):
    found(tech, site, photo=SimpleUploadedFile("plate.jpg", photo()))
    document = models.Document.objects.get()
    assert (document.unit, document.caption) == (new_one(), "Nameplate")


def test_a_photo_that_cannot_be_read_leaves_nothing_half_done(tech, site):
    response = found(tech, site, photo=SimpleUploadedFile("plate.jpg", b"no photo"))
    assert response.status_code == 422
    assert "The photo was not taken." in words(response)
    assert "choose the photo again" in words(response)
    assert models.Unit.objects.count() == 1
    assert not models.Document.objects.exists()


# -- taken back


def test_whoever_found_it_takes_it_back_whole_and_its_photo_stays_with_the_site(tech, site):
    before = models.Unit.objects.count(), models.System.objects.count(), models.LookupEntry.objects.count()
    found(tech, site, system="not known", photo=SimpleUploadedFile("plate.jpg", photo()))
    report = models.UnitReport.objects.get()
    assert "Take this unit off file again" in words(tech.get(f"/unit-reports/{report.pk}"))
    page = words(tech.post(f"/unit-reports/{report.pk}/undo", follow=True))
    assert "The unit is not on file any more. Photos of it stay with the site." in page
    assert (models.Unit.objects.count(), models.System.objects.count(), models.LookupEntry.objects.count()) == before
    assert models.Document.objects.get().site == site
    assert not models.UnitReport.objects.exists()
    assert not list(recheck.differences(on=company.TODAY))


def test_it_stays_once_something_hangs_on_it(tech, site):
    found(tech, site)
    report = models.UnitReport.objects.get()
    models.Failure.objects.create(unit=new_one(), failed_on=company.TODAY, component="compressor")
    assert "Nothing was undone." in words(tech.post(f"/unit-reports/{report.pk}/undo", follow=True))
    assert new_one().reports.count() == 1


def test_another_technician_takes_back_nothing_and_the_office_anything(tech, site, office):
    found(tech, site)
    pk = models.UnitReport.objects.get().pk
    other = company.as_role("technician")
    other.force_login(models.User.objects.create_user("second", role="technician"))
    assert other.post(f"/unit-reports/{pk}/undo").status_code == 403
    assert "Take this unit off file again" not in words(other.get(f"/unit-reports/{pk}"))
    office.post(f"/unit-reports/{pk}/undo")
    assert models.Unit.objects.count() == 1


# -- what the office makes of it


def test_the_office_settles_it_and_lets_it_stand_again(tech, site, office):
    found(tech, site)
    pk = models.UnitReport.objects.get().pk
    assert tech.post(f"/unit-reports/{pk}/settle", {"how": "Done"}).status_code == 403
    blank = office.post(f"/unit-reports/{pk}/settle", {"how": " "})
    assert (blank.status_code, "Write what was done about it." in words(blank)) == (422, True)
    office.post(f"/unit-reports/{pk}/settle", {"how": "Put into Whole house"})
    assert "1 unit to complete" not in words(office.get("/on-our-desk"))
    assert "Put into Whole house" in words(tech.get(f"/unit-reports/{pk}"))
    assert "The office has settled this already" in words(tech.post(f"/unit-reports/{pk}/undo", follow=True))
    assert "NW-30277" not in words(office.get("/unit-reports"))
    assert "NW-30277" in words(office.get("/unit-reports?state=settled"))
    assert b"Put into Whole house" in office.get("/unit-reports?state=any&as=csv").getvalue()
    office.post(f"/unit-reports/{pk}/reopen")
    assert "1 unit to complete" in words(office.get("/on-our-desk"))
    assert models.Change.objects.filter(table="unitreport", field="settled_how").count() == 2


def test_merged_with_the_unit_that_it_is_the_report_goes_along_and_comes_back(tech, site, there, office):
    found(tech, site, serial="", room="Attic")
    by = models.User.objects.get(username="office")
    other = models.Unit.objects.get(room="Attic")
    merge = merges.merge("unit", there.pk, other.pk, chosen={"room": "kept"}, why="", by=by, on=company.TODAY)
    assert models.UnitReport.objects.get().unit == there
    pk = models.UnitReport.objects.get().pk
    assert "Nothing was undone." in words(office.post(f"/unit-reports/{pk}/undo", follow=True))
    merges.undo(merge.pk, by=by, on=company.TODAY)
    assert models.UnitReport.objects.get().unit.room == "Attic"


def test_one_report_and_five_ask_the_same(tech, site, office):
    def queries(address: str) -> int:
        office.get(address)
        with asked() as list_of:
            assert office.get(address).status_code == 200
        return len(list_of)

    addresses = ("/unit-reports", "/on-our-desk", f"/sites/{site.pk}/units/found")
    found(tech, site)
    one = [queries(address) for address in addresses]
    for number in range(4):
        found(tech, site, serial=f"NW-4{number}", room=f"Room {number}")
    assert [queries(address) for address in addresses] == one
    assert max(one) <= 30


# -- a unit that is not there


def test_a_unit_that_is_not_there_stays_on_file_until_the_office_decides(tech, there, office):
    tech.post(f"/units/{there.pk}/not-there", {"said": "Only a bracket"})
    tech.post(f"/units/{there.pk}/not-there", {"said": "Again"})
    report = models.UnitReport.objects.get()
    there.refresh_from_db()
    assert (report.kind, report.said, there.removed_on) == ("not there", "Only a bracket", None)
    assert "Not there: reported by Wynn Technician on March 2, 2026. Only a bracket" in words(
        tech.get(f"/units/{there.pk}")
    )
    page = words(office.get(f"/unit-reports/{report.pk}"))
    assert f'href="/units/{there.pk}/life"' in page
    assert "Only a bracket" in words(office.get("/on-our-desk"))
    assert models.Change.objects.filter(table="unit", field="not there", after="Only a bracket").count() == 1
    tech.post(f"/unit-reports/{report.pk}/undo")
    assert not models.UnitReport.objects.exists()
    assert "Not there: reported" not in words(tech.get(f"/units/{there.pk}"))


def test_of_a_unit_that_is_gone_it_is_on_file_already(tech, there):
    models.Unit.objects.filter(pk=there.pk).update(removed_on=company.TODAY, removal_reason="removed")
    response = tech.post(f"/units/{there.pk}/not-there", {"said": ""})
    assert (response.status_code, "This unit is on file as gone already." in words(response)) == (422, True)


# -- a serial put right


def corrected(client, unit, serial, was="SB-1002", **more):
    return client.post(f"/units/{unit.pk}/serial", {"serial": serial, "was_serial": was} | more, follow=True)


def test_a_technician_puts_a_serial_right_and_takes_it_back(tech, there, office):
    assert "The serial is corrected." in words(corrected(tech, there, "SB-1007"))
    there.refresh_from_db()
    assert (there.serial, there.serial_key) == ("SB-1007", "sb1007")
    change = models.Change.objects.get(field="serial")
    assert (change.before, change.after, change.why, change.by.username) == (
        "SB-1002",
        "SB-1007",
        "read on site",
        "technician",
    )
    assert "SB-1007" in words(tech.get("/look-up?text=SB1007", follow=True))
    assert "Undo my last correction of it" in words(tech.get(f"/units/{there.pk}/serial"))
    assert "Undo my last correction of it" not in words(office.get(f"/units/{there.pk}/serial"))
    office.post(f"/units/{there.pk}/serial/undo")
    there.refresh_from_db()
    assert there.serial == "SB-1007"
    assert "the serial is as it was before" in words(tech.post(f"/units/{there.pk}/serial/undo", follow=True))
    there.refresh_from_db()
    assert there.serial == "SB-1002"
    assert not list(recheck.differences(on=company.TODAY))


def test_the_serial_of_another_unit_or_one_like_it_is_shown_first(tech, there):
    other = company.unit("SB-2002", room="Den")
    same = corrected(tech, there, "SB-2002")
    assert (same.status_code, "This unit is already on file." in words(same)) == (422, True)
    alike = corrected(tech, there, "5B-2OO2")
    assert alike.status_code == 422
    assert f'href="/units/{other.pk}"' in words(alike)
    assert corrected(tech, there, "5B-2OO2", another_unit=alike.context["form"].doubt.value).status_code == 200
    there.refresh_from_db()
    assert there.serial == "5B-2OO2"


def test_written_otherwise_its_own_serial_is_no_doubt(tech, there):
    assert corrected(tech, there, "SB 1002").status_code == 200
    there.refresh_from_db()
    assert there.serial == "SB 1002"


def test_a_blank_serial_and_one_changed_meanwhile_are_refused(tech, there, office):
    blank = corrected(tech, there, " ")
    assert (blank.status_code, "Enter the serial as the nameplate has it." in words(blank)) == (422, True)
    corrected(office, there, "SB-1009")
    meanwhile = corrected(tech, there, "SB-1008")
    assert meanwhile.status_code == 409
    assert "Wynn Office changed this meanwhile; it is now SB-1009." in words(meanwhile)
    assert 'value="SB-1008"' in words(meanwhile)
