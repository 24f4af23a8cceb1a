"""Labels on screen: where a code leads, whose a blank one is, what is printed, and who may."""

import csv
import io
import re
import uuid

import pytest
from django.http import HttpResponse
from django.test import Client
from pypdf import PdfReader

from fleet import models
from fleet.models.people import Role
from fleet.registry.actions import lives
from fleet.registry.actions import unit_labels as actions
from fleet.rules.label_sheets import SHEETS, USUAL
from fleet.web import access
from tests import company, rows
from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def den() -> models.Unit:
    company.on_file()
    unit = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return unit


@pytest.fixture
def loft(den) -> models.Unit:
    unit = company.unit("SB-1003", started_on="2021-03-10", installed_on="2021-03-09", room="Loft")
    company.worked_out()
    return unit


@pytest.fixture
def office(den) -> Client:
    return company.as_role("office")


@pytest.fixture
def technician(den) -> Client:
    return company.as_role("technician")


def made(*units: models.Unit, blank: int = 0) -> list[models.Label]:
    by = models.User.objects.filter(username="office").first() or company.person("office")
    return actions.make(units=[unit.pk for unit in units], blank=blank, batch=uuid.uuid4(), by=by)


# -- where a code leads


@pytest.mark.parametrize("role", list(Role))
def test_a_code_leads_whoever_is_logged_in_to_the_unit(role, den):
    (label,) = made(den)
    client = company.as_role(role)
    for path in (f"/L/{label.code}", f"/l/{label.code.lower()}", f"/L/{label.code.lower()}"):
        assert client.get(path)["Location"] == f"/units/{den.pk}"


def test_it_says_nothing_to_a_stranger(den):
    (label, blank) = made(den, blank=1)
    without_role = company.as_role("")
    for code in (label.code, blank.code, "K7QM3RTX9W"):
        response = Client().get(f"/L/{code}")
        assert (response.status_code, response["Location"]) == (302, f"/login?next=/L/{code}")
        assert without_role.get(f"/L/{code}").status_code == 404


def test_after_the_login_it_leads_on(den):
    (label,) = made(den)
    company.person("technician")
    told = {"username": "technician", "password": "quiet-ledger-9", "next": f"/L/{label.code}"}
    assert Client().post("/login", told)["Location"] == f"/L/{label.code}"


def test_a_code_that_is_none_of_ours_says_so(technician):
    response = technician.get("/L/k7qm3rtx9w")
    assert response.status_code == 404
    assert "No label of ours has this code" in words(response)
    assert "K7QM3RTX9W" in words(response)
    for path in ("/L/", "/L/a-b", "/X/K7QM3RTX9W"):
        assert technician.get(path).status_code == 404


def test_the_look_up_opens_a_code_that_is_typed(den, technician):
    (label,) = made(den)
    assert technician.get("/look-up", {"text": str(label).lower()})["Location"] == f"/L/{label.code}"
    assert technician.get("/look-up", {"text": "K7QM3-RTX9W"}).status_code == 200


# -- a blank one


def test_a_technician_says_whose_a_blank_label_is(den, loft, technician):
    (label,) = made(blank=1)
    page = words(technician.get(f"/L/{label.code}"))
    assert "This label is blank. Which unit is it on?" in page
    assert f'action="/labels/{label.pk}"' in page
    found = words(technician.get(f"/labels/{label.pk}", {"text": "1002"}))
    assert f'name="unit" value="{den.pk}"' in found
    assert f'name="unit" value="{loft.pk}"' not in found
    response = technician.post(f"/labels/{label.pk}", {"unit": den.pk})
    assert response["Location"] == f"/units/{den.pk}"
    assert technician.get(f"/L/{label.code}")["Location"] == f"/units/{den.pk}"
    assert f"Label {label} is on this unit now." in words(technician.get(f"/units/{den.pk}"))


def test_the_heads_of_a_site_are_offered_at_once(den, loft, technician):
    (label,) = made(blank=1)
    site = den.system.site
    for asked in ({"site": site.pk}, {"text": "Odile"}):
        page = words(technician.get(f"/labels/{label.pk}", asked))
        for unit in (den, loft):
            assert f'name="unit" value="{unit.pk}"' in page, asked


def test_one_on_another_unit_asks_before_it_is_moved(den, loft, technician):
    (label,) = made(den)
    asked = technician.post(f"/labels/{label.pk}", {"unit": loft.pk})
    assert asked.status_code == 200
    assert "Move it to Northrill NH-9 SB-1003 (Loft) at Odile Marsh, Home?" in words(asked)
    label.refresh_from_db()
    assert label.unit == den
    done = technician.post(f"/labels/{label.pk}", {"unit": loft.pk, "was": den.pk})
    assert done["Location"] == f"/units/{loft.pk}"
    label.refresh_from_db()
    assert label.unit == loft


