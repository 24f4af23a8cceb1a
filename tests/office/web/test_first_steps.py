"""A new company: its first owner is let in by a code, once; and the first steps are told until they are done or put away."""

import datetime as dt
import stat
import threading
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client

from fleet import models
from fleet.facts import company as facts
from fleet.facts.company import STEPS
from fleet.office.actions import company as actions
from fleet.office.actions import first_owner
from fleet.office.facts import archive
from fleet.office.pages import first_steps as pages
from fleet.refusals import Refused
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db

PASSWORD = "mossy lantern 47"


@pytest.fixture(autouse=True)
def _data(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.MEDIA_ROOT = tmp_path / "media"


def told(**changed: str) -> dict[str, str]:
    return {
        "code": first_owner.code(), "first_name": "Marit", "last_name": "Aasen", "username": "marit", "email": "",
        "password": PASSWORD, "again": PASSWORD,
    } | changed  # fmt: skip


# -- the first owner


def test_while_nobody_has_a_login_every_page_leads_to_the_first_owners():
    browser = Client()
    assert 'href="/first-owner"' in browser.get("/", follow=True).content.decode()
    assert "Nobody has a login here yet." in words(browser.get("/first-owner"))


def test_with_the_code_the_first_owner_is_made_logged_in_and_led_to_the_first_steps(django_capture_on_commit_callbacks):
    browser = Client()
    with django_capture_on_commit_callbacks(execute=True):
        answer = browser.post("/first-owner", told(), follow=True)
    assert [address for address, _ in answer.redirect_chain] == ["/", "/first-steps"]
    assert "Welcome, Marit Aasen." in words(answer)
    owner = models.User.objects.get()
    assert (owner.role, owner.check_password(PASSWORD)) == ("owner", True)
    assert (owner.is_superuser, owner.is_staff) == (False, False)
    logged = models.Change.objects.filter(table="user").order_by("pk").values_list("field", "after", "why", "by")
    assert list(logged) == [("login", "marit", "first owner", owner.pk), ("role", "owner", "", owner.pk)]
    assert not first_owner._path().exists()


def test_the_code_is_typed_in_any_case_and_with_any_spaces():
    Client().post("/first-owner", told(code=f" {first_owner.code().lower().replace('-', ' ')} "))
    assert models.User.objects.count() == 1


@pytest.mark.parametrize("wrong", ["", "AAAA-AAAA-AAAA-AAAA", "é" * 16])
def test_without_the_code_nobody_is_let_in_and_all_else_stays_typed(wrong):
    answer = Client().post("/first-owner", told(code=wrong))
    assert answer.status_code == 422
    assert answer.context["form"].errors["code"]
    assert 'value="marit"' in answer.content.decode()
    assert PASSWORD not in answer.content.decode()
    assert not models.User.objects.exists()


def test_the_page_does_not_show_the_code_and_the_server_prints_it(caplog):
    answer = Client().get("/first-owner")
    assert first_owner.code() not in answer.content.decode()
    assert first_owner.code() in caplog.text
    out = StringIO()
    call_command("first_owner", at="http://127.0.0.1:8000/", stdout=out)
    assert f"http://127.0.0.1:8000/first-owner?code={first_owner.code()}" in out.getvalue()


def test_the_code_is_for_the_servers_own_user_alone_and_the_same_for_every_process():
    assert first_owner.code() == first_owner.code()
    path: Path = first_owner._path()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert len(first_owner.code().replace("-", "")) == 16


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"again": "mossy lantern 48"}, "again"),
        ({"password": "short", "again": "short"}, "password"),
        ({"password": "marit-aasen-marit", "again": "marit-aasen-marit", "username": "marit-aasen-marit"}, "password"),
        ({"username": "with space"}, "username"),
        ({"first_name": ""}, "first_name"),
        ({"email": "no address"}, "email"),
        ({"first_name": "two\nlines"}, "first_name"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(changed, field):
    answer = Client().post("/first-owner", told(**changed))
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not models.User.objects.exists()


@pytest.mark.parametrize("there", ["owner", "technician", ""])
def test_once_anybody_has_a_login_the_page_is_gone_whoever_it_is(there):
    right = told()
    company.person(there)
    assert Client().get("/first-owner")["Location"] == "/login"
    assert Client().post("/first-owner", right)["Location"] == "/login"
    with pytest.raises(Refused, match="has a login already"):
        first_owner.let_in(given=right["code"], username="x", first_name="X", last_name="", email="", password=PASSWORD)
    assert models.User.objects.count() == 1
    out = StringIO()
    call_command("first_owner", stdout=out)
    assert out.getvalue() == ""


def test_somebody_switched_off_counts_as_somebody():
    company.person("owner", is_active=False)
    assert Client().get("/first-owner")["Location"] == "/login"


@pytest.mark.django_db(transaction=True)
def test_of_two_who_come_at_once_one_is_the_first_owner():
    code, outcomes = first_owner.code(), []
    both = threading.Barrier(2)

    def come(name: str) -> None:
        try:
            both.wait()
            first_owner.let_in(given=code, username=name, first_name=name, last_name="", email="", password=PASSWORD)
            outcomes.append("in")
        except Refused:
            outcomes.append("refused")
        finally:
            connection.close()

    threads = [threading.Thread(target=come, args=(name,)) for name in ("ada", "bo")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["in", "refused"]
    assert models.User.objects.count() == 1


# -- the first steps


def standing(client: Client) -> dict[str, str]:
    return {step.code: step.stands for step in client.get("/first-steps").context["page"].steps}


def test_the_steps_are_those_that_are_told():
    assert tuple(code for code, *_ in pages.WORDS) == STEPS


def test_each_step_is_done_once_its_facts_are_on_file():
    owner = company.as_role("owner")
    assert set(standing(owner).values()) == {"To do"}
    assert owner.get("/")["Location"] == "/first-steps"
    models.Company.objects.create(pk=1, name="Birch & Fell Heating")
    assert standing(owner)["company"] == "Done"
    company.on_file()
    assert standing(owner)["terms"] == "Done"
    models.CareSheet.objects.create(code="a", document="{}", digest="x", in_force=False)
    assert standing(owner)["care sheet"] == "To do"
    models.CareSheet.objects.update(in_force=True)
    assert standing(owner)["care sheet"] == "Done"
    models.MonthHours.objects.create(month=dt.date(2026, 3, 1), hours=60)
    assert standing(owner)["hours"] == "Done"
    company.person("technician")
    assert standing(owner)["people"] == "Done"
    assert owner.get("/")["Location"] == "/first-steps"
    company.unit("SB-1", started_on="2024-05-06")
    page = owner.get("/first-steps")
    assert "All done." in words(page)
    assert owner.get("/")["Location"] == "/the-year-ahead"


def test_a_step_is_left_out_and_the_next_one_is_named():
    owner = company.as_role("owner")
    assert "Next: <a" in words(owner.get("/first-steps"))
    owner.post("/first-steps/skip", {"step": "company"})
    owner.post("/first-steps/skip", {"step": "company"})
    owner.post("/first-steps/skip", {"step": "nonsense"})
    assert standing(owner)["company"] == "Left out"
    assert owner.get("/first-steps").context["page"].next.code == "terms"
    assert models.Company.objects.get().steps_skipped == ["company"]


def test_pages_lead_back_until_the_steps_are_put_away():
    owner = company.as_role("owner")
    assert "Back to the first steps" not in words(owner.get("/company"))
    owner.get("/first-steps")
    assert "Back to the first steps" in words(owner.get("/company"))
    answer = owner.post("/first-steps/over", follow=True)
    assert answer.redirect_chain[-1][0] == "/the-year-ahead"
    assert "Back to the first steps" not in words(owner.get("/company"))
    assert "Show the first steps again" in words(owner.get("/first-steps"))
    owner.post("/first-steps/again")
    assert owner.get("/")["Location"] == "/first-steps"
    logged = models.Change.objects.filter(table="company", field="steps_over_on").order_by("pk")
    assert [bool(row.after) for row in logged] == [True, False]


def test_a_company_with_units_is_not_stopped_by_steps_that_wait():
    company.unit("SB-1", started_on="2024-05-06")
    assert company.as_role("owner").get("/")["Location"] == "/the-year-ahead"


def test_nobody_but_the_owner_sees_them():
    for role in ("office", "technician"):
        assert company.as_role(role).get("/first-steps").status_code == 403
        assert company.as_role(role).get("/")["Location"] != "/first-steps"


def test_they_come_back_with_a_backup(tmp_path):
    owner = company.person("owner")
    actions.skip_step("terms", by=owner)
    actions.steps_over(by=owner, on=company.TODAY)
    call_command("backup", tmp_path / "a.backup", stdout=StringIO(), stderr=StringIO())
    actions.steps_again(by=owner)
    call_command("restore", tmp_path / "a.backup", stdout=StringIO())
    found = facts.steps()
    assert (found.is_over, found.skipped) == (True, frozenset({"terms"}))


# -- the backup


def test_the_owner_downloads_a_backup_that_restores(tmp_path):
    company.unit("SB-1", started_on="2024-05-06")
    owner = company.as_role("owner")
    answer = owner.post("/backup", {"password": "quiet-ledger-9"})
    assert answer["Content-Disposition"] == 'attachment; filename="tenth-year-2026-03-02.backup"'
    content = b"".join(answer.streaming_content)
    assert archive.Reader(BytesIO(content)).contents.table("fleet_unit").rows == 1
    path = tmp_path / "taken.backup"
    path.write_bytes(content)
    models.LookupEntry.objects.all().delete()
    call_command("restore", path, replace=True, stdout=StringIO())
    assert models.Unit.objects.get().serial == "SB-1"
    assert not [each for each in tmp_path.iterdir() if each.name.startswith(".backup")]
    assert (
        models.Change.objects.filter(table="user", field="backup").count() == 0
    )  # written after the moment of the backup


def test_it_is_logged_and_asks_the_password_again():
    owner = company.as_role("owner")
    wrong = owner.post("/backup", {"password": "no"})
    assert (wrong.status_code, "That is not your password." in words(wrong)) == (422, True)
    assert not models.Change.objects.filter(field="backup").exists()
    assert b"".join(owner.post("/backup", {"password": "quiet-ledger-9"}).streaming_content)
    (row,) = models.Change.objects.filter(field="backup")
    assert row.by.role == "owner"
    for _ in range(6):
        last = owner.post("/backup", {"password": "no"})
    assert last.status_code == 429
    assert company.as_role("office").get("/backup").status_code == 403
