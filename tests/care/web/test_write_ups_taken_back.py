"""A write-up taken back on its page, and the form filled anew with what was sent. Asked on March 2, 2026."""

import uuid
from html.parser import HTMLParser
from typing import Any

import pytest

from fleet import models
from fleet.care.actions import bookings
from fleet.derived import recheck
from tests import claimed, company, stops
from tests.company import day
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY
WHY = "Those were the heads upstairs"


@pytest.fixture
def units():
    return stops.house(3)


@pytest.fixture
def phone(units):
    return company.as_role("technician")


@pytest.fixture
def visit(units) -> models.Booking:
    tasks = [(unit.pk, "coil") for unit in units[:-1]]
    return bookings.book(units[0].system.site_id, tasks, day=TODAY, by=None, on=TODAY)


def form_at(units) -> str:
    return f"/sites/{units[0].system.site_id}/write-up"


def sent(units, **named) -> dict:
    return {
        "key": str(uuid.uuid4()), "booking": "", "day": "2026-03-02", "technician": "Wynn Technician", "minutes": "",
        "notes": "", "asked": [f"{unit.pk}:coil" for unit in units[:-1]], "failed-rows": "1", "weighed-rows": "1",
        "weighed-0-who": "Wynn Technician", **named,
    }  # fmt: skip


def written(client, units, **named) -> models.WriteUp:
    assert client.post(form_at(units), sent(units, **named)).status_code == 302
    return models.WriteUp.objects.latest("pk")


def back(client, row: models.WriteUp, reason: str = WHY) -> Any:
    return client.post(f"/write-ups/{row.pk}/take-back", {"reason": reason})