def test_somebody_who_looked_before_it_was_moved_is_asked_again(den, loft, office, technician):
    (label,) = made(den)
    actions.tie(label.pk, unit=loft.pk, was=den.pk, by=models.User.objects.get(username="office"))
    page = technician.post(f"/labels/{label.pk}", {"unit": den.pk, "was": den.pk})
    assert "Move it to Northrill NH-9 SB-1002" in words(page)
    label.refresh_from_db()
    assert label.unit == loft


@pytest.mark.parametrize("unit", ["", "x", "987654", "9" * 30])
def test_a_unit_that_is_none_changes_nothing(unit, technician):
    (label,) = made(blank=1)
    assert technician.post(f"/labels/{label.pk}", {"unit": unit}).status_code in (200, 422)
    label.refresh_from_db()
    assert label.unit is None


# -- a unit that is gone


def test_a_label_of_a_unit_that_was_exchanged_leads_on_to_the_new_one(den, technician):
    (label,) = made(den)
    by = models.User.objects.get(username="office")
    told = {"new_model": "NH-9", "new_serial": "SB-2000", "under_warranty": "yes"}
    heir = lives.tell(den.pk, kind="exchanged", day="2026-02-01", told=told, by=by, on=company.TODAY)
    page = words(technician.get(f"/L/{label.code}"))
    assert "which was exchanged on February 1, 2026." in page
    assert f'<a href="/units/{heir.pk}">open that unit</a>' in page
    done = technician.post(f"/labels/{label.pk}", {"unit": heir.pk, "was": den.pk})
    assert done["Location"] == f"/units/{heir.pk}"


def test_a_label_of_a_unit_that_was_taken_out_says_so(den, technician):
    (label,) = made(den)
    by = models.User.objects.get(username="office")
    lives.tell(den.pk, kind="removed", day="2026-02-01", told={}, by=by, on=company.TODAY)
    page = words(technician.get(f"/L/{label.code}"))
    assert "which was taken out on February 1, 2026." in page
    assert "came for it" not in page


# -- taken off, and seen


def test_the_office_takes_one_off_and_a_technician_may_not(den, office, technician):
    (label,) = made(den)
    assert technician.post(f"/labels/{label.pk}/off").status_code == 403
    assert "Take it off this unit" not in words(technician.get(f"/labels/{label.pk}"))
    assert "Take it off this unit" in words(office.get(f"/labels/{label.pk}"))
    office.post(f"/labels/{label.pk}/off")
    assert "This label is blank." in words(office.get(f"/L/{label.code}"))
    changes = words(office.get(f"/units/{den.pk}/changes"))
    assert str(label) in changes
    assert "taken off" in changes


def test_who_prints_and_lists():
    for name in ("labels", "labels_print", "labels_ready", "labels_sheet", "label_off"):
        assert access.roles_of(name) == {Role.OFFICE, Role.OWNER}
    for name in ("label", "label_of"):
        assert access.roles_of(name) == set(Role)


def test_the_list_has_every_label_and_goes_out_as_a_file(den, office):
    on, blank = made(den, blank=1)
    gone = company.unit("SB-3000", room="Attic", removed_on="2026-02-01", removal_reason="removed")
    models.Label.objects.create(code="K7QM3RTX9W", unit=gone)
    page = words(office.get("/labels"))
    assert "3 labels." in page
    for state, code in (("on", on), ("blank", blank), ("gone", "K7QM3-RTX9W")):
        narrowed = words(office.get("/labels", {"state": state}))
        assert "1 label matches." in narrowed
        assert str(code) in narrowed
    assert "1 label matches." in words(office.get("/labels", {"text": str(on).lower()}))
    assert "1 label matches." in words(office.get("/labels", {"text": "sb 1002"}))
    content = b"".join(office.get("/labels", {"as": "csv", "state": "on"}).streaming_content).decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(content))
    assert [row[name] for name in ("label", "state", "unit", "room", "customer", "site", "by")] == [
        str(on), "on", "SB-1002", "Den", "Odile Marsh", "Home", "Wynn Office",
    ]  # fmt: skip


def test_more_labels_take_no_more_queries(den, loft, office):
    made(den)
    with rows.asked() as few:
        office.get("/labels")
    made(den, loft, blank=4)
    with rows.asked() as many:
        office.get("/labels")
    assert len(few) == len(many) <= 30


def test_nothing_printed_yet(office):
    assert "No label was printed yet." in words(office.get("/labels"))


