"""What a phone's script sends and is told: in JSON, with a status that says what happened. Asked on March 2, 2026."""

import hashlib
import io
import uuid

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image

from fleet import models
from fleet.web import door
from tests import company, stops
from tests.pages import words

pytestmark = pytest.mark.django_db

KEY = "5f0c3b1a-7f41-4c3e-9d57-2f5f9b2f0a11"


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def units():
    return stops.house(2)


@pytest.fixture
def phone(units):
    return company.as_role("technician")


def me() -> models.User:
    return models.User.objects.get(username="technician")


def address(units) -> str:
    return f"/sites/{units[0].system.site_id}/write-up"


def fields(units, **named) -> dict:
    return {
        "key": KEY, "booking": "", "day": "2026-03-02", "technician": "Wynn Technician", "minutes": "", "notes": "",
        "failed-rows": "1", "weighed-rows": "1", f"done-{units[0].pk}:coil": "on", **named,
    }  # fmt: skip


def send(client, units, said: dict | None = None, **more):
    told = {"fields": fields(units) if said is None else said, **more}
    return client.post(address(units), told, content_type="application/json")


def jpeg(color: str = "red") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), color).save(out, "JPEG")
    return out.getvalue()


def of(photo: bytes) -> str:
    return hashlib.sha256(photo).hexdigest()


def put(client, photo: bytes, *, key: str = KEY, digest: str = ""):
    where = f"/phone/write-ups/{key}/photos/{digest or of(photo)}"
    return client.post(where, photo, content_type="image/jpeg", HTTP_ACCEPT="application/json")


# ------------------------------------------------------------------------------------------------- the write-up


def test_the_fields_of_the_form_as_json_are_the_form(phone, units):
    first = send(phone, units)
    assert first.status_code == 201
    assert phone.post(address(units), fields(units)).status_code == 302
    assert send(phone, units).status_code == 200
    assert models.WriteUp.objects.count() == models.MaintenanceRecord.objects.count() == 1
    other = send(phone, units, fields(units, notes="More"))
    assert (other.status_code, list(other.json()["faults"])) == (409, [""])


def test_how_it_was_sent_is_no_part_of_what_it_says(phone, units):
    assert send(phone, units, captured_at="2026-03-02T08:00:00-05:00", clock_ahead=0).status_code == 201
    assert send(phone, units, captured_at="2026-03-02T09:00:00-05:00", clock_ahead=30).status_code == 200


def test_what_is_wrong_is_told_by_the_field_of_the_form(phone, units):
    den, outdoor = units[0], units[-1]
    wrong = fields(units, **{
        f"read-{outdoor.pk}-amps": "900", "failed-0-unit": str(den.pk), "failed-0-component": "gearbox",
    })  # fmt: skip
    answer = send(phone, units, wrong)
    assert answer.status_code == 422
    assert sorted(answer.json()["faults"]) == ["failed-0-component", f"read-{outdoor.pk}-amps"]
    answer = send(phone, units, fields(units, technician="Two\nlines"))
    assert answer.json()["faults"] == {"technician": "This must be one line."}
    assert models.WriteUp.objects.count() == 0


def test_what_is_wrong_below_a_blank_row_is_told_at_its_own_row(phone, units):
    """Failures and refrigerant, the first row of each left blank; on the page without scripts the same."""
    den, outdoor = str(units[0].pk), str(units[-1].pk)
    wrong = fields(units, **{
        "failed-rows": "3", "failed-1-unit": den, "failed-1-component": "gearbox", "failed-2-unit": den,
        "failed-2-component": "sensor", "weighed-rows": "2", "weighed-1-unit": outdoor, "weighed-1-ounces": "a lot",
        "weighed-1-move": "added", "weighed-1-refrigerant": "R-410A",
    })  # fmt: skip
    faults = send(phone, units, wrong).json()["faults"]
    assert [name for name in faults if name.startswith("failed-")] == ["failed-1-component"]
    assert "weighed-1-ounces" in faults
    assert not any(name.startswith("weighed-0-") for name in faults)
    form = phone.post(address(units), wrong).context["form"]
    assert [list(row.errors) for row in form.failed] == [[], ["component"], []]
    assert models.WriteUp.objects.count() == 0


