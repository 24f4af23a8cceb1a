"""A failure on screen: recorded, shown, repaired, put right, voided, and listed."""

import io
import re
from uuid import uuid4

import pytest
from django.urls import reverse
from PIL import Image

from fleet import models
from fleet.claims.actions import failures as actions
from fleet.derived import recheck
from tests import company, rows

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit(
        "SB-1002",
        started_on="2021-03-10",
        installed_on="2021-03-09",
        room="Den",
        refrigerant="R-410A",
        plate_amps="6.5",
    )
    company.worked_out()
    return made


def sent(**named):
    """A form as a browser sends it, with a sensor found on February 20."""
    told = {
        "component": "sensor",
        "failed_on": "2026-02-20",
        "key": str(uuid4()),
        "measured-rows": "2",
        "weighed-rows": "1",
    }
    return told | {name.replace("__", "-"): value for name, value in named.items()}


def form_of(html):
    """What a form on a page would send back as it stands."""
    found = {}
    for tag in re.findall(r"<input [^>]*>", html):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and "checkbox" not in tag and "file" not in tag:
            found[name[1]] = value[1] if value else ""
    for name, options in re.findall(r'<select name="([^"]*)"[^>]*>(.*?)</select>', html, re.S):
        chosen = re.search(r'<option value="([^"]*)"[^>]* selected', options)
        found[name] = chosen[1] if chosen else ""
    return found | dict(re.findall(r'<textarea name="([^"]*)"[^>]*>\s*(.*?)</textarea>', html, re.S))


def photo(color="teal", name="part.jpg"):
    out = io.BytesIO()
    Image.new("RGB", (64, 48), color).save(out, "JPEG")
    out.seek(0)
    out.name = name
    return out


def of(failure, what="failure"):
    return reverse(what, args=[failure.pk])


def record(unit, **told):
    return actions.record(unit.pk, {"component": "sensor", "failed_on": "2026-02-20"} | told, by=None, on=TODAY)


# -- recording