class _Fields(HTMLParser):
    """What a browser would send of a page's form as it stands, if nobody touched it."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[str]] = {}
        self._inside = self._area = self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._inside = told.get("class", "")
        name = told.get("name", "")
        if tag == "textarea":
            self._area = name
        elif tag == "select":
            self._select = name
        elif tag == "option" and "selected" in told:
            self._put(self._select, told.get("value", ""))
        elif told.get("type") == "checkbox":
            self._put(name, "on" if "checked" in told else "")
        elif told.get("type") == "radio":
            if "checked" in told:
                self._put(name, told.get("value", ""))
        elif tag == "input" and told.get("type") != "file":
            self._put(name, told.get("value", ""))

    def handle_data(self, data: str) -> None:
        if self._area and data.strip():
            self._put(self._area, data.strip("\r\n"))

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""
        elif tag == "form":
            self._inside = ""

    def _put(self, name: str, value: str) -> None:
        if name and self._inside == "write_up":
            self.found.setdefault(name, []).append(value)


def as_it_stands(response) -> dict[str, list[str]]:
    parser = _Fields()
    parser.feed(response.content.decode())
    return {name: values for name, values in parser.found.items() if any(values) and name != "csrfmiddlewaretoken"}


# ------------------------------------------------------------------------------------------------- taking it back


def test_taken_back_it_is_struck_with_who_when_and_why(phone, units):
    made = written(phone, units, notes="All quiet.", **{f"done-{units[0].pk}:coil": "on"})
    assert "Take this write-up back" in words(phone.get(f"/write-ups/{made.pk}"))
    answer = back(phone, made)
    assert (answer.status_code, answer["Location"]) == (302, f"/write-ups/{made.pk}")
    page = words(phone.get(f"/write-ups/{made.pk}"))
    for wanted in (
        "Taken back. It stays here to read, and no longer counts.",
        "<s>Write-up of March 2, 2026</s>",
        f"Taken back on March 2, 2026 by Wynn Technician: {WHY}",
        "<li><s>Room 1: Clean the coil done</s></li>",
        "<s>All quiet.</s>",
        f'href="{form_at(units)}?anew={made.pk}">Write it up again</a>',
    ):
        assert wanted in page
    for unwanted in ("Take this write-up back", "task done", "next due"):
        assert unwanted not in page
    assert stops.due(units[0]).due_on == day("2026-02-01")
    assert list(recheck.differences(on=TODAY)) == []


def test_the_site_shows_it_as_taken_back_and_todays_stops_not_at_all(phone, units):
    made = written(phone, units, **{f"done-{units[0].pk}:coil": "on"})
    assert "Written up: <a" in words(phone.get("/todays-stops"))
    back(phone, made)
    assert "Written up:" not in words(phone.get("/todays-stops"))
    site = words(phone.get(f"/sites/{units[0].system.site_id}"))
    assert f'Written up and taken back: <a href="/write-ups/{made.pk}">March 2, 2026, Wynn Technician</a>' in site
    assert "Written up: <a" not in site
    changed = words(company.as_role("office").get(f"/units/{units[0].pk}/changes"))
    assert f"write-up taken back: {WHY}" in changed
    assert "2026-03-02: Clean the coil done, Wynn Technician" in changed


def test_without_a_reason_nothing_happens_and_the_fold_stands_open(phone, units):
    made = written(phone, units, **{f"done-{units[0].pk}:coil": "on"})
    answer = back(phone, made, " ")
    assert answer.status_code == 422
    assert "Say why it is taken back." in words(answer)
    assert '<details class="part" open><summary>Take this write-up back' in words(answer)
    assert made.records.count() == 1


def test_what_hangs_on_it_is_said(phone, units):
    made = written(phone, units, **{"failed-0-unit": str(units[0].pk), "failed-0-component": "drain pump"})
    claimed.claim(made.failures.get())
    answer = back(phone, made)
    assert answer.status_code == 422
    assert "is claimed: the claim with Northrill is not filed yet. Withdraw the claim first" in words(answer)
    assert answer.context["undo"]["reason"].value() == WHY


def test_a_failure_that_it_found_is_shown_as_voided(phone, units):
    made = written(phone, units, **{"failed-0-unit": str(units[0].pk), "failed-0-component": "drain pump"})
    back(phone, made)
    page = words(phone.get(f"/write-ups/{made.pk}"))
    assert "<s>Drain pump, Room 1</s></a>, voided" in page
    assert "not repaired yet" not in page


def test_taken_back_twice_it_says_by_whom(phone, units):
    made = written(phone, units, **{f"done-{units[0].pk}:coil": "on"})
    back(company.as_role("office"), made)
    answer = back(phone, made, "Me too")
    assert answer.status_code == 302
    assert f"It was already taken back on March 2, 2026 by Wynn Office. The reason: {WHY}." in words(
        phone.get(answer["Location"])
    )


@pytest.mark.parametrize(("role", "status"), [("office", 302), ("owner", 302), ("technician", 302), ("kim", 403)])
def test_who_may(phone, units, role, status):
    made = written(phone, units, **{f"done-{units[0].pk}:coil": "on"})
    if role == "kim":
        models.User.objects.create_user("kim", password="quiet-ledger-9", role="technician", first_name="Kim")
    client = company.as_role(role)
    assert ("Take this write-up back" in words(client.get(f"/write-ups/{made.pk}"))) == (status == 302)
    assert back(client, made).status_code == status
    assert made.records.exists() == (status == 403)


def test_it_is_asked_for_by_sending_alone(phone, units):
    made = written(phone, units, **{f"done-{units[0].pk}:coil": "on"})
    assert phone.get(f"/write-ups/{made.pk}/take-back").status_code == 405
    assert phone.post("/write-ups/999/take-back", {"reason": WHY}).status_code == 404


def test_its_visit_is_to_be_written_up_again(phone, units, visit):
    made = written(phone, units, booking=str(visit.pk), **{f"done-{units[0].pk}:coil": "on"})
    office = company.as_role("office")
    assert f"/write-ups/{made.pk}" in words(office.get(f"/visits/{visit.pk}"))
    back(phone, made)
    page = words(office.get(f"/visits/{visit.pk}"))
    assert f"/write-ups/{made.pk}" not in page
    assert "Write up this visit" in page
    assert f"write-up taken back: {WHY}" in page
    assert f"?booking={visit.pk}" in words(phone.get("/todays-stops"))


# ------------------------------------------------------------------------------------------------- sent again


def test_a_form_that_comes_late_is_told_that_it_was_taken_back(phone, units):
    form = sent(units, **{f"done-{units[0].pk}:coil": "on"})
    phone.post(form_at(units), form)
    back(phone, models.WriteUp.objects.get())
    again = phone.post(form_at(units), form)
    assert again.status_code == 302
    assert "was taken back on March 2, 2026 by Wynn Technician" in words(phone.get(again["Location"]))
    other = phone.post(form_at(units), form | {"notes": "More"})
    assert (other.status_code, "was taken back, and it said something else" in words(other)) == (409, True)
    assert models.MaintenanceRecord.objects.count() == 0


def test_a_message_that_comes_late_is_told_that_it_was_taken_back(phone, units):
    told = {"key": str(uuid.uuid4()), "day": "2026-03-02", "technician": "Wynn Technician",
            "units": [{"unit": units[0].pk, "done": ["coil"]}]}  # fmt: skip
    send = lambda told: phone.post(form_at(units), told, content_type="application/json")  # noqa: E731
    assert send(told).status_code == 201
    back(phone, models.WriteUp.objects.get())
    late = send(told)
    assert late.status_code == 200
    assert late.json()["told"].startswith("This write-up was taken back on March 2, 2026 by Wynn Technician.")
    assert send(told | {"notes": "More"}).status_code == 409
    assert models.MaintenanceRecord.objects.count() == 0


# ------------------------------------------------------------------------------------------------- written anew


def anew(client, row: models.WriteUp) -> Any:
    return client.get(f"/sites/{row.site_id}/write-up?anew={row.pk}")


def test_the_form_opens_filled_and_sent_as_it_stands_it_is_what_it_was(phone, units, visit):
    den, loft, other, outdoor = units
    written(phone, units, booking=str(visit.pk), minutes="95", notes="All quiet.", **{
        "all-coil": "on",
        f"skip-{loft.pk}:coil": "no access", f"until-{loft.pk}": "2026-04-15",
        f"done-{loft.pk}:drain": "on", f"wheel-{den.pk}": "1", f"coil-{den.pk}": "2", f"notes-{den.pk}": "Smells.",
        f"read-{den.pk}-indoor relative humidity": "55", f"mode-{den.pk}": "cooling", f"running-{den.pk}": "15",
        f"other-{outdoor.pk}": "subcooling", f"othervalue-{outdoor.pk}": "10",
        f"read-{outdoor.pk}-amps": "9.4",
        "failed-0-unit": str(other.pk), "failed-0-component": "flare joint", "failed-0-repaired": "on",
        "failed-0-labor_minutes": "30", "failed-0-leak_at": "at the head",
        "weighed-0-unit": str(outdoor.pk), "weighed-0-move": "added", "weighed-0-refrigerant": "R-410A",
        "weighed-0-ounces": "8", "weighed-0-cylinder": "C-9",
    })  # fmt: skip
    first = models.WriteUp.objects.get()
    was = _put_on_file(first)
    assert was[0] != []
    back(phone, first)
    page = anew(phone, first)
    assert page.status_code == 200
    text = words(page)
    assert f"Filled in from the write-up of March 2, 2026 that was taken back ({WHY})." in text
    assert "Nothing is saved yet" not in text
    fields = as_it_stands(page)
    assert fields["booking"] == [str(visit.pk)]
    assert fields["key"] != [str(first.key)]
    answer = phone.post(form_at(units), fields)
    assert answer.status_code == 302, answer.context["form"].errors
    second = models.WriteUp.objects.latest("pk")
    assert second != first
    assert _put_on_file(second) == was
    assert (second.minutes, second.notes, second.booking_id) == (95, "All quiet.", visit.pk)
    visit.refresh_from_db()
    assert visit.state == "made"
    assert list(recheck.differences(on=TODAY)) == []


def _put_on_file(row: models.WriteUp) -> list[list[Any]]:
    """All that a write-up put on file, without the keys of the rows."""
    passing = {"id", "write_up_id", "key", "failure_id", "voided_on", "void_reason"}
    tables = (row.records, row.readings, row.failures, row.refrigerant_entries)
    rows = [[{name: value for name, value in one.items() if name not in passing} for one in t.values()] for t in tables]
    return [sorted(some, key=repr) for some in rows]


def test_what_came_as_a_message_fills_the_form_too_and_nothing_of_it_is_lost(phone, units):
    den, loft, _, outdoor = units
    told = {
        "key": str(uuid.uuid4()), "day": "2026-03-02", "technician": "Wynn Technician", "minutes": 40,
        "units": [
            {"unit": den.pk, "done": ["coil", "drain"], "dirt_coil": 0, "notes": "Smells.", "readings": [
                {"reading": "amps", "value": "1.2", "mode": "cooling"},
                {"reading": "volts", "value": 230, "mode": "cooling"},
                {"reading": "return air temperature", "value": "22", "measure": "C", "mode": "cooling"},
                {"reading": "indoor relative humidity", "value": "50", "mode": "drying", "note": "by the door"},
            ]},
            {"unit": loft.pk, "skipped": [{"task": "coil", "reason": "no access", "not_before": "2026-04-15"}]},
        ],
        "failures": [
            {"unit": den.pk, "component": "sensor", "notes": "Reads high.", "parts_cost": "12.50", "repaired_on": "2026-03-02"},
            {"unit": loft.pk, "component": "drain pump", "failed_on": "2026-03-01"},
        ],
        "refrigerant": [
            {"unit": outdoor.pk, "move": "recovered", "refrigerant": "R-410A", "ounces": "20", "who": "Kim"},
            {"unit": outdoor.pk, "move": "added", "refrigerant": "R-410A", "ounces": "22", "who": "Kim"},
        ],
    }  # fmt: skip
    assert phone.post(form_at(units), told, content_type="application/json").status_code == 201, told
    first = models.WriteUp.objects.get()
    back(company.as_role("office"), first)
    fields = as_it_stands(anew(phone, first))
    assert fields[f"read-{den.pk}-amps"] == ["1.2"]
    assert fields[f"read-{den.pk}-volts"] == ["230"]
    assert fields[f"mode-{den.pk}"] == ["cooling"]
    assert f"read-{den.pk}-return air temperature" not in fields
    assert fields[f"notes-{den.pk}"][0].splitlines() == [
        "Smells.",
        "Measured: return air temperature 22 C (mode cooling)",
        "Measured: indoor relative humidity 50 (mode drying) by the door",
    ]
    assert fields[f"coil-{den.pk}"] == ["0"]
    assert fields[f"skip-{loft.pk}:coil"] == ["no access"]
    assert fields[f"until-{loft.pk}"] == ["2026-04-15"]
    assert fields["failed-0-notes"] == ["Reads high; parts cost 12.50"]
    assert fields["failed-0-repaired"] == ["on"]
    assert "failed-1-repaired" not in fields
    assert fields["failed-1-notes"] == ["failed 2026-03-01"]
    assert [fields[f"weighed-{number}-ounces"] for number in (0, 1)] == [["20"], ["22"]]
    answer = phone.post(form_at(units), fields)
    assert answer.status_code == 302
    second = models.WriteUp.objects.latest("pk")
    assert (second.records.count(), second.failures.count(), second.refrigerant_entries.count()) == (3, 2, 2)


def test_only_what_was_taken_back_at_this_site_fills_a_form(phone, units):
    made = written(phone, units, notes="All quiet.", **{f"done-{units[0].pk}:coil": "on"})
    other = company.unit("ZZ-1", customer="Somebody Else", room="Attic")
    for address in (
        f"/sites/{made.site_id}/write-up?anew={made.pk}",
        f"/sites/{made.site_id}/write-up?anew=x",
        f"/sites/{made.site_id}/write-up?anew=99999999999999999999",
    ):
        assert not phone.get(address).context["form"].is_bound
    back(phone, made)
    assert anew(phone, made).context["form"]["notes"].value() == "All quiet."
    elsewhere = phone.get(f"/sites/{other.system.site_id}/write-up?anew={made.pk}")
    assert not elsewhere.context["form"].is_bound


def test_a_visit_called_off_since_is_not_written_up_anew(phone, units, visit):
    made = written(phone, units, booking=str(visit.pk), **{f"done-{units[0].pk}:coil": "on"})
    back(phone, made)
    visit.refresh_from_db()
    bookings.cancel(visit.pk, was=bookings.seen(visit), why="Customer rang", by=None, on=TODAY)
    assert "booking" not in as_it_stands(anew(phone, made))


def test_another_row_asked_for_keeps_what_was_filled_in(phone, units):
    made = written(
        phone,
        units,
        **{f"done-{units[0].pk}:coil": "on", f"other-{units[0].pk}": "amps", f"othervalue-{units[0].pk}": "3"},
    )
    back(phone, made)
    fields = as_it_stands(anew(phone, made))
    more = phone.post(form_at(units), fields | {"more": ["failed"]})
    again = as_it_stands(more)
    assert again[f"read-{units[0].pk}-amps"] == ["3"]
    assert again[f"done-{units[0].pk}:coil"] == ["on"]
    assert again["key"] == fields["key"]


def test_written_anew_once_and_found_from_the_one_taken_back(phone, units):
    first = written(phone, units, **{f"done-{units[0].pk}:coil": "on"})
    back(phone, first)
    fields = as_it_stands(anew(phone, first))
    assert as_it_stands(anew(company.as_role("office"), first))["key"] == fields["key"]
    phone.post(form_at(units), fields)
    second = models.WriteUp.objects.latest("pk")
    assert f'Written up again: <a href="/write-ups/{second.pk}">' in words(phone.get(f"/write-ups/{first.pk}"))
    assert anew(phone, first)["Location"] == f"/write-ups/{second.pk}"
    assert phone.post(form_at(units), fields)["Location"] == f"/write-ups/{second.pk}"
    # Taken back as well, the next has a key of its own again, from whichever page it is asked for.
    back(phone, second)
    again = [as_it_stands(anew(phone, row))["key"] for row in (first, second)]
    assert again[0] == again[1]
    assert again[0] not in (fields["key"], [str(first.key)])
    phone.post(form_at(units), fields | {"key": again[0]})
    third = models.WriteUp.objects.latest("pk")
    assert (models.WriteUp.objects.count(), models.MaintenanceRecord.objects.count()) == (3, 1)
    for row in (first, second):
        assert anew(phone, row)["Location"] == f"/write-ups/{third.pk}"