@pytest.mark.parametrize("said", [[], "a", {"key": 3}, {"key": [None]}])
def test_what_are_no_fields_is_refused(phone, units, said):
    assert send(phone, units, said).status_code == 422


def test_nobody_is_told_in_json_to_log_in_and_is_sent_nowhere(units):
    for answer in (
        send(Client(), units),
        put(Client(), jpeg()),
        Client().get("/phone/token", HTTP_ACCEPT="application/json"),
    ):
        assert (answer.status_code, answer.json()["code"]) == (401, "login")
    assert models.WriteUp.objects.count() == 0


def test_a_stranger_whose_role_was_taken_is_told_in_json(units):
    answer = send(company.as_role(""), units)
    assert answer.status_code == 404
    assert "nothing was recorded" in answer.json()["faults"][""]


def test_a_role_that_may_not_is_told_in_json(phone):
    answer = phone.get("/coverage-ending", HTTP_ACCEPT="application/json")
    assert (answer.status_code, answer.json()["code"]) == (403, "role")


def test_an_old_token_is_told_in_json_and_a_fresh_one_is_to_be_had(units):
    company.as_role("technician")
    phone = Client(enforce_csrf_checks=True)
    phone.force_login(me())
    answer = send(phone, units)
    assert (answer.status_code, answer.json()["code"]) == (403, "token")
    asked = phone.get("/phone/token", HTTP_ACCEPT="application/json")
    assert "no-store" in asked["Cache-Control"]
    fresh = asked.json()
    assert (fresh["person"], fresh["name"], fresh["now"][:10]) == (me().pk, "Wynn Technician", "2026-03-02")
    told = {"fields": fields(units)}
    again = phone.post(address(units), told, content_type="application/json", headers={"X-CSRFToken": fresh["token"]})
    assert again.status_code == 201


def test_a_page_without_scripts_still_gets_its_page_about_the_token(units):
    company.as_role("technician")
    phone = Client(enforce_csrf_checks=True)
    phone.force_login(me())
    answer = phone.post(address(units), fields(units))
    assert answer.status_code == 403
    assert "Please send it again" in words(answer)


def test_somebody_elses_draft_is_not_sent_under_this_login(phone, units):
    kim = models.User.objects.create_user("kim", password="quiet-ledger-9", role="technician", first_name="Kim")
    answer = send(phone, units, writer=kim.pk)
    assert (answer.status_code, answer.json()["code"]) == (403, "writer")
    assert "Kim" in answer.json()["faults"][""]
    assert models.WriteUp.objects.count() == 0
    assert send(phone, units, writer=me().pk).status_code == 201


def test_what_is_too_large_is_told_in_json(phone, units, monkeypatch):
    monkeypatch.setattr(door, "LARGEST", 100)
    assert send(phone, units).json()["faults"] == {"": "At most 0 MB can be sent at once."}
    monkeypatch.setattr(door, "LARGEST", 10**8)
    assert send(phone, units, fields(units, notes="a" * 1_100_000)).status_code == 422


def test_a_site_that_was_merged_meanwhile_is_found(phone, units):
    models.Merge.objects.create(kind="site", gone_id=9_999, kept_id=units[0].system.site_id, content={})
    told = {"fields": fields(units)}
    assert phone.post("/sites/9999/write-up", told, content_type="application/json").status_code == 201


# ------------------------------------------------------------------------------------------------- when it was written


