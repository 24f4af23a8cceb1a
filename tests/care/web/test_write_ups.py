"""Today's stops and the write-up, on screen and as a message. Asked on March 2, 2026."""

import io
import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from fleet import models
from fleet.care.actions import bookings
from fleet.claims.actions import failures
from fleet.derived import recheck
from fleet.rules.findings import Payment
from fleet.rules.wording.answers import payment
from tests import company, stops
from tests.company import day
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY
KEY = "5f0c3b1a-7f41-4c3e-9d57-2f5f9b2f0a11"


@pytest.fixture
def units():
    return stops.house(8)


@pytest.fixture
def phone(units):
    return company.as_role("technician")


@pytest.fixture
def visit(units, phone) -> models.Booking:
    tasks = [(unit.pk, "coil") for unit in units[:-1]]
    jules = models.User.objects.get(username="technician")
    return bookings.book(
        units[0].system.site_id, tasks, day=TODAY, technician=jules.pk, note="Ring first", by=None, on=TODAY
    )


def address(units) -> str:
    return f"/sites/{units[0].system.site_id}/write-up"


def sent(units, **named) -> dict:
    """What a browser sends of a form as it opens, with what was written in it."""
    return {
        "key": KEY, "booking": "", "day": "2026-03-02", "technician": "Wynn Technician", "minutes": "", "notes": "",
        "asked": [f"{unit.pk}:coil" for unit in units[:-1]], "failed-rows": "1", "weighed-rows": "1",
        "weighed-0-who": "Wynn Technician", **named,
    }  # fmt: skip


# ------------------------------------------------------------------------------------------------- today's stops


def test_todays_stops_say_where_to_go_and_what_for(phone, visit, units):
    models.Site.objects.update(gate_code="4711#")
    text = words(phone.get("/todays-stops"))
    assert "March 2, 2026. 1 stop today, 3 h 40 min including the drive." in text
    for wanted in (
        "Odile Marsh, Home",
        "7 Tar Lane",
        "4711#",
        "555-0100",
        "Clean the coil: Room 1, Room 2, Room 3",
        "Ring first",
    ):
        assert wanted in text


def test_a_technician_sees_their_own_stops_and_nobodys(phone, visit, units):
    other = models.User.objects.create_user("kim", password="quiet-ledger-9", role="technician")
    models.Booking.objects.update(technician=other)
    assert "No stop is booked for today." in words(phone.get("/todays-stops"))
    models.Booking.objects.update(technician=None)
    assert "no technician yet" in words(phone.get("/todays-stops"))
    models.Booking.objects.update(technician=other)
    assert "Clean the coil: Room 1" in words(company.as_role("office").get("/todays-stops"))


@pytest.mark.parametrize(
    ("on_day", "heading"),
    [("2026-03-01", "Past visits not written up"), ("2026-03-03", "Tomorrow"), ("2026-03-04", "")],
)
def test_other_days_stand_by_themselves(phone, visit, on_day, heading):
    models.Booking.objects.update(on=on_day)
    text = words(phone.get("/todays-stops"))
    assert "No stop is booked for today." in text
    assert ("Odile Marsh, Home" in text) == bool(heading)
    assert heading in text


def test_a_failure_that_waits_says_who_would_pay(phone, visit, units):
    told = {"component": "drain pump", "failed_on": "2026-02-20"}
    failures.record(units[2].pk, told, by=None, on=TODAY)
    text = words(phone.get("/todays-stops"))
    assert "Room 3: <a" in text
    assert "drain pump failed on February 20, 2026" in text
    assert payment(Payment("parts", "maker", ())) in text
    assert payment(Payment("labor", "installer", ())) in text


# ------------------------------------------------------------------------------------------------- the form


def test_one_tick_does_for_all_heads_and_what_is_skipped_stays_skipped(phone, units, visit):
    den, loft = units[0], units[1]
    form = sent(units, booking=str(visit.pk), **{
        "all-coil": "on", f"skip-{loft.pk}:coil": "no access", f"until-{loft.pk}": "2026-04-01", f"coil-{den.pk}": "2",
    })  # fmt: skip
    answer = phone.post(address(units), form)
    made = models.WriteUp.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/write-ups/{made.pk}")
    assert made.records.filter(task="coil", skipped=False).count() == 7
    skip = made.records.get(skipped=True)
    assert (skip.unit, skip.skip_reason, skip.not_before) == (loft, "no access", day("2026-04-01"))
    assert made.records.get(unit=den).dirt_coil == 2
    visit.refresh_from_db()
    assert visit.state == "made"
    assert stops.due(units[2]).due_on == day("2027-03-02")
    page = words(phone.get(answer["Location"]))
    for wanted in (
        "7 tasks done, 1 skipped.",
        "next due March 2, 2027",
        "Clean the coil: no access, not before April 1, 2026",
    ):
        assert wanted in page
    assert list(recheck.differences(on=TODAY)) == []


