"""The pages of a unit, a site and a customer: page or part, what is refused, what is never shown as markup."""

import re

import pytest

from fleet import models
from tests import company
from tests.pages import read_out

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit():
    company.on_file()
    found = company.unit(
        "SB-1002", room="Den", started_on="2021-03-10", installed_on="2021-03-09", role="outdoor", style=""
    )
    company.worked_out()
    return found


@pytest.fixture
def client():
    return company.as_role("technician")


def test_every_pattern_that_a_page_draws_with_stands_on_it(client):
    """Solid and possible, of every payer: a band without its pattern is nothing at all, and says nothing of it."""
    plan = company.OURS | {"code": "plan", "payer": "labor plan", "requires": ["licensed installer"]}
    company.on_file(company.MAKER, company.OURS, plan)
    unit = company.unit("SB-1002", started_on="2026-01-10", installed_on="2026-01-09")
    unit.attachments.create(terms=models.Terms.objects.get(code="plan"))
    company.worked_out()
    page = client.get(f"/units/{unit.pk}").content.decode()
    drawn, there = set(re.findall(r"url\(#(band_[^)]+)\)", page)), set(re.findall(r'<pattern id="([^"]+)"', page))
    assert {"band_maker", "band_installer", "band_possible_labor-plan"} <= drawn <= there


@pytest.mark.parametrize("address", ["/units/404", "/units/404/answer", "/sites/404", "/customers/404"])
def test_what_is_not_there_is_not_found(address, client):
    assert client.get(address).status_code == 404


def test_only_asking_is_possible(unit, client):
    assert client.post(f"/units/{unit.pk}").status_code == 405
    assert client.post(f"/units/{unit.pk}/answer").status_code == 405


def test_a_page_opens_with_what_fails_first_today(unit, client):
    said = read_out(client.get(f"/units/{unit.pk}"))
    assert "If the compressor failed today" in said
    assert "Parts: the manufacturer pays." in said
    assert "Labor: the customer pays." in said
    assert "This is a reading of the terms on file; the payer decides." in said
    assert "March 10, 2021" in said
    assert "not recorded" in said


def test_one_address_gives_the_page_or_its_part(unit, client):
    address = f"/units/{unit.pk}/answer?component=capacitor&cause=wear&on=2026-03-10"
    page = client.get(address)
    part = client.get(address, HTTP_HX_REQUEST="true")
    for response in (page, part):
        assert response.status_code == 200
        assert "HX-Request" in response["Vary"]
        assert "If the capacitor failed on March 10, 2026 (wear)" in read_out(response)
        assert "The last day, March 10, 2026" not in read_out(response)
        assert "The failure is on the last day, March 10, 2026." in read_out(response)
    assert "<!doctype html>" in page.content.decode()
    assert "<h1" not in part.content.decode()
    assert "<h1" in page.content.decode()


def test_the_form_keeps_what_was_asked(unit, client):
    page = client.get(f"/units/{unit.pk}/answer?component=drain+pan&cause=wear&on=2026-03-10").content.decode()
    assert '<option value="drain pan" selected>' in page
    assert '<option value="wear" selected>' in page
    assert 'value="2026-03-10"' in page
    assert (
        page.index("Usual for this unit")
        < page.index('"compressor"')
        < page.index("All others")
        < page.index('"drain pan"')
    )


def test_what_is_left_blank_is_today_and_the_usual_component(unit, client):
    said = read_out(client.get(f"/units/{unit.pk}/answer?component=&cause=&on="))
    assert "If the compressor failed today" in said


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("component=flux+valve", "Select a valid choice. flux valve is not one of the available choices."),
        ("cause=bad+luck", "Select a valid choice. bad luck is not one of the available choices."),
        ("on=31/12/2026", "Enter a day, such as March 8, 2026 or 3/8/2026."),
        ("on=2026-02-30", "Enter a day, such as March 8, 2026 or 3/8/2026."),
        ("on=1949-12-31", "Enter a day between 1950 and 2199."),
        ("on=2200-01-01", "Enter a day between 1950 and 2199."),
        ("on=9999-12-31", "Enter a day between 1950 and 2199."),
        ("component=%00", "Select a valid choice."),
    ],
)
@pytest.mark.parametrize("headers", [{}, {"HTTP_HX_REQUEST": "true"}], ids=["page", "part"])
def test_what_cannot_be_asked_is_refused_with_the_reason(asked, said, headers, unit, client):
    response = client.get(f"/units/{unit.pk}/answer?{asked}", **headers)
    assert response.status_code == 422
    assert said in read_out(response)
    assert "payer decides" not in read_out(response)


@pytest.mark.parametrize("on", ["1950-01-01", "2199-12-31"])
def test_the_earliest_and_the_latest_day_can_be_asked(on, unit, client):
    assert client.get(f"/units/{unit.pk}/answer?on={on}").status_code == 200


def test_a_part_tells_a_screen_reader_who_pays(unit, client):
    part = client.get(f"/units/{unit.pk}/answer", HTTP_HX_REQUEST="true").content.decode()
    status = re.search(r'<p id="answered"[^>]*role="status" hx-swap-oob="true">([^<]*)</p>', part)
    assert "If the compressor failed today. Parts: the manufacturer pays." in status[1]


def test_what_people_wrote_is_never_markup(client):
    company.on_file()
    nasty = "<b>&\"'</b><script>"
    unit = company.unit(
        "<i>SB", customer=f"C{nasty}", site=f"S{nasty}", room=f"R{nasty}", notes=f"N{nasty}", started_on="2021-03-10"
    )
    models.Failure.objects.create(
        unit=unit, component="sensor", failed_on="2022-01-01", notes=nasty, technician=nasty, part_number=nasty
    )
    site = unit.system.site
    for address in (f"/units/{unit.pk}", f"/sites/{site.pk}", f"/customers/{site.customer_id}"):
        page = client.get(address).content.decode()
        assert "<b>" not in page
        assert "<script>" not in page
        assert "&lt;b&gt;" in page


def test_a_site_leads_to_its_units_and_its_customer(unit, client):
    site = unit.system.site
    page = client.get(f"/sites/{site.pk}").content.decode()
    assert f'href="/units/{unit.pk}"' in page
    assert f'href="/customers/{site.customer_id}"' in page
    assert "1 system, 1 unit." in page
    customer = client.get(f"/customers/{site.customer_id}").content.decode()
    assert f'href="/sites/{site.pk}"' in customer
    assert "1 site, 1 unit in service." in customer


def test_empty_pages_say_what_will_stand_there(client):
    customer = models.Customer.objects.create(name="Ida Farrow")
    assert "No site is on file for this customer yet." in read_out(client.get(f"/customers/{customer.pk}"))
    site = models.Site.objects.create(customer=customer, name="Barn")
    assert "No equipment is on file here yet." in read_out(client.get(f"/sites/{site.pk}"))
    bare = company.unit("ZZ-1", maker="Farholt", customer="Ida Farrow", site="Barn")
    said = read_out(client.get(f"/units/{bare.pk}"))
    assert "No terms on file fit this unit." in said
    assert "Nothing is on file yet." in said
