"""What a form says of its draft: no view sees it, a save answers it, and a refused one does not."""

import re
from collections import Counter

import pytest
from django.test import Client

from fleet import models
from fleet.registry.actions import contacts
from tests import claimed, company

pytestmark = pytest.mark.django_db

KEY = "mabc1234-0fe9d8c7"
SENT = {"_draft": f"{KEY}.1772452800000", "_page": "/sites/1/contacts"}
IDA = {"name": "Ida Moss", "role": "tenant", "phone": "", "email": "", "reach": ""}


@pytest.fixture
def address() -> str:
    company.on_file()
    return f"/sites/{company.unit('SB-1').system.site_id}/contacts/add"


def test_a_save_is_answered_with_the_moment_at_which_the_form_was_sent(address):
    response = company.as_role("office").post(address, IDA | SENT)
    assert response.status_code == 302
    cookie = response.cookies[f"saved-{KEY}"]
    assert (cookie.value, cookie["path"], cookie["samesite"], cookie["httponly"]) == ("1772452800000", "/", "Lax", "")
    assert models.Contact.objects.count() == 1


def test_the_cookie_goes_over_https_alone_where_the_form_did(address):
    response = company.as_role("office").post(address, IDA | SENT, secure=True)
    assert response.cookies[f"saved-{KEY}"]["secure"]


def test_a_refused_save_is_not_answered_and_its_page_knows_the_draft(address):
    response = company.as_role("office").post(address, IDA | SENT | {"name": ""})
    assert response.status_code == 422
    assert f"saved-{KEY}" not in response.cookies
    assert f'data-answers="{KEY}"' in response.content.decode()


def test_one_that_leads_on_with_an_error_alone_was_refused(address):
    """A claim that cannot be opened any more leads back with an error: what was typed for it stays."""
    failure = claimed.failure(models.Unit.objects.get())
    response = company.as_role("office").post(f"/failures/{failure.pk}/claims", {"terms": "0"} | SENT)
    assert response.status_code == 302
    assert f"saved-{KEY}" not in response.cookies


@pytest.mark.parametrize(
    "sent", ["", KEY, f"{KEY}.", f"{KEY}.12x", 'a";b.1', f"{'a' * 61}.1", f"{KEY}.{'1' * 17}", "short.1", "ÄÖÜ-1234.1"]
)
def test_what_is_no_draft_is_passed_over(address, sent):
    response = company.as_role("office").post(address, IDA | {"_draft": sent})
    assert response.status_code == 302
    assert not [name for name in response.cookies if name.startswith("saved-")]


def test_no_view_sees_it(address):
    """The page of terms takes every field that it is sent for a key of theirs."""
    response = company.as_role("office").post("/terms/write", {"title": "Ours"} | SENT)
    assert not re.search(r"(?<![a-z])(?:_draft|_page)\b", response.content.decode())


def test_a_save_that_has_to_wait_says_it_again_when_it_is_sent_again(address, monkeypatch):
    def busy(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(contacts, "add", busy)
        response = company.as_role("office").post(address, IDA | SENT)
    assert response.status_code == 507
    assert f"saved-{KEY}" not in response.cookies
    page = response.content.decode()
    for name, value in SENT.items():
        assert page.count(f'<input type="hidden" name="{name}" value="{value}">') == 1


# -- the way back after a login


def way_back(client: Client, address: str, data: dict[str, str], **headers: str) -> str:
    response = client.post(address, data, headers=headers)
    assert response.status_code == 302
    assert not response.cookies
    return response["Location"]


@pytest.mark.parametrize(
    ("page", "referer", "back"),
    [
        ("/sites/1/contacts?x=1", "", "/sites/1/contacts%3Fx%3D1"),
        ("", "http://testserver/sites/1/contacts?x=1", "/sites/1/contacts%3Fx%3D1"),
        ("/sites/1/contacts", "http://testserver/terms", "/sites/1/contacts"),
        ("//elsewhere.example/", "", "/"),
        ("https://elsewhere.example/", "", "/"),
        ("/\\elsewhere.example/", "", "/"),
        ("", "https://elsewhere.example/sites/1/contacts", "/"),
        ("", "", "/"),
    ],
)
def test_it_leads_to_the_page_of_the_form_and_never_elsewhere(address, client, page, referer, back):
    data = IDA | SENT | {"_page": page}
    assert way_back(client, address, data, **({"referer": referer} if referer else {})) == f"/login?next={back}"
    assert not models.Contact.objects.exists()


def test_a_form_older_than_its_login_leads_back_to_its_page(address):
    company.as_role("office")
    client = Client(enforce_csrf_checks=True)
    client.login(username="office", password="quiet-ledger-9")
    response = client.post(address, IDA | SENT)
    assert response.status_code == 403
    assert '<a href="/sites/1/contacts">go back to the form</a>' in response.content.decode()
    without = client.post(address, IDA)
    assert without.status_code == 403
    assert "Go back, reload the page and send it again." in without.content.decode()


# -- which forms


def test_forms_of_one_page_that_go_to_one_address_have_names_of_their_own(address):
    """Else the draft of one would be offered at another."""
    office = company.as_role("owner")
    unit = models.Unit.objects.get()
    for customer in ("Brit Vale", "Cato Wren"):
        company.unit("", room="Den", customer=customer, started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    seen = 0
    for page in (
        f"/units/{unit.pk}",
        f"/units/{unit.pk}/life",
        "/missing-information",
        "/hours-and-rates",
        "/company",
        "/care-sheet",
    ):
        text = office.get(page).content.decode()
        forms = re.findall(r'(<form[^>]*method="post"[^>]*>)(.*?)</form>', text, re.DOTALL)
        written_in = [tag for tag, inside in forms if re.search(r'<(select|textarea|input (?!type="hidden"))', inside)]
        seen += len(written_in)
        named = Counter(
            tuple(re.findall(rf'{name}="([^"]*)"', tag)[:1] for name in ("action", "data-draft")).__repr__()
            for tag in written_in
        )
        assert max(named.values(), default=0) <= 1, (page, named)
    assert seen > 15