def test_sent_twice_it_is_on_file_once(phone, units):
    form = sent(units, **{f"done-{units[0].pk}:coil": "on"})
    first, again = phone.post(address(units), form), phone.post(address(units), form)
    assert first["Location"] == again["Location"]
    assert "on file once" in words(phone.get(again["Location"]))
    assert models.MaintenanceRecord.objects.count() == 1
    other = phone.post(address(units), form | {"notes": "More"})
    assert other.status_code == 409
    assert "something else" in words(other)
    assert other.context["form"]["notes"].value() == "More"


def test_what_is_wrong_stands_beside_its_field_and_nothing_typed_is_lost(phone, units):
    den, outdoor = units[0], units[-1]
    form = sent(units, **{
        f"done-{den.pk}:coil": "on", f"skip-{den.pk}:coil": "no access", f"notes-{den.pk}": "Smells",
        f"read-{outdoor.pk}-amps": "900", "failed-0-component": "sensor", "minutes": "lots",
    })  # fmt: skip
    answer = phone.post(address(units), form)
    assert answer.status_code == 422
    found = answer.context["form"]
    assert list(found.errors) == ["minutes", f"done-{den.pk}:coil"]
    assert found.failed[0].errors == {"unit": ["Wanted: which unit."]}
    assert found[f"notes-{den.pk}"].value() == "Smells"
    # The first on the page has the focus, the one of the head before the row of the failure and the minutes below it.
    marks = re.findall(r"<[^>]* autofocus[^>]*>", answer.content.decode())
    assert [re.search(r' name="([^"]*)"', mark)[1] for mark in marks] == [f"done-{den.pk}:coil"]
    form |= {f"skip-{den.pk}:coil": "", "failed-0-unit": str(den.pk), "minutes": "60"}
    answer = phone.post(address(units), form)
    assert list(answer.context["form"].errors) == [f"read-{outdoor.pk}-amps"]
    assert models.WriteUp.objects.count() == 0
    answer = phone.post(address(units), form | {f"read-{outdoor.pk}-amps": "9"})
    assert answer.status_code == 302
    assert models.Failure.objects.get().unit == den


def test_a_reading_outside_its_band_warns_and_is_recorded(phone, units):
    den = units[0]
    reading = {f"read-{den.pk}-indoor relative humidity": "71"}
    seen = phone.post(address(units), sent(units, **reading, check=str(den.pk)), headers={"HX-Request": "true"})
    assert "71% is over 60%: mold can grow" in words(seen)
    assert models.WriteUp.objects.count() == 0
    answer = phone.post(address(units), sent(units, **reading))
    assert "71% is over 60%: mold can grow" in words(phone.get(answer["Location"]))


def test_refrigerant_and_a_repaired_failure_in_one_sending(phone, units):
    den = units[0]
    form = sent(units, **{
        "failed-0-unit": str(den.pk), "failed-0-component": "flare joint", "failed-0-repaired": "on",
        "weighed-0-unit": str(den.pk), "weighed-0-move": "added", "weighed-0-refrigerant": "R-410A", "weighed-0-ounces": "12",
    })  # fmt: skip
    assert phone.post(address(units), form).status_code == 302
    failure, entry = models.Failure.objects.get(), models.RefrigerantEntry.objects.get()
    assert (failure.repaired_on, failure.technician) == (TODAY, "Wynn Technician")
    assert (str(entry.ounces), entry.system, entry.write_up) == ("12.00", den.system, failure.write_up)


