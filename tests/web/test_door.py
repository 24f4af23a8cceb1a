"""What is refused before anything reads it: in words, with a 4xx, and as one line in the log."""

import io
import logging

import pytest
from django.conf import settings
from django.test import Client
from django.utils.module_loading import import_string

from fleet.web import door
from tests import company

pytestmark = pytest.mark.django_db

DIGITS = "9" * 5_000


@pytest.fixture
def said(caplog) -> list[str]:
    """The log as the terminal of a run shows it."""
    formatter = logging.Formatter(settings.LOGGING["formatters"]["line"]["format"], style="{")
    one_line = import_string(settings.LOGGING["filters"]["one line"]["()"])()
    lines: list[str] = []

    class Terminal(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            lines.append(formatter.format(record))

    assert "one line" in settings.LOGGING["handlers"]["terminal"]["filters"]
    terminal = Terminal()
    terminal.addFilter(one_line)
    loggers = [logging.getLogger("django.request"), logging.getLogger("django.security")]
    for logger in loggers:
        logger.addHandler(terminal)
    yield lines
    for logger in loggers:
        logger.removeHandler(terminal)


@pytest.mark.parametrize("pk", [2**63, 2**64, DIGITS])
@pytest.mark.parametrize("address", ["/units/{}", "/sites/{}/contacts/add", "/systems/1/registration/letter/{}"])
def test_an_id_that_no_row_can_have_is_nowhere(address, pk, said):
    office = company.as_role("office")
    for method in (office.get, office.post):
        assert method(address.format(pk)).status_code == 404
    assert len(said) == 2
    assert not any("Traceback" in line for line in said)


def test_the_last_id_that_a_row_could_have_is_looked_for():
    assert company.as_role("office").get(f"/units/{2**63 - 1}").status_code == 404


@pytest.mark.parametrize("address", ["/login", "/calendar/x.ics", "/look-up", "/nowhere"])
@pytest.mark.parametrize("charset", ["utf-16", "latin-1", "cp1252", "utf-7", "punycode", "rot13"])
@pytest.mark.parametrize("kind", ["application/x-www-form-urlencoded", "multipart/form-data; boundary=b"])
def test_another_encoding_is_refused_to_strangers_too(address, charset, kind, said):
    for method in ("GET", "POST"):
        response = Client().generic(method, address, b"a=b", content_type=f"{kind}; charset={charset}")
        assert response.status_code == 400
        assert "must be UTF-8" in response.content.decode()
    assert len(said) == 2
    assert not any("Traceback" in line or "\n" in line for line in said)


@pytest.mark.parametrize("charset", ["utf-8", "UTF8", "us-ascii", "nobody-knows", ""])
def test_utf_8_by_any_of_its_names_is_read(charset):
    kind = f"application/x-www-form-urlencoded; charset={charset}"
    company.person("office")
    response = Client().generic("POST", "/login", b"username=office&password=quiet-ledger-9", content_type=kind)
    assert response.status_code == 302


def test_a_request_that_is_too_large_is_told_before_it_is_read(said):
    response = Client().post("/login", {}, CONTENT_LENGTH=str(200 * 1024 * 1024 + 1))
    assert response.status_code == 413
    assert len(said) == 1


def test_more_fields_than_any_form_has_are_one_line_in_the_log(said):
    body = "&".join(f"f{number}=1" for number in range(5_001))
    response = Client().generic("POST", "/login", body, content_type="application/x-www-form-urlencoded")
    assert response.status_code == 400
    assert "could not be read" in response.content.decode()
    assert [line.count("\n") for line in said] == [0]


def test_what_broke_here_keeps_the_way_that_led_there(said):
    record = logging.LogRecord("django.request", logging.ERROR, "", 1, "broke", None, (ValueError, ValueError(), None))
    record.status_code = 500
    logging.getLogger("django.request").handle(record)
    assert "ValueError" in said[0]


@pytest.mark.parametrize(
    "kind", ["multipart/form-data", "multipart/form-data; boundary=\u00e9", "multipart/form-data; boundary=b"]
)
def test_nobodys_address_is_nowhere_whatever_is_sent_to_it(kind):
    """Django's own page would read it for a token, and break on what cannot be read."""
    company.as_role("owner")
    browser = Client(enforce_csrf_checks=True, raise_request_exception=False)
    for body in (b"None", b"--b\r\n\r\n"):
        assert browser.generic("POST", "/nowhere", body, content_type=kind).status_code == 404
    many = "&".join(f"a{number}=1" for number in range(6_000)).encode()
    for body in (many, b"a=" + b"x" * 3_000_000):
        kind = "application/x-www-form-urlencoded"
        assert browser.generic("POST", "/nowhere", body, content_type=kind).status_code == 404


@pytest.mark.parametrize("address", ["/nowhere", f"/units/{2**63}", "/login"])
@pytest.mark.parametrize("charset", ["utf-8", "utf-16"])
def test_what_nobody_read_is_read_to_its_end(address, charset):
    """So that a server can keep the connection for what comes next."""
    body = io.BytesIO(b"a=" + b"x" * 300_000 + b"next")
    extra = {"wsgi.input": body, "CONTENT_LENGTH": "300002"}
    kind = f"application/x-www-form-urlencoded; charset={charset}"
    assert Client().generic("POST", address, b"?", content_type=kind, **extra).status_code in (200, 400, 404, 422)
    assert body.read() == b"next"


def test_not_more_is_read_than_somebody_could_want(monkeypatch):
    monkeypatch.setattr(door, "LEFT_OVER", 200_000)
    body = io.BytesIO(b"x" * 300_000)
    Client().generic("POST", "/nowhere", b"?", **{"wsgi.input": body, "CONTENT_LENGTH": "300000"})
    assert body.tell() == 3 * 65_536
