"""While a long file holds SQLite, a save says so, and what was typed is sent again by one button."""

import datetime as dt
import html
import re
import sqlite3
from collections.abc import Callable

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError

from fleet import models
from fleet.derived import refresh
from fleet.office.actions import people
from fleet.registry.actions import contacts, documents
from tests import company

pytestmark = pytest.mark.django_db

TYPED = {"name": 'Ida "Ж" Moss', "role": "tenant", "phone": "207-555-0101", "email": "", "reach": "<knock> & wait"}


@pytest.fixture
def locked(tmp_path) -> Callable[..., None]:
    """What any write does while another connection holds the database."""

    def locked(*_: object, **__: object) -> None:
        path = tmp_path / "taken.sqlite3"
        holds, wants = (sqlite3.connect(path, timeout=0, isolation_level=None) for _ in range(2))
        holds.execute("BEGIN IMMEDIATE")
        try:
            wants.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as wrong:
            raise OperationalError(str(wrong)) from wrong  # as Django does
        finally:
            holds.close()
            wants.close()

    return locked


def sent_again(page: str) -> dict[str, str]:
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page)
    return {name: html.unescape(value) for name, value in fields if name != "csrfmiddlewaretoken"}


def test_what_was_typed_stands_ready_and_is_taken_the_second_time(locked, monkeypatch):
    company.on_file()
    site = company.unit("SB-1").system.site
    office = company.as_role("office")
    address = f"/sites/{site.pk}/contacts/add"
    with monkeypatch.context() as patch:
        patch.setattr(contacts, "add", locked)
        response = office.post(address, TYPED)
    page = response.content.decode()
    assert response.status_code == 503
    assert response["Retry-After"] == "60"
    assert "nothing that you typed is lost" in page
    assert f'action="{address}"' in page
    assert sent_again(page) == TYPED
    assert not models.Contact.objects.exists()
    assert office.post(address, sent_again(page)).status_code == 302
    assert models.Contact.objects.get().name == TYPED["name"]


def test_a_password_is_not_written_into_the_page(locked, monkeypatch):
    monkeypatch.setattr(people, "set_password", locked)
    office = company.as_role("office")
    new = "a quiet ladder in the rain"
    typed = {"old_password": "quiet-ledger-9", "new_password1": new, "new_password2": new}
    response = office.post("/password", typed)
    assert response.status_code == 503
    assert sent_again(response.content.decode()) == {}
    assert new not in response.content.decode()
    assert "go back, and send it again" in response.content.decode()


def test_chosen_files_are_said_to_be_chosen_again(locked, monkeypatch):
    company.on_file()
    unit = company.unit("SB-1")
    monkeypatch.setattr(documents, "add", locked)
    paper = SimpleUploadedFile("paper.pdf", b"%PDF-1.7\n%%EOF")
    response = company.as_role("office").post(f"/units/{unit.pk}/documents", {"documents": paper, "caption": "bill"})
    assert response.status_code == 503
    assert "choose them again afterwards" in response.content.decode()


def test_a_page_whose_rows_cannot_be_brought_up_to_the_day_shows_none(locked, monkeypatch):
    company.on_file()
    company.unit("SB-1", started_on="2021-03-02", installed_on="2021-03-01")
    company.worked_out()
    monkeypatch.setattr(refresh, "catch_up", locked)
    with time_machine.travel("2026-03-03T00:05:00-05:00"):
        response = company.as_role("technician").get("/look-up?q=SB-1")
    page = response.content.decode()
    assert response.status_code == 503
    assert 'href="/look-up?q=SB-1"' in page
    assert "Background work" not in page, "a technician is led to nothing that is closed"


def test_any_other_failure_of_the_database_is_a_failure(monkeypatch):
    company.on_file()

    def broken(**_: object) -> int:
        raise OperationalError("disk I/O error")

    monkeypatch.setattr(refresh, "is_due", lambda *, on: on >= dt.date(2020, 1, 1))
    monkeypatch.setattr(refresh, "catch_up", broken)
    with pytest.raises(OperationalError, match="disk"):
        company.as_role("office").get("/look-up")