@pytest.mark.parametrize(
    ("captured", "ahead", "is_kept", "is_said"),
    [
        pytest.param("2026-03-02T10:00:00-05:00", 0, "2026-03-02T15:00:00+00:00", "10:00", id="right"),
        pytest.param("2026-03-03T10:00:00-05:00", 86_400, "2026-03-02T15:00:00+00:00", "24 h fast", id="a day ahead"),
        pytest.param("2026-03-01T10:00:00-05:00", -86_400, "2026-03-02T15:00:00+00:00", "24 h slow", id="a day behind"),
        pytest.param("2026-03-02T10:00:00", 0, None, "", id="no zone"),
        pytest.param("noon", 0, None, "", id="no moment"),
        pytest.param("2026-03-02T10:00:00-05:00", 10**9, None, "", id="years off"),
        pytest.param("", "soon", None, "", id="nothing"),
        pytest.param("9999-12-31T23:59:59-05:00", 0, None, "", id="the end of all days"),
        pytest.param("0001-01-01T00:00:00+14:00", 60, None, "", id="before all days"),
    ],
)
def test_the_moment_is_kept_by_a_clock_set_right_and_the_day_is_the_drafts(
    phone, units, captured, ahead, is_kept, is_said
):
    assert send(phone, units, captured_at=captured, clock_ahead=ahead).status_code == 201
    row = models.WriteUp.objects.get()
    assert (row.captured_at and row.captured_at.isoformat()) == is_kept
    assert row.on == company.TODAY
    assert is_said in words(phone.get(f"/write-ups/{row.pk}"))


# ------------------------------------------------------------------------------------------------- photos


def test_photos_come_one_by_one_each_with_what_it_shows(phone, units):
    den = units[0]
    whole, head, broken, late = (jpeg(color) for color in ("red", "blue", "green", "white"))
    # The first row was left blank.
    said = fields(units, **{"failed-rows": "2", "failed-1-unit": str(den.pk), "failed-1-component": "sensor"})
    announced = [
        {"digest": of(whole), "name": "Yard.HEIC"}, {"digest": of(head), "unit": den.pk},
        {"digest": of(broken), "failure": 1}, {"digest": of(late)},
    ]  # fmt: skip
    assert send(phone, units, said, photos=announced).status_code == 201
    write_up = models.WriteUp.objects.get()
    assert "0 of 4 photos arrived" in words(phone.get(f"/write-ups/{write_up.pk}"))
    assert [put(phone, one).status_code for one in (whole, head, broken)] == [201, 201, 201]
    by_digest = {one.sent_digest: one for one in models.Document.objects.all()}
    assert (by_digest[of(whole)].site, by_digest[of(whole)].name) == (write_up.site, "Yard.jpg")
    assert by_digest[of(head)].unit == den
    assert (by_digest[of(broken)].unit, by_digest[of(broken)].failure) == (den, models.Failure.objects.get())
    assert {one.write_up for one in by_digest.values()} == {write_up}
    assert "3 of 4 photos arrived</a>; the rest come" in words(phone.get(f"/write-ups/{write_up.pk}"))
    arrived = phone.get(f"/phone/write-ups/{KEY}/photos").json()["arrived"]
    assert arrived == sorted(map(of, (whole, head, broken)))


@pytest.mark.parametrize(
    "photo",
    [
        {"digest": "A" * 64},
        {"digest": "a" * 63},
        {"digest": "a" * 64, "name": "a\x00b"},
        {"digest": "a" * 64, "unit": "den"},
        {"digest": "a" * 64, "failure": "9" * 5000},
        {"digest": "a" * 64, "place": "51.5"},
        "a",
    ],
)
def test_photos_that_cannot_be_are_refused_with_the_write_up(phone, units, photo):
    answer = send(phone, units, photos=[photo])
    assert (answer.status_code, models.WriteUp.objects.count()) == (422, 0)


def test_a_photo_sent_twice_is_kept_once(phone, units):
    send(phone, units, photos=[{"digest": of(jpeg())}])
    assert [put(phone, jpeg()).status_code for _ in range(2)] == [201, 200]
    assert models.Document.objects.count() == 1