# -- printing


def printed(client: Client, address: str, **told: object) -> tuple[str, HttpResponse]:
    page = client.get(address)
    form = {"batch": re.search(r'name="batch" value="([^"]+)"', page.content.decode())[1], "sheet": USUAL, **told}
    response = client.post(address, form)
    return response.get("Location", ""), response


def test_labels_of_a_site_are_printed_from_its_page(den, loft, office):
    site = den.system.site
    assert f'href="/labels/print?site={site.pk}"' in words(office.get(f"/sites/{site.pk}"))
    address, _ = printed(office, f"/labels/print?site={site.pk}", units=[den.pk, loft.pk], start=3)
    ready = office.get(address)
    assert "2 labels, starting at label number 3 of the sheet." in words(ready)
    (link,) = re.findall(r'href="(/labels/sheet[^"]+)"', ready.content.decode())
    sheet = office.get(link.replace("&amp;", "&"))
    assert sheet["Content-Type"] == "application/pdf"
    said = PdfReader(io.BytesIO(sheet.content)).pages[0].extract_text()
    for line in ("Den", "SB-1002", "Loft", "SB-1003", str(models.Label.objects.get(unit=den))):
        assert line in said


def test_the_sheet_chosen_last_is_offered_first(den, office):
    other = list(SHEETS)[2]
    printed(office, f"/labels/print?unit={den.pk}", units=[den.pk], sheet=other)
    assert f'<option value="{other}" selected>' in words(office.get("/labels/print"))


def test_a_unit_and_a_new_install_offer_labels(den, office, technician):
    assert f'href="/labels/print?unit={den.pk}"' in words(office.get(f"/units/{den.pk}"))
    assert "/labels/print" not in words(technician.get(f"/units/{den.pk}"))
    assert f'href="/labels/print?system={den.system_id}"' in words(office.get(f"/new-install/{den.system_id}"))
    page = words(office.get(f"/labels/print?system={den.system_id}"))
    assert f'value="{den.pk}"' in page


def test_blank_ones_sent_twice_are_made_once(office):
    page = office.get("/labels/print")
    assert "Units" not in [one.name for one in page.context["form"]]
    batch = re.search(r'name="batch" value="([^"]+)"', page.content.decode())[1]
    told = {"batch": batch, "sheet": USUAL, "blank": 12, "start": 1}
    first = office.post("/labels/print", told)["Location"]
    assert office.post("/labels/print", told)["Location"] == first
    assert models.Label.objects.count() == 12


@pytest.mark.parametrize(
    ("told", "said"),
    [
        pytest.param({"blank": 0}, "Choose at least one unit, or a number of blank labels.", id="nothing"),
        pytest.param(
            {"blank": 1, "start": 31}, "This sheet has 30 labels. Enter a number from 1 to 30.", id="place 31"
        ),
        pytest.param({"blank": 1, "start": 0}, "greater than or equal to 1", id="place 0"),
        pytest.param({"blank": 301}, "less than or equal to 300", id="301"),
        pytest.param({"blank": 1, "sheet": "round"}, "round is not one of the available choices", id="no such sheet"),
    ],
)
def test_what_cannot_be_printed_is_refused_at_its_field(told, said, office):
    _, response = printed(office, "/labels/print", **told)
    assert response.status_code == 422
    assert said in words(response)
    assert not models.Label.objects.exists()


def test_place_30_of_30_is_one(office):
    address, _ = printed(office, "/labels/print", blank=1, start=30)
    assert "starting at label number 30 of the sheet" in words(office.get(address))


@pytest.mark.parametrize(
    "asked", ["", "?labels=1", "?labels=x&sheet=&start=1", f"?labels=1&sheet={USUAL}&start=31", f"?labels=9999&sheet={USUAL}"]
)  # fmt: skip
def test_a_sheet_of_nothing_is_not_there(asked, office):
    assert office.get(f"/labels/sheet{asked}").status_code == 404


def test_units_that_are_not_there(office):
    for asked in ("site=987654", "system=987654", "unit=987654"):
        assert office.get(f"/labels/print?{asked}").status_code == 404


@pytest.mark.parametrize(
    ("host", "alone"),
    [("localhost", True), ("127.0.0.1:8000", True), ("[::1]:8000", True), ("service.example.com", False), ("10.0.0.7:8000", False)],
)  # fmt: skip
def test_an_address_that_no_phone_can_open_is_warned_of(host, alone, office, settings):
    settings.ALLOWED_HOSTS = ["*"]
    page = words(office.get("/labels/print", headers={"host": host}))
    assert ("which opens on this computer alone" in page) == alone
    assert f"http://{host}" in page
