"""Who may see what: every address of the URL conf, asked by each role, by a stranger and by nobody."""

import contextlib
from collections.abc import Iterator
from uuid import uuid4

import pytest
import time_machine
from django.db import transaction
from django.test import Client, override_settings
from django.urls import get_resolver, reverse

from fleet import models
from fleet.later import later
from fleet.models.people import Role
from fleet.web import access
from fleet.web.address import Guarded
from tests import company
from tests.sheets import asking

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]

TABLE = access.table()
# What a person may do with what they wrote themselves; here somebody else wrote it.
OWN = {("call_correct", Role.TECHNICIAN)}
GUARDED = sorted(name for name in TABLE if not access.needs_no_login(name))


@pytest.fixture(scope="module")
def there(
    django_db_setup, django_db_blocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, dict[str, int]]]:
    """What stands at each address, made once for all who ask; each test undoes only what it did itself."""
    media = override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("media"))
    with django_db_blocker.unblock(), media, time_machine.travel(company.NOON), transaction.atomic():
        yield put_there()
        transaction.set_rollback(True)


def put_there() -> dict[str, dict[str, int]]:
    """Rows for addresses; one that is not named here is asked for number 1."""
    company.on_file()
    unit = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    terms = models.Terms.objects.get(code="northrill-1").pk
    site = unit.system.site
    sheet = asking()
    call = models.Call.objects.create(key=uuid4(), site=site, caller="Odile", trouble="water", came_on=company.TODAY)
    return {
        "call": {"pk": call.pk},
        "call_correct": {"pk": call.pk},
        "unit": {"pk": unit.pk},
        "answer": {"pk": unit.pk},
        "site": {"pk": site.pk},
        "customer": {"pk": site.customer_id},
        "terms": {"pk": terms},
        "terms_units": {"pk": terms},
        "terms_checked": {"pk": terms},
        "job": {"pk": later("catch_up", key="catch_up").pk},
        "person": {"pk": models.User.objects.create_user("ladder").pk},
        "unit_documents": {"pk": unit.pk},
        "site_documents": {"pk": site.pk},
        **{name: {"pk": unit.pk} for name in ("unit_life", "unit_not_there", "unit_serial", "unit_serial_undo")},
        "unit_found": {"pk": site.pk},
        **{f"unit_{what}": {"pk": unit.pk} for what in ("correct", "changes", "merge")},
        **{f"site_{what}": {"pk": site.pk} for what in ("correct", "changes", "merge", "contacts")},
        **{f"customer_{what}": {"pk": site.customer_id} for what in ("correct", "changes", "merge")},
        **{name: {"pk": site.pk} for name in ("contact_add", "sold", "payer_told")},
        "new_install_done": {"pk": unit.system_id},
        "site_care": {"pk": site.pk},
        "site_sheet": {"pk": site.pk},
        "wall_card": {"pk": unit.system_id},
        **{name: {"pk": sheet.pk} for name in ("import", "import_columns", "import_stop", "import_drop")},
        "registration": {"pk": unit.system_id},
        "registration_undo": {"pk": unit.system_id},
        "registration_remind": {"pk": unit.system_id, "terms": terms},
    }


