"""The frame around every page: page or part, error pages, what a browser is told."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.test import Client, RequestFactory, override_settings
from django.urls import path
from django_htmx.middleware import HtmxDetails

from fleet.addresses import urlpatterns as addresses
from fleet.web.address import Address, everybody
from fleet.web.htmx import page_or_part
from tests import company

pytestmark = pytest.mark.django_db


def broken(request):
    raise RuntimeError("this address is broken")


urlpatterns = [
    *addresses,
    *everybody("Broken: see it", Address("broken", broken, "broken")),
    path("beside-the-table", broken, name="beside"),
]


# -- page or part


def shown(**headers: str) -> str:
    request = RequestFactory().get("/look-up", **headers)
    request.user = AnonymousUser()
    request.htmx = HtmxDetails(request)
    response = page_or_part(request, "404.html", "_shared/payer.html", {"payer": "labor plan"})
    assert response["Vary"] == "HX-Request, HX-Boosted, HX-History-Restore-Request"
    return "page" if "<!doctype html>" in response.content.decode() else "part"


@pytest.mark.parametrize(
    ("headers", "what"),
    [
        pytest.param({}, "page", id="a browser"),
        pytest.param({"HTTP_HX_REQUEST": "true"}, "part", id="htmx"),
        pytest.param({"HTTP_HX_REQUEST": "true", "HTTP_HX_BOOSTED": "true"}, "page", id="a boosted link"),
        pytest.param(
            {"HTTP_HX_REQUEST": "true", "HTTP_HX_HISTORY_RESTORE_REQUEST": "true"}, "page", id="a restored history"
        ),
    ],
)
def test_one_address_gives_page_or_part(headers, what):
    assert shown(**headers) == what


@pytest.mark.parametrize("address", ["/look-up", "/coverage-ending", "/terms"])
def test_a_part_is_a_part_of_the_page(address):
    company.on_file()
    client = company.as_role("owner")
    page = client.get(address).content.decode()
    part = client.get(address, HTTP_HX_REQUEST="true").content.decode()
    assert page.count("<!doctype html>") == 1
    assert "<html" not in part
    assert "<main" not in part


# -- error pages


def test_an_address_that_is_not_there():
    response = company.as_role("office").get("/no-such-page")
    assert response.status_code == 404
    assert "There is no page at this address." in response.content.decode()
    assert Client().get("/no-such-page").status_code == 404


def test_a_form_without_its_token_is_not_taken_and_told_so():
    client = Client(enforce_csrf_checks=True)
    response = client.post("/login", {"username": "office", "password": "no"})
    assert response.status_code == 403
    assert "Nothing was saved." in response.content.decode()


@override_settings(ROOT_URLCONF="tests.web.test_frame", DEBUG=False)
def test_what_breaks_says_that_it_broke():
    client = company.as_role("office")
    client.raise_request_exception = False
    response = client.get("/broken")
    assert response.status_code == 500
    assert "That is our fault" in response.content.decode()


@override_settings(ROOT_URLCONF="tests.web.test_frame", DEBUG=False)
def test_an_address_that_nobody_gave_to_a_role_is_closed():
    client = company.as_role("owner")
    client.raise_request_exception = False
    assert client.get("/beside-the-table").status_code == 500
    with pytest.raises(KeyError, match="beside"):
        company.as_role("owner").get("/beside-the-table")


@override_settings(DEBUG=False)
def test_a_request_that_cannot_be_read():
    response = Client().get("/login", HTTP_HOST="elsewhere.example")
    assert response.status_code == 400
    assert "The request could not be read" in response.content.decode()


# -- what a browser is told


@pytest.mark.parametrize("address", ["/login", "/look-up", "/coverage-ending", "/terms", "/no-such-page"])
def test_every_page_has_one_heading_a_language_and_a_way_past_the_head(address):
    page = company.as_role("owner").get(address).content.decode()
    assert page.count("<h1") == 1
    assert '<html lang="en-US">' in page
    assert '<a class="skip" href="#main">' in page
    assert '<main id="main"' in page


def test_the_look_up_is_on_every_page_and_needs_no_script():
    page = company.as_role("technician").get("/terms").content.decode()
    assert '<form class="lookup" role="search" method="get" action="/look-up">' in page
    assert 'aria-keyshortcuts="/"' in page
    assert page.index('class="lookup"') < page.index("<nav")


def test_htmx_may_not_evaluate_and_shows_a_refused_form():
    page = company.as_role("office").get("/look-up").content.decode()
    assert '"allowEval":false' in page
    assert '"historyCacheSize":0' in page
    assert '{"code":"409|422","swap":true}' in page


def test_a_page_draws_the_band_of_every_payer_solid_and_possible():
    page = company.as_role("office").get("/look-up").content.decode()
    for band in ("band_maker", "band_labor-plan", "band_installer"):
        assert f'id="{band}"' in page
        assert f'id="{band.replace("band_", "band_possible_")}"' in page
