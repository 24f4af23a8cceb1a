"""Terms on file: the list, what a paper says, who checked it when, which units hold it."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from tests import company
from tests.pages import shown, words

pytestmark = pytest.mark.django_db

DRAFT = {**company.MAKER, "code": "northrill-0", "title": "Draft statement", "checked_on": company.day("2024-06-01")}
LATER = {**company.MAKER, "replaces": "northrill-0"}


def terms(code: str) -> models.Terms:
    return models.Terms.objects.get(code=code)


@pytest.fixture
def papers():
    company.on_file(DRAFT)
    company.on_file(LATER, company.OURS)
    company.unit("SB-1002", started_on="2021-03-20", installed_on="2021-03-19")
    company.worked_out()


def titles(client, asked: str = "") -> list[object]:
    return [row.cells[0].value for row in client.get(f"/terms?{asked}").context["listing"].rows]


# -- the list


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("", ["Draft statement", "Ductless statement", "Our workmanship"]),
        ("sort=-title", ["Our workmanship", "Ductless statement", "Draft statement"]),
        ("sort=checked_on", ["Draft statement", "Ductless statement", "Our workmanship"]),
        ("payer=maker", ["Draft statement", "Ductless statement"]),
        ("standing=withdrawn", ["Draft statement"]),
        ("standing=held by units", ["Ductless statement", "Our workmanship"]),
        ("maker=Northrill&standing=held by units", ["Ductless statement"]),
        ("text=OURS", ["Our workmanship"]),
        ("text=nothing like it", []),
    ],
)
def test_the_list_can_be_narrowed_and_sorted(asked, found, papers):
    assert titles(company.as_role("technician"), asked) == found


def test_the_list_says_first_which_paper_wants_checking(papers):
    page = words(company.as_role("office").get("/terms"))
    assert "3 terms are on file; the ones checked longest ago are" in page
    assert "Ductless statement</a>, last checked on June 1, 2025." in page


def test_an_empty_list_says_what_will_stand_there():
    assert "No terms are on file yet." in words(company.as_role("office").get("/terms"))


def test_the_list_leaves_as_a_file(papers):
    response = company.as_role("technician").get("/terms?as=csv&payer=installer")
    rows = list(csv.reader(io.StringIO(b"".join(response).decode("utf-8-sig"), newline="")))
    assert rows == [
        ["title", "code", "payer", "maker", "from", "to", "checked_on", "standing"],
        ["Our workmanship", "ours-1", "installer", "any manufacturer", "2000-01-01", "", "2025-09-01", "held by units"],
    ]


def test_more_terms_take_no_more_queries(papers):
    client = company.as_role("office")

    def counted() -> int:
        with CaptureQueriesContext(connection) as found:
            client.get("/terms")
        return len(found)

    counted()  # a document is read once per process
    before = counted()
    company.on_file(*({**company.OURS, "code": f"ours-{number}"} for number in range(2, 6)))
    counted()
    assert counted() == before


# -- one paper


def test_a_paper_is_told_in_words_with_its_source(papers):
    page = words(company.as_role("technician").get(f"/terms/{terms('northrill-1').pk}"))
    assert "1 unit has these terms, last checked on June 1, 2025." in page
    assert "Northrill, the manufacturer, covers all models." in page
    assert "Parts for compressor: 7 years." in page
    assert "Statement 4-B, page 2" in page
    assert "Draft statement</a> (<code>northrill-0</code>)" in page
    assert "June 1, 2025: as its file says" in page


def test_withdrawn_terms_say_what_stands_in_their_place(papers):
    page = words(company.as_role("office").get(f"/terms/{terms('northrill-0').pk}"))
    assert "Withdrawn: <a" in page
    assert "Ductless statement</a> (northrill-1) replaced these terms. No unit has these terms now" in page


def test_terms_that_are_not_there():
    assert company.as_role("office").get("/terms/99").status_code == 404
    assert company.as_role("office").get("/terms/99/units").status_code == 404
    assert company.as_role("office").post("/terms/99/checked").status_code == 404


# -- checked again


def test_somebody_checks_terms_again_and_it_stands_there_with_day_and_name(papers):
    office, pk = company.as_role("office"), terms("northrill-1").pk
    response = office.post(f"/terms/{pk}/checked", {"note": "same as in June"}, follow=True)
    assert response.redirect_chain == [(f"/terms/{pk}", 302)]
    page = words(response)
    assert "Check recorded." in page
    assert "1 unit has these terms, last checked on March 2, 2026." in page
    assert "March 2, 2026, Wynn Office: same as in June" in page


def test_a_second_press_of_the_button_is_one_check(papers):
    office, pk = company.as_role("office"), terms("northrill-1").pk
    office.post(f"/terms/{pk}/checked", {"note": ""})
    office.post(f"/terms/{pk}/checked", {"note": ""})
    assert models.TermsCheck.objects.filter(terms=pk, checked_on=company.TODAY).count() == 1


def test_a_note_that_is_too_long_comes_back_with_its_form(papers):
    office, pk = company.as_role("office"), terms("northrill-1").pk
    response = office.post(f"/terms/{pk}/checked", {"note": "x" * 301})
    assert response.status_code == 422
    assert "Ensure this value has at most 300 characters" in response.content.decode()
    assert not models.TermsCheck.objects.filter(checked_on=company.TODAY).exists()


def test_a_check_can_be_undone_the_same_day_by_whoever_made_it(papers):
    office, pk = company.as_role("office"), terms("northrill-1").pk
    office.post(f"/terms/{pk}/checked", {"note": "oops"})
    check = models.TermsCheck.objects.get(checked_on=company.TODAY)
    undo = f"/terms/{pk}/checks/{check.pk}/undo"
    assert undo in office.get(f"/terms/{pk}").content.decode()
    assert undo not in company.as_role("owner").get(f"/terms/{pk}").content.decode()
    refused = company.as_role("owner").post(undo, follow=True)
    assert "Only the person who recorded a check can undo it, and only on the same day." in words(refused)
    office.post(undo)
    assert not models.TermsCheck.objects.filter(checked_on=company.TODAY).exists()
    change = models.Change.objects.get(table="termscheck", object_id=check.pk)
    assert (change.before, change.after, change.by.username) == ("2026-03-02 oops", "", "office")


def test_a_technician_reads_but_does_not_check(papers):
    technician, pk = company.as_role("technician"), terms("northrill-1").pk
    assert "Checked again today" not in technician.get(f"/terms/{pk}").content.decode()
    assert technician.post(f"/terms/{pk}/checked").status_code == 403


# -- units that hold them


def test_the_units_that_hold_terms(papers):
    company.unit("TC-2001", customer="Brit Sørby", registered_on="2026-02-20", installed_on="2026-02-10")
    company.worked_out()
    office, pk = company.as_role("office"), terms("northrill-1").pk
    response = office.get(f"/terms/{pk}/units")
    assert "2 units have these terms." in words(response)
    rows = shown(response.context["listing"])
    assert rows == [
        ["SB-1002", "Odile Marsh", "Home", company.day("2021-03-20"), "missed", company.day("2021-05-18"), "by model"],
        ["TC-2001", "Brit Sørby", "Home", None, "sent", company.day("2026-04-11"), "by model"],
    ]
    narrowed = office.get(f"/terms/{pk}/units?registration=sent&text=brit")
    assert "1 unit has these terms and matches." in words(narrowed)
    file = b"".join(office.get(f"/terms/{pk}/units?as=csv&registration=sent")).decode("utf-8-sig")
    assert file.splitlines()[1].startswith("TC-2001,Northrill,NH-9,Brit Sørby,Home,")


def test_terms_that_no_unit_holds_say_how_one_would(papers):
    page = words(company.as_role("office").get(f"/terms/{terms('northrill-0').pk}/units"))
    assert "No unit has these terms." in page
