"""What payers said: recorded on a unit's page beside our answer, listed while it differs, settled. Asked on March 2, 2026."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import recheck
from tests import company
from tests.pages import shown, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit("SB-1", started_on="2022-03-10", installed_on="2022-03-09")
    company.worked_out()
    return made


@pytest.fixture
def office(unit):
    return company.as_role("office")


def say(client, unit, **more):
    terms = models.Terms.objects.get(code="northrill-1").pk
    told = {
        "said_on": "2026-03-01",
        "who": "Dana at the desk",
        "terms": terms,
        "kind": "parts",
        "component": "",
        "covered": "yes",
        "last_on": "2027-03-10",
        "note": "",
    }
    return client.post(f"/units/{unit.pk}/payers", told | more)


def differing(client, asked: str = "") -> list[list[object]]:
    listing = client.get(f"/payers-differ?{asked}").context["listing"]
    return shown(listing)


@pytest.mark.parametrize(
    ("more", "stands"),
    [
        pytest.param({}, False, id="the same last day"),
        pytest.param({"last_on": "2027-03-09"}, True, id="a day less"),
        pytest.param({"last_on": ""}, False, id="no last day told"),
        pytest.param({"covered": "no", "last_on": ""}, True, id="not covered"),
        pytest.param({"component": "compressor"}, True, id="the compressor has a term of its own"),
        pytest.param({"component": "compressor", "last_on": "2029-03-10"}, False, id="and that is what they say"),
        pytest.param({"kind": "labor"}, True, id="these terms pay for no labor"),
    ],
)
def test_a_word_that_differs_stands_out_until_somebody_settles_it(more, stands, unit, office):
    response = say(office, unit, **more)
    assert response.status_code == 302
    page = words(office.get(f"/units/{unit.pk}"))
    assert "Dana at the desk on March 1, 2026" in page
    assert ("They disagree." in page) is stands
    assert len(differing(office)) == stands
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_difference_is_settled_and_stands_again(unit, office):
    say(office, unit, last_on="2027-03-09")
    assert differing(office) == [
        ["SB-1", "Odile Marsh", "maker", company.day("2026-03-01"), "Dana at the desk", "parts, any other component",
         "covered until March 9, 2027", "covered until March 10, 2027"]
    ]  # fmt: skip
    word = models.PayerWord.objects.get()
    assert office.post(f"/payers-said/{word.pk}/settled", {"how": " "}).status_code == 422
    assert office.post(f"/payers-said/{word.pk}/settled", {"how": "They counted wrong"}).status_code == 302
    word.refresh_from_db()
    assert (word.settled_on, word.settled_how) == (company.TODAY, "They counted wrong")
    assert differing(office) == []
    assert "Settled on March 2, 2026: They counted wrong" in words(office.get(f"/units/{unit.pk}"))
    office.post(f"/payers-said/{word.pk}/reopen")
    assert len(differing(office)) == 1
    assert models.Change.objects.filter(table="payerword", field="settled_how").count() == 2


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({"said_on": "2026-03-03"}, "Enter a day no later than today."),
        ({"said_on": ""}, "Enter the day."),
        ({"who": ""}, "Enter who you spoke with."),
        ({"covered": ""}, "Choose covered or not covered."),
        ({"covered": "no"}, "Leave the last day blank if it is not covered."),
        ({"last_on": "31/12/2027"}, "Enter a day, such as March 8, 2026 or 3/8/2026."),
        ({"terms": "999999"}, "Select a valid choice."),
    ],
)
def test_what_cannot_be_meant_is_refused_with_everything_still_typed(more, text, unit, office):
    response = say(office, unit, note="call 14", **more)
    assert response.status_code == 422
    assert text in words(response).replace("&#x27;", "'")
    assert 'value="call 14"' in response.content.decode()
    assert not models.PayerWord.objects.exists()


def test_with_nothing_said_yet_the_page_of_it_stands_open_to_record(unit, office):
    assert '<details class="more" open>' in words(office.get(f"/units/{unit.pk}/payers"))
    assert '<details class="more" open> <summary>Record what' not in words(office.get(f"/units/{unit.pk}"))


def test_the_button_pressed_twice_records_once(unit, office):
    say(office, unit)
    say(office, unit)
    assert models.PayerWord.objects.count() == 1


def test_only_whoever_recorded_it_takes_it_back(unit, office):
    say(office, unit)
    word = models.PayerWord.objects.get()
    owner = company.as_role("owner")
    owner.post(f"/payers-said/{word.pk}/undo")
    assert models.PayerWord.objects.exists()
    office.post(f"/payers-said/{word.pk}/undo")
    assert not models.PayerWord.objects.exists()
    assert models.Change.objects.filter(table="payerword", why="taken back").count() == 1


def test_a_technician_reads_it_and_records_nothing(unit, office):
    say(office, unit)
    technician = company.as_role("technician")
    page = words(technician.get(f"/units/{unit.pk}"))
    assert "Dana at the desk" in page
    assert "Record what a payer said" not in page
    assert say(technician, unit).status_code == 403
    assert technician.get("/payers-differ").status_code == 403


def test_the_desk_shows_missing_information_and_disagreements(unit, office):
    company.unit("", room="Den", started_on="2022-03-10", installed_on="2022-03-09", site="Barn")
    company.worked_out()
    page = words(office.get("/on-our-desk"))
    assert "1 fact that coverage depends on is not on file." in page
    assert "Payers differ" not in page.split("<main")[1]
    say(office, unit, last_on="2027-03-09")
    assert "1 answer from payers disagrees with the terms on file." in words(office.get("/on-our-desk"))


def test_one_row_and_five_take_the_same_queries(unit, office):
    def counted(address: str) -> int:
        with CaptureQueriesContext(connection) as found:
            assert office.get(address).status_code == 200
        return len(found)

    say(office, unit, last_on="2027-03-09")
    addresses = ("/payers-differ", f"/units/{unit.pk}", "/on-our-desk")
    one = [counted(address) for address in addresses]
    for number in range(2, 6):
        say(office, unit, last_on=f"2027-02-0{number}")
    assert len(differing(office)) == 5
    assert [counted(address) for address in addresses] == one
    assert len(differing(office, "payer=installer")) == 0
    assert b"covered until February 2, 2027" in b"".join(office.get("/payers-differ?as=csv"))