def test_the_same_photo_of_a_second_write_up_has_arrived(phone, units):
    send(phone, units, photos=[{"digest": of(jpeg())}])
    put(phone, jpeg())
    other = str(uuid.uuid4())
    send(phone, units, fields(units, key=other, notes="More work"), photos=[{"digest": of(jpeg())}])
    assert put(phone, jpeg(), key=other).status_code == 200
    assert "1 of 1 photo arrived" in words(phone.get(f"/write-ups/{models.WriteUp.objects.first().pk}"))


def test_a_photo_is_refused_in_words(phone, units):
    assert put(phone, jpeg()).status_code == 404
    send(phone, units)
    assert put(phone, jpeg()[:-20], digest=of(jpeg())).status_code == 409
    assert put(phone, b"no photo").status_code == 422
    assert put(phone, jpeg(), key="mine").status_code == 404
    office = put(company.as_role("office"), jpeg())
    assert (office.status_code, office.json()["code"]) == (403, "writer")
    assert company.as_role("office").get(f"/phone/write-ups/{KEY}/photos").status_code == 403
    assert models.Document.objects.count() == 0


def test_a_photo_of_a_unit_elsewhere_stays_with_the_site(phone, units):
    other = company.unit("ZZ-1", customer="Somebody Else", room="Attic")
    send(phone, units, photos=[{"digest": of(jpeg()), "unit": other.pk}])
    put(phone, jpeg())
    assert models.Document.objects.get().site == units[0].system.site


# ------------------------------------------------------------------------------------------------- left to the office


@pytest.fixture
def check(phone, units) -> models.WriteUpCheck:
    den = units[0]
    models.Unit.objects.filter(pk=den.pk).update(removed_on=company.day("2026-02-27"), removal_reason="removed")
    assert send(phone, units).status_code == 201
    return models.WriteUpCheck.objects.get()


def test_it_stands_on_our_desk_until_somebody_settles_it(check):
    office = company.as_role("office")
    assert "Write-ups to check" in words(office.get("/on-our-desk"))
    assert "Room 1: The unit was removed on February 27, 2026." in words(office.get("/write-ups/to-check"))
    refused = office.post(f"/write-up-checks/{check.pk}/settle", {"how": " "})
    assert refused.status_code == 422
    assert "Write what was done about it." in words(refused)
    office.post(f"/write-up-checks/{check.pk}/settle", {"how": "Entered on the new head"})
    page = words(office.get(f"/write-ups/{check.write_up_id}"))
    assert "Settled on March 2, 2026 by Wynn Office: Entered on the new head" in page
    assert "Write-ups to check</h2>" not in words(office.get("/on-our-desk"))
    assert "Entered on the new head" in office.get("/write-ups/to-check?state=settled&as=csv").getvalue().decode()
    assert models.Change.objects.filter(table="writeupcheck", field="settled_how").count() == 1
    office.post(f"/write-up-checks/{check.pk}/reopen")
    assert "Write-ups to check</h2>" in words(office.get("/on-our-desk"))


def test_a_technician_sees_it_and_does_not_settle_it(phone, check):
    page = words(phone.get(f"/write-ups/{check.write_up_id}"))
    assert "The office settles this." in page
    assert phone.post(f"/write-up-checks/{check.pk}/settle", {"how": "x"}).status_code == 403


def test_of_a_write_up_taken_back_nothing_waits(phone, check):
    phone.post(f"/write-ups/{check.write_up_id}/take-back", {"reason": "Wrong house"})
    office = company.as_role("office")
    assert "Write-ups to check</h2>" not in words(office.get("/on-our-desk"))
    assert "Room 1: The unit" not in words(office.get("/write-ups/to-check?state=any"))


def test_the_list_asks_as_much_for_five_as_for_one(check):
    office, counts = company.as_role("office"), []
    for _ in range(2):
        office.get("/write-ups/to-check")
        with CaptureQueriesContext(connection) as asked:
            office.get("/write-ups/to-check")
        with CaptureQueriesContext(connection) as desk:
            office.get("/on-our-desk")
        counts.append((len(asked), len(desk)))
        for _ in range(4):
            models.WriteUpCheck.objects.create(write_up=check.write_up, kind="visit", why="Again")
    assert counts[0] == counts[1]