def test_an_improbable_weight_is_asked_about_in_its_row_and_nothing_is_lost(phone, units):
    models.Unit.objects.filter(serial="OD-1").update(refrigerant="R-410A", plate_charge_oz=90)
    told = {
        "weighed-0-unit": str(units[0].pk), "weighed-0-move": "added", "weighed-0-refrigerant": "R-32",
        "weighed-0-ounces": "12", "notes": "All well.",
    }  # fmt: skip
    answer = phone.post(address(units), sent(units, **told))
    assert answer.status_code == 422
    (row,) = answer.context["form"].weighed
    assert row.errors["sure"] == [
        "The system holds R-410A, and this says R-32. Correct it, or check the box if it is right."
    ]
    assert 'type="checkbox" name="weighed-0-sure"' in answer.content.decode()
    assert answer.context["form"]["notes"].value() == "All well."
    assert not models.WriteUp.objects.exists()
    assert phone.post(address(units), sent(units, **told, **{"weighed-0-sure": "on"})).status_code == 302
    assert models.RefrigerantEntry.objects.get().refrigerant == "R-32"


@pytest.mark.parametrize(
    ("reading", "value"),
    [("indoor relative humidity", "140"), ("superheat", "-30"), ("indoor relative humidity", "71"), ("amps", "12")],
)
def test_what_is_said_while_writing_and_what_saving_says_is_the_same(phone, units, reading, value):
    """A value that cannot be is refused in the words in which it was shown before; any other is shown as what it warns of."""
    pk = units[0].pk
    told = {f"other-{pk}": reading, f"othervalue-{pk}": value}
    live = words(phone.post(address(units), sent(units, **told, check=str(pk))))
    answer = phone.post(address(units), sent(units, **told), follow=True)
    if answer.status_code == 422:
        ((fault,),) = answer.context["form"].errors.values()
        assert fault.removeprefix("Wanted: ") in live
        assert "mold" not in live
    else:
        assert "anted:" not in live
        assert ("mold can grow" in live) is ("mold can grow" in words(answer)) is (value == "71")


def test_supply_and_return_are_judged_together(phone, units):
    pk = units[0].pk
    told = {
        f"read-{pk}-return air temperature": "75",
        f"read-{pk}-supply air temperature": "70",
        f"mode-{pk}": "cooling",
    }
    said = "The air changes by 5 F, less than the usual 14 F"
    assert said in words(phone.post(address(units), sent(units, **told, check=str(pk))))
    assert said in words(phone.post(address(units), sent(units, **told), follow=True))
    assert said not in words(phone.post(address(units), sent(units, **told | {f"mode-{pk}": ""}, check=str(pk))))


def test_the_form_of_a_very_large_house_is_read(phone, units):
    many = {f"notes-{number}": "" for number in range(1_000_000, 1_003_000)}
    answer = phone.post(address(units), sent(units, **many, **{f"done-{units[0].pk}:coil": "on"}))
    assert answer.status_code == 302


def test_more_rows_without_scripts(phone, units):
    answer = phone.post(address(units), sent(units, more="failed", notes="So far"))
    assert answer.status_code == 200
    assert len(answer.context["form"].failed) == 2
    assert answer.context["form"]["notes"].value() == "So far"
    assert models.WriteUp.objects.count() == 0


def test_a_head_that_left_meanwhile_does_not_refuse_the_stop_and_is_left_to_the_office(phone, units):
    den = units[0]
    models.Unit.objects.filter(pk=den.pk).update(removed_on=day("2026-02-27"), removal_reason="removed")
    answer = phone.post(address(units), sent(units, **{f"done-{den.pk}:coil": "on", "notes": "Long text"}), follow=True)
    text = words(answer)
    assert "Some of it could not be recorded as written" in text
    assert "Room 1: The unit was removed on February 27, 2026." in text
    assert "Written: done: Clean the coil" in text
    assert "Long text" in text
    assert models.MaintenanceRecord.objects.count() == 0


@pytest.mark.parametrize("page", ["/todays-stops", "write-up"])
def test_as_many_queries_for_eight_heads_as_for_one(page, visit, units, phone):
    counts = []
    for number in (8, 1):
        if number == 1:
            models.Unit.objects.filter(pk__in=[unit.pk for unit in units[1:]]).update(
                removed_on=TODAY, removal_reason="removed"
            )
        where = page if page.startswith("/") else f"{address(units)}?booking={visit.pk}"
        phone.get(where)
        with CaptureQueriesContext(connection) as asked:
            assert phone.get(where).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


# ------------------------------------------------------------------------------------------------- as a message


def message(client, units, told) -> object:
    return client.post(address(units), told, content_type="application/json")


