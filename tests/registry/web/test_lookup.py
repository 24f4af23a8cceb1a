"""The look-up from any page: whole, as a part, and straight to the one thing it found."""

import pytest

from tests import company

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
    assert "Any part of a serial, a name, a phone or a street will do." in page


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