def test_a_technician_records_a_failure_with_a_photo(unit, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    client, address = company.as_role("technician"), reverse("failure_new", args=[unit.pk])
    html = client.get(address).content.decode()
    assert 'value="2026-03-02"' in html
    assert "Wynn Technician" in html
    told = form_of(html) | {
        "component": "indoor coil",
        "leak_at": "flare at the head",
        "measured-0-reading": "amps",
        "measured-0-value": "7.2",
        "photos": [photo()],
    }
    response = client.post(address, told)
    failure = models.Failure.objects.get()
    assert response["Location"] == of(failure)
    assert (failure.component, failure.failed_on, failure.found_by) == ("indoor coil", TODAY, "Wynn Technician")
    assert (failure.readings.get().measure, failure.documents.get().unit) == ("A", unit)
    shown = client.get(of(failure)).content.decode()
    assert "Indoor coil failed on March 2, 2026" in shown
    assert "It is not repaired yet." in shown
    assert "7.2 A is over the 6.5 A on the nameplate" in shown
    assert "Parts: the manufacturer" in shown
    assert not list(recheck.differences(on=TODAY))


def test_the_same_form_sent_twice_is_one_failure(unit):
    client, told = company.as_role("technician"), sent()
    address = reverse("failure_new", args=[unit.pk])
    assert client.post(address, told)["Location"] == client.post(address, told)["Location"]
    assert models.Failure.objects.count() == 1


def test_a_bad_form_keeps_all_that_was_written(unit):
    told = sent(
        failed_on="2026-03-03",
        notes="smells burnt",
        supplier="Harbor Supply",
        measured__1__reading="amps",
        measured__1__value="900",
        weighed__0__move="added",
        weighed__0__refrigerant="R-32",
        weighed__0__ounces="12",
        weighed__0__who="",
    )
    response = company.as_role("technician").post(reverse("failure_new", args=[unit.pk]), told)
    html = response.content.decode()
    assert response.status_code == 422
    assert "no later than today (2026-03-02)" in html
    assert "Wanted: a number from 0 to 400 A, not 900." in html
    assert "Wanted: who handled it." in html
    kept = form_of(html)
    for name in told:
        assert kept[name] == told[name], name
    assert not models.Failure.objects.exists()
    assert not models.Supplier.objects.exists()


@pytest.mark.parametrize("part", [True, False])
def test_the_answer_stands_beside_before_anything_is_saved(unit, part):
    told = sent(
        component="compressor", ask="yes", measured__0__reading="indoor relative humidity", measured__0__value="72"
    )
    headers = {"HX-Request": "true"} if part else {}
    response = company.as_role("technician").post(reverse("failure_new", args=[unit.pk]), told, headers=headers)
    html = response.content.decode()
    assert response.status_code == 200
    assert ("<h1>" in html) is not part
    assert "If the compressor failed on February 20, 2026" in html
    assert 'data-kind="parts" data-pays="maker"' in html
    assert "72% is over 60%: mold can grow" in html
    assert not models.Failure.objects.exists()
    if not part:
        assert form_of(html)["component"] == "compressor"


def test_a_cause_that_the_terms_exclude_changes_who_pays(unit):
    company.on_file(company.MAKER | {"code": "northrill-2", "replaces": "northrill-1", "excludes_causes": ["misuse"]})
    told = sent(cause="misuse", ask="yes")
    html = company.as_role("technician").post(reverse("failure_new", args=[unit.pk]), told).content.decode()
    assert 'data-kind="parts" data-pays="customer"' in html


@pytest.mark.parametrize(("cause", "payer"), [("misuse", "customer"), ("", "maker")])
def test_while_it_is_corrected_the_answer_follows_the_form(unit, cause, payer):
    company.on_file(company.MAKER | {"code": "northrill-2", "replaces": "northrill-1", "excludes_causes": ["misuse"]})
    failure, client = record(unit, cause="misuse"), company.as_role("office")
    told = form_of(client.get(of(failure, "failure_correct")).content.decode()) | {"cause": cause, "ask": "yes"}
    html = client.post(of(failure, "failure_correct"), told, headers={"HX-Request": "true"}).content.decode()
    assert f'data-kind="parts" data-pays="{payer}"' in html
    failure.refresh_from_db()
    assert failure.cause == "misuse"


def test_more_rows_come_without_scripts(unit):
    told = sent(more="measured", measured__0__value="7")
    html = company.as_role("technician").post(reverse("failure_new", args=[unit.pk]), told).content.decode()
    assert 'name="measured-rows" value="4"' in html
    assert form_of(html)["measured-0-value"] == "7"
    assert not models.Failure.objects.exists()


def test_a_file_that_is_no_photo_costs_the_failure_nothing(unit, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    bad = io.BytesIO(b"not a photo")
    bad.name = "part.jpg"
    client = company.as_role("technician")
    response = client.post(reverse("failure_new", args=[unit.pk]), sent(photos=[bad]), follow=True)
    assert "part.jpg was not added." in response.content.decode()
    assert models.Failure.objects.count() == 1
    assert not models.Document.objects.exists()


@pytest.mark.parametrize(
    ("sends", "status"),
    [
        pytest.param({"failed_on": "2026-03-03"}, 422, id="refused"),
        pytest.param({"more": "measured"}, 200, id="for another row"),
        pytest.param({"ask": "yes"}, 200, id="to see who pays"),
    ],
)
@pytest.mark.parametrize(("count", "words"), [(1, "1 photo was chosen"), (2, "2 photos were chosen"), (0, None)])
def test_photos_that_a_page_cannot_hand_back_are_asked_for_again(count, words, sends, status, unit):
    told = sent(**sends, photos=[photo(name=f"{number}.jpg") for number in range(count)])
    response = company.as_role("technician").post(reverse("failure_new", args=[unit.pk]), told)
    html = response.content.decode()
    assert response.status_code == status
    assert not models.Document.objects.exists()
    if words is None:
        assert "id_photos_error" not in html
    else:
        assert re.search(rf'id="id_photos_error">{words} and not saved yet: choose (it|them) again', html)


# -- afterward


def test_the_repair_is_recorded_by_a_technician_with_the_new_unit(unit):
    failure, client = record(unit), company.as_role("technician")
    told = form_of(client.get(of(failure, "failure_repair")).content.decode())
    told |= {"repaired_on": "2026-02-24", "under_warranty": "yes", "new_serial": "N-1", "parts_cost": "$84.50"}
    assert client.post(of(failure, "failure_repair"), told)["Location"] == of(failure)
    shown = client.get(of(failure)).content.decode()
    assert "The whole unit was exchanged for N-1." in shown
    assert "What it cost us: $84.50" in shown
    assert models.Unit.objects.get(serial="N-1").took_over_from == unit
    again = client.get(of(failure, "failure_repair")).content.decode()
    assert "new_serial" not in form_of(again)


def test_a_correction_is_logged_and_what_was_answered_stays(unit):
    failure, client = record(unit), company.as_role("office")
    told = form_of(client.get(of(failure, "failure_correct")).content.decode())
    client.post(of(failure, "failure_correct"), told | {"component": "louver", "why": "misheard"})
    shown = client.get(of(failure)).content.decode()
    assert "Louver failed on February 20, 2026" in shown
    assert "What failed: sensor to louver" in shown
    assert "Wynn Office, misheard" in shown
    assert "On March 2, 2026, about sensor on February 20, 2026" in shown
    assert "On March 2, 2026, by Wynn Office, about louver on February 20, 2026" in shown


def test_whoever_comes_second_is_told_and_loses_nothing(unit):
    failure, client = record(unit), company.as_role("office")
    told = form_of(client.get(of(failure, "failure_correct")).content.decode())
    actions.correct(failure.pk, {"fault_code": actions.Edit("", "E7")}, by=None, on=TODAY)
    told |= {"fault_code": "E9", "notes": "mine"}
    response = client.post(of(failure, "failure_correct"), told)
    html = response.content.decode()
    assert response.status_code == 409
    assert "it is now E7. Save again to have yours instead." in html
    kept = form_of(html)
    assert (kept["fault_code"], kept["was_fault_code"], kept["notes"]) == ("E9", "E7", "mine")
    assert client.post(of(failure, "failure_correct"), kept).status_code == 302
    failure.refresh_from_db()
    assert (failure.fault_code, failure.notes) == ("E9", "mine")


def test_a_wrong_reading_is_taken_off_with_a_tick(unit):
    failure = actions.record(
        unit.pk,
        {"component": "sensor", "failed_on": "2026-02-20"},
        measured=[{"reading": "amps", "value": "70"}],
        by=None,
        on=TODAY,
    )
    client = company.as_role("office")
    html = client.get(of(failure, "failure_correct")).content.decode()
    assert "Amps: 70 A" in html
    client.post(of(failure, "failure_correct"), form_of(html) | {"readings_off": [str(failure.readings.get().pk)]})
    assert not failure.readings.exists()


def test_where_the_old_part_is(unit):
    failure = record(unit, repaired_on="2026-02-24", new_part_number="P-2", old_part_at="truck")
    client = company.as_role("technician")
    client.post(of(failure, "failure_old_part"), {"was": "truck", "old_part_at": "shelf"})
    failure.refresh_from_db()
    assert failure.old_part_at == "shelf"
    response = client.post(of(failure, "failure_old_part"), {"was": "truck", "old_part_at": "sent"}, follow=True)
    assert "changed this meanwhile; it is now shelf." in response.content.decode()
    failure.refresh_from_db()
    assert failure.old_part_at == "shelf"
    response = client.post(of(failure, "failure_old_part"), {"was": "shelf\0", "old_part_at": "sent"}, follow=True)
    assert "Choose it again." in response.content.decode()
    failure.refresh_from_db()
    assert failure.old_part_at == "shelf"


def test_voided_it_is_struck_with_its_reason(unit):
    failure, client = record(unit), company.as_role("office")
    bad = client.post(of(failure, "failure_void"), {"reason": ""})
    assert (bad.status_code, "Say why you are voiding it." in bad.content.decode()) == (422, True)
    client.post(of(failure, "failure_void"), {"reason": "another unit"})
    shown = client.get(of(failure)).content.decode()
    assert "<s>Sensor failed on February 20, 2026</s>" in shown
    assert "Voided on March 2, 2026: another unit. It counts for nothing." in shown
    history = client.get(reverse("unit", args=[unit.pk])).content.decode()
    assert "<s>Sensor failed</s></a> <strong>Voided on March 2, 2026: another unit</strong>" in history
    assert 'class="mark" d="M-5' not in history


def test_the_unit_page_leads_to_the_form_and_to_each_failure(unit):
    failure = record(unit)
    html = company.as_role("technician").get(reverse("unit", args=[unit.pk])).content.decode()
    assert f'href="{reverse("failure_new", args=[unit.pk])}">Record a failure</a>' in html
    assert f'<a href="{of(failure)}">Sensor failed</a>' in html


@pytest.mark.parametrize("name", ["failure_correct", "failure_void"])
def test_a_technician_neither_corrects_nor_voids(unit, name):
    assert company.as_role("technician").post(of(record(unit), name), {}).status_code == 403


@pytest.mark.parametrize("name", ["failure", "failure_repair", "failure_correct"])
def test_one_that_is_not_there(unit, name):
    assert company.as_role("office").get(reverse(name, args=[999])).status_code == 404


# -- the list


def listed(query="", role="office"):
    return company.as_role(role).get(f"{reverse('failures')}{query}").content.decode()


def test_the_list_narrows_sorts_and_comes_as_a_file(unit):
    record(unit, component="compressor", cause="power", repaired_on="2026-02-24", parts_cost="84.50")
    record(unit, failed_on="2025-01-10")
    gone = record(unit, component="louver")
    actions.void(gone.pk, reason="another unit", by=None, on=TODAY)
    html = listed()
    assert "2 failures; 1 of them is not repaired yet." in " ".join(html.split())
    assert "louver</span>" not in html
    assert "compressor</span>" not in listed("?component=sensor")
    assert "sensor</span>" not in listed("?days=30")
    assert "sensor</span>" not in listed("?cause=power")
    assert "compressor</span>" not in listed("?shown=not+repaired")
    assert "compressor</span>" not in listed("?claimed=claimed")
    assert "1 such failure, voided and not counted." in " ".join(listed("?shown=voided").split())
    text = b"".join(company.as_role("office").get(f"{reverse('failures')}?as=csv").streaming_content).decode()
    assert text.splitlines()[1].startswith(
        "2026-02-20,compressor,SB-1002,Northrill,NH-9,Den,Odile Marsh,Home,power,2026-02-24"
    )


def test_an_empty_list_says_what_will_stand_there(unit):
    assert "Record one from the page of its unit" in listed()


def test_the_list_asks_as_often_with_five_rows_as_with_one(unit):
    client = company.as_role("office")
    record(unit)
    client.get(reverse("failures"))
    with rows.asked() as one:
        client.get(reverse("failures"))
    for number in range(4):
        other = company.unit(f"SB-2{number}", customer=f"Customer {number}", started_on="2021-03-10")
        record(other, supplier=f"Supply {number}")
    with rows.asked() as five:
        client.get(reverse("failures"))
    assert len(five) == len(one)


def test_a_failure_asks_as_often_with_five_of_everything(unit):
    client = company.as_role("office")
    by = models.User.objects.get(username="office")
    failure = actions.record(unit.pk, {"component": "sensor", "failed_on": "2026-02-20"}, by=by, on=TODAY)
    client.get(of(failure))
    reading, entry = (
        {"reading": "amps", "value": "7"},
        {"move": "added", "refrigerant": "R-32", "ounces": "4", "who": "Tam", "sure": "on"},
    )
    with rows.asked() as one:
        client.get(of(failure))
    for _ in range(5):
        actions.correct(failure.pk, {}, measured=[reading], weighed=[entry], by=by, on=TODAY)
    with rows.asked() as five:
        client.get(of(failure))
    assert len(five) == len(one)