def test_a_message_says_what_became_of_it(phone, units):
    told = {
        "key": KEY, "day": "2026-03-02", "technician": "Wynn Technician",
        "units": [{"unit": units[0].pk, "done": ["coil"], "dirt_coil": 1}],
    }  # fmt: skip
    first = message(phone, units, told)
    assert (first.status_code, first.json()["address"]) == (201, f"/write-ups/{models.WriteUp.objects.get().pk}")
    assert message(phone, units, told).status_code == 200
    assert message(phone, units, told | {"notes": "More"}).status_code == 409
    assert message(company.as_role("office"), units, told).status_code == 409
    wrong = message(phone, units, told | {"key": str(uuid.uuid4()), "day": "2026-03-03"})
    assert (wrong.status_code, list(wrong.json()["faults"])) == (422, ["day"])
    assert models.WriteUp.objects.get().content == told


@pytest.mark.parametrize("told", ["{", "[]", '"a"', "[" * 3000])
def test_what_is_no_message_is_refused(phone, units, told):
    assert message(phone, units, told).status_code == 422


def test_nobody_is_found_at_a_site_that_is_not_there(phone):
    assert phone.get("/sites/99/write-up").status_code == 404
    assert phone.post("/sites/99/write-up", {}, content_type="application/json").status_code == 404


# ------------------------------------------------------------------------------------------------- sent twice, by either door


def photo(color: str = "red") -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), color).save(out, "PNG")
    return SimpleUploadedFile(f"{color}.png", out.getvalue(), "image/png")


def test_a_form_and_a_message_under_one_key_are_one_write_up(phone, units):
    pk = units[0].pk
    assert phone.post(address(units), sent(units, **{f"done-{pk}:coil": "on", "notes": "All well."})).status_code == 302
    message = {
        "key": KEY, "day": "2026-03-02", "technician": "Wynn Technician", "notes": "All well.",
        "units": [{"unit": pk, "done": ["coil"]}],
    }  # fmt: skip
    answer = phone.post(address(units), message, content_type="application/json")
    assert answer.status_code == 200
    assert models.WriteUp.objects.count() == 1
    other = phone.post(address(units), message | {"notes": "Not so well."}, content_type="application/json")
    assert other.status_code == 409


def test_gone_back_and_saved_again_asks_before_a_second_one(phone, visit, units):
    form = sent(units, booking=str(visit.pk), notes="All well.")
    assert phone.post(address(units), form).status_code == 302
    again = form | {"key": str(uuid.uuid4())}
    answer = phone.post(address(units), again)
    assert answer.status_code == 422
    assert "You already wrote up this visit on March 2, 2026." in words(answer)
    assert 'type="checkbox" name="sure"' in answer.content.decode()
    assert answer.context["form"]["notes"].value() == "All well."
    assert models.WriteUp.objects.count() == 1
    assert phone.post(address(units), again | {"sure": "on"}).status_code == 302
    assert models.WriteUp.objects.count() == 2


def test_a_photo_that_comes_when_the_same_is_sent_again_is_kept_once(phone, units):
    form = sent(units, notes="All well.")
    phone.post(address(units), form | {"photos": photo()})
    phone.post(address(units), form | {"photos": [photo(), photo("blue")]})
    assert models.WriteUp.objects.count() == 1
    made = models.WriteUp.objects.get()
    assert sorted(models.Document.objects.filter(write_up=made).values_list("name", flat=True)) == [
        "blue.png",
        "red.png",
    ]


def test_photos_and_readings_of_a_write_up_show_on_its_units_and_its_failure(phone, units):
    den, loft = units[:2]
    form = sent(units, **{
        f"read-{den.pk}-indoor relative humidity": "55", "failed-0-unit": str(den.pk), "failed-0-component": "sensor",
        "photos": photo(),
    })  # fmt: skip
    assert phone.post(address(units), form).status_code == 302
    failure, document = models.Failure.objects.get(), models.Document.objects.get()
    unit_page = words(phone.get(f"/units/{den.pk}"))
    assert "Indoor relative humidity 55 %" in unit_page
    for page in (f"/units/{den.pk}", f"/failures/{failure.pk}", f"/sites/{den.system.site_id}"):
        assert f"/documents/{document.pk}" in phone.get(page).content.decode(), page
    assert "Indoor relative humidity: 55 %" in words(phone.get(f"/failures/{failure.pk}"))
    # Of a head that it does not tell of, nothing shows.
    assert f"/documents/{document.pk}" not in phone.get(f"/units/{loft.pk}").content.decode()
