"""The look-up from any page: whole, as a part, and straight to the one thing it found."""

import pytest

from fleet import models
from tests import claimed, company, rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def office():
    company.unit("SB-1002", customer="Aldo Quist", room="Den")
    company.unit("SB-1003", customer="Brit Sørby", site="Barn")
    return company.as_role("office")


def found(response) -> list[str]:
    return [hit.title for hit in response.context["hits"]]


def test_before_anything_is_asked_the_page_says_what_will_stand_there(office):
    page = office.get("/look-up").content.decode()
    assert "Any words will do, in any order and part: a serial, a name, a phone" in page


def test_several_things_are_listed_with_what_tells_them_apart(office):
    response = office.get("/look-up?text=sb10")
    assert found(response) == ["SB-1002", "SB-1003"]
    page = response.content.decode()
    assert 'value="sb10"' in page
    assert "Northrill NH-9, Den, Home, Aldo Quist" in page


def test_look_alikes_find_each_other(office):
    assert found(office.get("/look-up?text=5B-1O", HTTP_HX_REQUEST="true")) == ["SB-1002", "SB-1003"]


def test_one_thing_found_is_where_a_whole_page_goes(office):
    response = office.get("/look-up?text=SB-1003")
    assert response.status_code == 302
    assert response["Location"].startswith("/units/")


def test_while_somebody_types_nothing_jumps_away(office):
    response = office.get("/look-up?text=SB-1003", HTTP_HX_REQUEST="true")
    assert found(response) == ["SB-1003"]
    assert '<p id="told" class="told unseen" role="status" hx-swap-oob="true">1 found</p>' in response.content.decode()


def test_what_is_not_the_title_is_said(office):
    page = office.get("/look-up?text=555-0100", HTTP_HX_REQUEST="true").content.decode()
    assert "found by phone 555-0100" in page


def test_nothing_found_says_so_and_what_may_help(office):
    page = office.get("/look-up?text=zzz999").content.decode()
    assert "Nothing on file has “zzz999” in it." in page
    assert "A shorter part may find it." in page


def test_what_is_typed_is_shown_as_text(office):
    page = office.get("/look-up", {"text": "<script>x</script>\0"}).content.decode()
    assert "<script>x" not in page
    assert "“&lt;script&gt;x&lt;/script&gt;”" in page


def test_too_much_is_cut_and_said(office):
    for number in range(25):
        company.unit(f"QQ-{number:03}", site=f"Site {number}")
    page = office.get("/look-up?text=QQ-0").content.decode()
    assert "These are the 20 closest of more." in page


def test_an_endless_text_is_taken_as_its_beginning(office):
    assert office.get("/look-up", {"text": "x" * 5000}).status_code == 200


# ------------------------------------------------------------------------------------------------- what fits what was typed


def test_a_serial_that_is_not_on_file_may_be_entered_as_a_new_install(office):
    page = office.get("/look-up?text=QX-99812").content.decode()
    assert '<a href="/new-install?serial=QX-99812">Enter QX-99812 as a new install</a>' in page
    form = office.get("/new-install?serial=QX-99812").context["form"]
    assert [unit["serial"].value() for unit in form.units.forms] == ["QX-99812", None]


def test_who_may_not_enter_installs_is_not_sent_there():
    page = company.as_role("technician").get("/look-up?text=QX-99812").content.decode()
    assert "new-install" not in page
    assert "/calls/new?text=QX-99812" in page


@pytest.mark.parametrize(
    ("text", "advice", "noted"),
    [
        ("207 555 0999", "has this phone", ("phone", "207 555 0999")),
        ("Wilhelmina Voss", "Try the last name alone", ("caller", "Wilhelmina Voss")),
        ("77 Larch Rd", "Try the street without the house number", ("said", "77 Larch Rd")),
        ("99999", "No site on file has this ZIP code", None),
    ],
)
def test_advice_fits_what_was_typed_and_a_call_begins_with_it(office, text, advice, noted):
    page = office.get("/look-up", {"text": text}).content.decode()
    assert advice in page
    assert "nameplate" not in page.partition('id="found"')[2]
    if noted:
        form = office.get("/calls/new", {"text": text}).context["form"]
        assert form[noted[0]].value() == noted[1]
        assert "/calls/new?text=" in page


def test_a_new_install_begins_with_a_name_that_was_looked_up(office):
    assert "/new-install?customer=Wilhelmina%20Voss" in office.get("/look-up?text=Wilhelmina Voss").content.decode()
    assert (
        office.get("/new-install?customer=Wilhelmina Voss").context["form"].install["customer"].value()
        == "Wilhelmina Voss"
    )


def test_near_misses_are_said_to_be_so_and_nobody_is_taken_there(office):
    response = office.get("/look-up?text=quixt")
    page = response.content.decode()
    assert (response.status_code, found(response)) == (200, ["Aldo Quist"])
    assert "Nothing on file has “quixt” in it. Close to it:" in page
    assert "Nothing found; 1 close to it" in office.get("/look-up?text=quixt", HTTP_HX_REQUEST="true").content.decode()


def test_a_name_leads_to_where_the_units_are_listed(office):
    site = models.Site.objects.get(customer__name="Aldo Quist")
    assert office.get("/look-up?text=quist")["Location"] == f"/sites/{site.pk}"
    company.unit("SB-1004", customer="Aldo Quist", site="Cabin", room="Loft")
    page = office.get("/look-up?text=quist").content.decode()
    unit = models.Unit.objects.get(serial="SB-1004")
    assert f'<a href="/units/{unit.pk}">Loft, wall head</a>' in page


def test_claims_and_agreements_are_found_by_who_may_see_them(office):
    company.on_file(claimed.PAYS)
    unit = company.unit("SB-1009", customer="Aldo Quist")
    company.worked_out()
    claim = claimed.claim(claimed.failure(unit))
    models.Claim.objects.update(reference="NR-55123")
    for text in ("nr-55123", "55123", f"claim {claim.pk}", f"claim #{claim.pk}"):
        assert office.get("/look-up", {"text": text})["Location"] == f"/claims/{claim.pk}"
    assert found(company.as_role("technician").get("/look-up?text=nr-55123")) == []


def test_one_hit_and_many_ask_the_same_queries(office):
    counts = []
    for text in ("brit", "o"):
        with rows.asked() as queries:
            office.get("/look-up", {"text": text}, HTTP_HX_REQUEST="true")
        counts.append(len(queries))
    for number in range(9):
        company.unit(f"SB-2{number:03}", customer=f"Brit {number}")
    with rows.asked() as queries:
        office.get("/look-up", {"text": "brit"}, HTTP_HX_REQUEST="true")
    assert len(queries) <= counts[0] + 1 <= 20
