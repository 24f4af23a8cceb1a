"""The queue of registrations, one system's, and On our desk. Asked on Monday March 2, 2026; a limit is 60 days after the install."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import recheck
from tests import company
from tests.pages import shown, words

pytestmark = pytest.mark.django_db


def clean() -> bool:
    return not list(recheck.differences(on=company.TODAY))


@pytest.fixture
def office():
    company.on_file()
    return company.as_role("office")


def put_in(number: int = 2, installed_on: str = "2026-02-10", **named) -> models.System:
    for place in range(number):
        unit = company.unit(
            f"{named.get('customer', 'SB')}-{place}",
            installed_on=installed_on,
            started_on=installed_on,
            room=f"Room {place}",
            **named,
        )
    company.worked_out()
    return unit.system


def listed(client, asked: str = "") -> list[list[object]]:
    listing = client.get(f"/registrations?{asked}").context["listing"]
    return shown(listing)


def sent(system: models.System, **told) -> dict[str, object]:
    """What the form of the one payer sends: every open unit ticked unless something else is said."""
    number = models.Terms.objects.get(code="northrill-1").pk
    held = [f"{pk}-{number}" for pk in system.units.values_list("pk", flat=True)]
    return {"payer": number} | {f"with-{number}-{name}": value for name, value in ({"units": held} | told).items()}


def states() -> list[str]:
    rows = models.HoldingRow.objects.filter(terms__code="northrill-1").order_by("unit_id")
    return list(rows.values_list("registration", flat=True))


@pytest.mark.parametrize(
    ("installed_on", "state", "left"),
    [
        pytest.param("2026-03-02", "to do", 60, id="put in today"),
        pytest.param("2026-01-01", "to do", 0, id="the last day is today"),
        pytest.param("2025-12-31", "missed", None, id="the last day was yesterday"),
        pytest.param(None, "waiting for a date", None, id="no day of the install"),
    ],
)
def test_a_row_stands_where_the_rules_say(installed_on, state, left, office):
    put_in(installed_on=installed_on)
    found = listed(office, f"state={state}")
    assert [(row[0], row[1], row[2], row[3], row[5]) for row in found] == [
        ("Whole house", "Odile Marsh", "Northrill", 2, left)
    ]
    for other in {"to do", "missed", "waiting for a date", "sent", "confirmed"} - {state}:
        assert listed(office, f"state={other}") == []


def test_one_confirmation_closes_all_units_of_the_system(office):
    system = put_in(9)
    response = office.post(
        f"/systems/{system.pk}/registration", sent(system, registered_on="2026-03-01", number="N-77")
    )
    assert response.status_code == 302
    assert states() == ["confirmed"] * 9
    assert set(models.Registration.objects.values_list("registered_on", "number", "terms__code")) == {
        (company.day("2026-03-01"), "N-77", "northrill-1")
    }
    assert models.Registration.objects.count() == 9
    assert models.Change.objects.filter(field="registration").count() == 9
    assert listed(office) == []
    assert clean()
    office.post(f"/systems/{system.pk}/registration", sent(system, registered_on="2026-03-01", number="N-77"))
    assert models.Registration.objects.count() == 9


def test_sent_and_confirmed_are_told_apart(office):
    system = put_in()
    office.post(f"/systems/{system.pk}/registration", sent(system, registered_on="2026-02-20", number=""))
    assert states() == ["sent", "sent"]
    assert [row[6] for row in listed(office, "state=sent")] == [
        "Sent on February 20, 2026; its number is not on file yet."
    ]
    page = office.get(f"/systems/{system.pk}/registration")
    assert 'value="2026-02-20"' in words(page)
    office.post(f"/systems/{system.pk}/registration", sent(system, registered_on="2026-02-20", number="N-1"))
    assert states() == ["confirmed", "confirmed"]
    assert clean()


def test_some_units_can_be_left_out(office):
    system = put_in(3)
    told = sent(system, registered_on="2026-03-01", number="N-1")
    name = next(name for name in told if name.endswith("-units"))
    office.post(f"/systems/{system.pk}/registration", told | {name: told[name][:2]})
    assert states() == ["confirmed", "confirmed", "to do"]


@pytest.mark.parametrize(
    ("told", "said"),
    [
        pytest.param({"registered_on": "2026-03-03"}, "Enter a day no later than today.", id="tomorrow"),
        pytest.param({"registered_on": "soon"}, "Enter a valid date.", id="no day"),
        pytest.param({"units": []}, "Choose at least one unit.", id="no unit"),
    ],
)
def test_a_bad_form_keeps_what_was_typed(told, said, office):
    system = put_in()
    told = {"registered_on": "2026-03-01", "number": "N-kept"} | told
    response = office.post(f"/systems/{system.pk}/registration", sent(system, **told))
    assert response.status_code == 422
    assert said in words(response)
    assert 'value="N-kept"' in words(response)
    assert f'value="{told["registered_on"]}"' in words(response)
    assert models.Registration.objects.count() == 0
    assert models.Change.objects.count() == 0


def test_what_was_recorded_can_be_taken_back(office):
    system = put_in()
    before = states()
    office.post(f"/systems/{system.pk}/registration", sent(system, registered_on="2026-03-01", number="N-77"))
    keys = list(models.Registration.objects.values_list("pk", flat=True))
    office.post(f"/systems/{system.pk}/registration/undo", {"key": keys})
    assert states() == before == ["to do", "to do"]
    assert models.Registration.objects.count() == 0
    last = models.Change.objects.order_by("-pk")[0]
    assert (last.before, last.after, last.why) == (
        "northrill-1: registered on 2026-03-01, number N-77",
        "",
        "taken back",
    )
    assert clean()


def test_another_systems_or_a_files_registration_is_not_taken_back(office):
    system = put_in(1)
    put_in(1, customer="Ivo Lund")
    other = models.Unit.objects.get(serial="Ivo Lund-0")
    theirs = models.Registration.objects.create(unit=other, registered_on=company.TODAY)
    ours = models.Registration.objects.create(unit=system.units.get(), registered_on=company.TODAY, with_install=True)
    office.post(f"/systems/{system.pk}/registration/undo", {"key": [theirs.pk, ours.pk, "x"]})
    assert models.Registration.objects.count() == 2


def test_a_missing_date_is_filled_in_with_one_field(office):
    system = put_in(installed_on=None)
    number = models.Terms.objects.get(code="northrill-1").pk
    assert "Save this date for 2 units" in words(office.get(f"/systems/{system.pk}/registration"))
    told = {"payer": number, f"with-{number}-date": "installed_on", f"with-{number}-day": "2026-02-10"}
    future = told | {f"with-{number}-day": "2026-03-03"}
    response = office.post(f"/systems/{system.pk}/registration/date", future)
    assert response.status_code == 422
    assert 'value="2026-03-03"' in words(response)
    assert office.post(f"/systems/{system.pk}/registration/date", told).status_code == 302
    assert states() == ["to do", "to do"]
    assert [row[4] for row in listed(office)] == [company.day("2026-04-11")]
    again = office.post(f"/systems/{system.pk}/registration/date", told)
    assert again.status_code == 409
    assert clean()


def test_the_closing_day_of_a_new_house_is_asked_for_once():
    company.on_file(
        company.MAKER
        | {"registration": {"within_days": 60, "counted_from": "installed_on", "new_house_counted_from": "closed_on"}}
    )
    office = company.as_role("office")
    system = put_in()
    models.Site.objects.update(new_construction=True)
    company.worked_out()
    assert "Waiting for a date: the deadline counts from the closing day of the new house." in words(
        office.get("/on-our-desk")
    )
    number = models.Terms.objects.get().pk
    told = {"payer": number, f"with-{number}-date": "closed_on", f"with-{number}-day": "2026-03-01"}
    assert office.post(f"/systems/{system.pk}/registration/date", told).status_code == 302
    assert models.Site.objects.get().closed_on == company.day("2026-03-01")
    assert states() == ["to do", "to do"]
    assert clean()


def test_missed_ones_say_what_was_lost(office):
    put_in(1, installed_on="2025-12-31", licensed_installer=True)
    # 60 months in place of 120: from December 31, 2030 to December 31, 2035.
    assert listed(office, "state=missed")[0][6] == (
        "Missed: not registered; the deadline was March 1, 2026. "
        "5 years of parts: until December 31, 2030 instead of December 31, 2035."
    )


# Put in on December 31, 2025: the last day was March 1, 2026, and today is the 2nd.
@pytest.mark.parametrize(
    ("registered_on", "state", "said", "listed_as"),
    [
        pytest.param(
            "2026-03-01", "confirmed", "2 registrations with Northrill recorded: in time.", None, id="in time"
        ),
        pytest.param(
            "2026-03-02",
            "missed",
            "2 registrations with Northrill recorded: too late, as shown below.",
            "Missed: registered on March 2, 2026, 1 day late: the deadline was March 1, 2026. "
            "5 years of parts: until December 31, 2030 instead of December 31, 2035.",
            id="a day late",
        ),
    ],
)
def test_a_missed_one_is_recorded_as_what_it_is(registered_on, state, said, listed_as, office):
    system = put_in(installed_on="2025-12-31", licensed_installer=True)
    told = sent(system, registered_on=registered_on, number="N-5")
    address = f"/systems/{system.pk}/registration"
    page = office.post(f"{address}/missed", told, follow=True)
    assert page.redirect_chain == [(address, 302)]
    assert said in words(page)
    assert states() == [state, state]
    assert "number N-5, in the name of Odile Marsh (2 units)" in words(page)
    if listed_as:
        assert [row[6] for row in listed(office, "state=missed")] == [listed_as]
        assert "Missed: registered on March 2, 2026, 1 day late: the deadline was March 1, 2026." in words(page)
        assert "5 years of parts" in words(page)
        # Late as it is, they may still accept it.
        office.post(f"{address}/late", sent(system, accepted_on="2026-03-02", told_by="Pia Roos"))
        assert states() == ["confirmed", "confirmed"]
    assert clean()


def test_a_late_registration_is_taken_back_like_any_other(office):
    system = put_in(1, installed_on="2025-12-31")
    address = f"/systems/{system.pk}/registration"
    office.post(f"{address}/missed", sent(system, registered_on="2026-03-02"))
    told = models.Registration.objects.get()
    assert (told.registered_on, told.accepted_late) == (company.TODAY, None)
    office.post(f"{address}/undo", {"key": told.pk})
    assert listed(office, "state=missed")[0][6].startswith("Missed: not registered; the deadline was March 1, 2026.")
    assert clean()


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"registered_on": "2026-03-03", "number": "N-5"}, "Enter a day no later than today."),
        ({"registered_on": "", "number": "N-5"}, "This field is required."),
        ({"registered_on": "2026-03-02", "number": "N-5", "units": []}, "Choose at least one unit."),
    ],
)
def test_a_bad_form_of_a_missed_one_keeps_what_was_typed(told, said, office):
    system = put_in(installed_on="2025-12-31")
    refused = office.post(f"/systems/{system.pk}/registration/missed", sent(system, **told))
    assert refused.status_code == 422
    assert said in words(refused)
    assert 'value="N-5"' in refused.content.decode()
    assert not models.Registration.objects.exists()


def test_accepted_late_in_writing_ends_the_loss(office):
    system = put_in(installed_on="2025-12-31")
    told = sent(system, accepted_on="2026-03-01", told_by="Pia Roos")
    missing = sent(system, accepted_on="2026-03-01", told_by="")
    assert office.post(f"/systems/{system.pk}/registration/late", missing).status_code == 422
    assert office.post(f"/systems/{system.pk}/registration/late", told).status_code == 302
    assert states() == ["sent", "sent"]
    assert "Late registration accepted in writing on March 1, 2026 by Pia Roos (2 units)" in words(
        office.get(f"/systems/{system.pk}/registration")
    )
    assert clean()


def test_only_the_owner_a_letter_and_a_reminder():
    company.on_file(
        company.MAKER | {"registration": {"within_days": 60, "counted_from": "installed_on", "by": "owner"}}
    )
    office = company.as_role("office")
    system = put_in(customer="Łucja <b>Žák</b>")
    number = models.Terms.objects.get().pk
    response = office.get(f"/systems/{system.pk}/registration/letter/{number}")
    assert response["Content-Type"] == "application/pdf"
    assert response.content == office.get(f"/systems/{system.pk}/registration/letter/{number}").content
    assert "Only the homeowner may register." in listed(office)[0][6]
    for _ in range(2):
        office.post(f"/systems/{system.pk}/registration/remind/{number}", {"way": "letter"})
    assert models.Reminder.objects.count() == 1
    assert listed(office)[0][6] == "Only the homeowner may register. Homeowner asked on March 2, 2026."
    assert "Asked on March 2, 2026, letter" in words(office.get(f"/systems/{system.pk}/registration"))


def test_a_unit_under_two_terms_of_its_maker_is_told_apart_by_their_names():
    register = {"registration": {"within_days": 60, "counted_from": "installed_on"}}
    second = {"code": "northrill-2", "title": "Second printed form", "source": {"title": "Form 2"}}
    company.on_file(company.MAKER | register)
    system = put_in(1)
    office = company.as_role("office")
    title = models.Terms.objects.get().title
    assert f'<span class="note">{title}</span>' not in words(office.get(f"/systems/{system.pk}/registration"))
    company.on_file(company.MAKER | register | second)
    company.worked_out()
    page = words(office.get(f"/systems/{system.pk}/registration"))
    assert f'<span class="note">{title}</span>' in page
    assert '<span class="note">Second printed form</span>' in page


def test_no_letter_where_others_may_register(office):
    system = put_in()
    number = models.Terms.objects.get(code="northrill-1").pk
    assert office.get(f"/systems/{system.pk}/registration/letter/{number}").status_code == 404


def test_what_they_ask_for_stands_in_one_block(office):
    system = put_in()
    models.Contact.objects.create(site=system.site, name="Ada Marsh", phone="555-0177", email="ada@example.net")
    asks = office.get(f"/systems/{system.pk}/registration").context["page"].parts[0].asks
    assert asks.splitlines() == [
        "Registration with Northrill",
        "Homeowner: Ada Marsh",
        "Address: 7 Tar Lane",
        "Phone: 555-0177",
        "E-mail: ada@example.net",
        "Contractor: not on file",
        "",
        "Wall head, Room 0; Northrill NH-9; serial SB-0; installed February 10, 2026; started February 10, 2026",
        "Wall head, Room 1; Northrill NH-9; serial SB-1; installed February 10, 2026; started February 10, 2026",
    ]


@pytest.mark.parametrize(
    ("installed_on", "said"),
    [
        pytest.param("2026-01-01", "2 registrations are due this week, the first today.", id="today"),
        pytest.param(
            "2026-01-07", "2 registrations are due this week, the first on Sunday, March 8, 2026.", id="in six days"
        ),
        pytest.param(
            "2026-01-08", "No registration is due this week; the next one is due Monday, March 9, 2026.", id="in 7"
        ),
        pytest.param("2025-12-31", "2 were missed in the last 30 days.", id="yesterday"),
        pytest.param("2025-12-02", "2 were missed in the last 30 days.", id="30 days ago"),
        pytest.param("2025-12-01", "No unit has to be registered right now.", id="31 days ago"),
    ],
)
def test_what_waits_is_said_first(installed_on, said, office):
    put_in(installed_on=installed_on)
    lead = words(office.get("/registrations")).split("<h1")[1].split("<form")[0]
    assert said in lead
    assert ("missed" in lead) == ("missed" in said)


def test_an_empty_office_says_what_will_stand_here():
    page = words(company.as_role("office").get("/on-our-desk"))
    assert "No deadline was missed, and none comes up within a week." in page
    assert "No deadline is open. Registrations, sales to tell a payer of" in page


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_file_has_a_row_for_every_unit(kind, office):
    put_in(3)
    response = office.get(f"/registrations?as={kind}")
    content = b"".join(response.streaming_content)
    if kind == "csv":
        lines = content.decode().splitlines()
        assert len(lines) == 4
        assert "Odile Marsh" in lines[1]
        assert lines[1].endswith("to do,2026-04-11,40,")


@pytest.mark.parametrize(
    "address", ["/on-our-desk", "/registrations", "/registrations?state=missed", "/systems/{}/registration"]
)
def test_more_rows_take_no_more_queries(address, office):
    def asked(number: int) -> int:
        for place in range(number):
            system = put_in(2, customer=f"Customer {number} {place}")
            put_in(2, installed_on=None, customer=f"Waiting {number} {place}")
            put_in(number, installed_on="2025-12-01", customer=f"Late {number} {place}")
        office.get(address.format(system.pk))
        with CaptureQueriesContext(
            connection,
        ) as found:
            assert office.get(address.format(system.pk)).status_code == 200
        return len(found)

    assert asked(1) == asked(5)


def test_the_list_is_narrowed_by_payer_and_text(office):
    put_in(1)
    put_in(1, customer="Ivo Lund")
    assert len(listed(office, "payer=Northrill")) == 2
    assert [row[1] for row in listed(office, "text=ivo")] == ["Ivo Lund"]
    assert listed(office, "text=nobody") == []
    assert [row[1] for row in listed(office, "sort=-customer")] == ["Odile Marsh", "Ivo Lund"]


def test_a_systems_site_and_units_lead_to_its_registrations_and_back(office):
    system = put_in(2)
    unit = system.units.first()
    there = f'href="/systems/{system.pk}/registration"'
    for address in (f"/sites/{system.site_id}", f"/units/{unit.pk}"):
        assert there in office.get(address).content.decode()
        assert there not in company.as_role("technician").get(address).content.decode()
    page = office.get(f"/systems/{system.pk}/registration").content.decode()
    assert f'href="/sites/{system.site_id}"' in page
    for unit in system.units.all():
        assert f'href="/units/{unit.pk}"' in page


def test_a_system_that_nobody_wants_registered_is_not_led_on(office):
    system = put_in(1, maker="Unknown maker")
    assert f"/systems/{system.pk}/registration" not in office.get(f"/sites/{system.site_id}").content.decode()