@contextlib.contextmanager
def undone() -> Iterator[None]:
    """Whatever is done within is not there afterward."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def address(name: str, there: dict[str, dict[str, int]]) -> str:
    wanted = TABLE[name].pattern.converters
    return reverse(name, kwargs=there.get(name) or dict.fromkeys(wanted, 1))


def test_every_address_has_a_name_of_its_own():
    patterns = get_resolver().url_patterns
    assert all(pattern.name for pattern in patterns)
    assert len(patterns) == len(TABLE)


def test_every_address_stands_in_the_table_with_its_roles():
    """An address that came by any other way than the table has none, and is closed to everybody."""
    assert all(isinstance(pattern, Guarded) for pattern in get_resolver().url_patterns)
    assert all(TABLE[name].roles for name in GUARDED)


@pytest.mark.parametrize("name", GUARDED)
def test_each_role_sees_what_the_table_gives_it_and_others_nothing(name, there):
    """On one company for all who ask, since making it takes longer than asking: what one did is undone for the next."""
    path = address(name, there)
    nobody = Client().get(path)
    assert (nobody.status_code, nobody["Location"]) == (302, f"/login?next={path}")
    answered = {200, 302, 405, 409, 422} if name in there else {200, 302, 404, 405, 409, 422}
    for role in ("", *Role):
        may = role in access.roles_of(name) and (name, role) not in OWN
        allowed = answered if may else {403} if role else {404}
        with undone():
            client = company.as_role(role)
            for method in (client.get, client.post):
                response = method(path)
                assert response.status_code in allowed, f"{method.__name__} as {role or 'a stranger'}"
                assert not response.get("Location", "").startswith("/login")


@pytest.mark.parametrize("method", ["get", "post", "put", "delete", "patch", "options", "head"])
def test_no_method_goes_around_it(method, there):
    assert getattr(Client(), method)(address("unit", there)).status_code == 302
    assert getattr(company.as_role(""), method)(address("unit", there)).status_code == 404
    assert getattr(company.as_role("technician"), method)(address("ending", there)).status_code == 403


def test_the_wrong_role_is_told_so_in_plain_words(there):
    page = company.as_role("technician").get(address("ending", there)).content.decode()
    assert "You are logged in as Wynn Technician (technician), and this page is for others." in page
    assert "northrill" not in page.casefold()


def test_a_stranger_is_told_nothing_but_why(there):
    page = company.as_role("").get(address("terms", there)).content.decode()
    assert "Nobody has given Wynn a role yet, so there is nothing to see." in page
    assert "Ductless statement" not in page
    assert 'role="search"' not in page
    assert "Log out" in page


def test_a_part_asked_for_after_the_session_ended_sends_the_whole_page_to_the_login(there):
    asked = {"HTTP_HX_REQUEST": "true", "HTTP_HX_CURRENT_URL": "http://testserver/coverage-ending?days=90"}
    response = Client().get(address("lookup", there), **asked)
    assert (response.status_code, response["HX-Redirect"]) == (200, "/login?next=/coverage-ending%3Fdays%3D90")
    assert response.content == b""


def test_a_form_sent_after_the_session_ended_does_not_come_back_to_its_address(there):
    response = Client().post(address("terms_checked", there))
    assert (response.status_code, response["Location"]) == (302, "/login?next=/")
    assert not models.TermsCheck.objects.filter(checked_on=company.TODAY).exists()


@pytest.mark.parametrize(
    ("role", "first"), [("owner", "/the-year-ahead"), ("office", "/on-our-desk"), ("technician", "/todays-stops")]
)
def test_the_role_decides_where_somebody_begins(role, first):
    company.person(role)
    models.Company.objects.create(pk=1, steps_over_on=company.TODAY)
    client = Client()
    answer = client.post("/login", {"username": role, "password": "quiet-ledger-9"})
    assert answer["Location"] == "/"
    assert client.get("/")["Location"] == first


def test_a_wrong_password_is_refused_without_saying_which_part_was_wrong():
    company.person("office")
    known = Client().post("/login", {"username": "office", "password": "no"}).content.decode()
    unknown = Client().post("/login", {"username": "nobody", "password": "no"}).content.decode()
    assert "Wrong username or password." in known
    assert "Wrong username or password." in unknown


def test_the_login_leads_nowhere_else():
    company.person("office")
    sent = {"username": "office", "password": "quiet-ledger-9", "next": "https://elsewhere.example/"}
    assert Client().post("/login", sent)["Location"] == "/"


def test_after_the_logout_nothing_is_shown_and_nothing_was_kept(there):
    client = company.as_role("owner")
    page = client.get(address("ending", there))
    assert page["Cache-Control"] == "private, no-store"
    assert client.get("/logout").status_code == 405
    assert client.post("/logout")["Location"] == "/login"
    assert client.get(address("ending", there)).status_code == 302
