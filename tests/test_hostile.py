"""Requests that nobody means well, over every address, with the names of every form: none breaks anything.

Seeded, so that red means the change; FUZZ_REQUESTS asks for more of them, FUZZ_SEED for others.
"""

import os
import random
import re
from collections.abc import Iterator
from io import StringIO

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from fleet import models
from fleet.web import access
from tests import company

pytestmark = pytest.mark.django_db

HOSTILE = [
    "", " ", "0", "-1", "1", "2", "3", str(2**31), str(2**63 - 1), str(2**63), str(-(2**63) - 1), "9" * 5_000, "1e30", "-1e30",
    "1E+400", "1e-400", "NaN", "sNaN", "Infinity", "-inf", "0x10", "٣", "１２", "1_000", "1,5", "true", "on", "yes", "None",
    "2024-02-30", "2024-03-05", "0001-01-01", "9999-12-31", "10000-01-01", "2024-3-5", "3/5/24", "20240305", "24:61", "\0", "a\0b",
    "\n", "a\r\nb", "\u2028", "\ud7ff\ue000", "\U0001f40d" * 50, "ﷺ" * 200, "x" * 100_000, "'\"><script>", "%s%d{}", "../../etc",
    "[]", "{}", '{"a":', "[" * 3_000, "office", "unit", "compressor", "parts", "us", "site", "covered", "1;2;3", "1-2", "1:compressor",
]  # fmt: skip
# What ends the login that everything else needs, or hands the work to a thread.
LEFT_OUT = {"logout"}


def names() -> list[str]:
    """The names of all fields of all forms, some of them as a form of many rows writes them."""

    def below(form: type[forms.BaseForm]) -> Iterator[type[forms.BaseForm]]:
        yield form
        for one in form.__subclasses__():
            yield from below(one)

    fields = {name for form in below(forms.Form) for name in form.base_fields}
    return sorted(
        fields | {f"was_{name}" for name in fields} | {"next", "as", "key", "to", "check", "with", "task", "here"}
    )


def numbers() -> dict[str, list[int]]:
    """By the first word of an address, the rows that it is about."""
    tables = {
        "units": models.Unit, "sites": models.Site, "customers": models.Customer, "systems": models.System,
        "failures": models.Failure, "claims": models.Claim, "terms": models.Terms, "visits": models.Booking,
        "agreements": models.Agreement, "people": models.User, "contacts": models.Contact, "suppliers": models.Supplier,
        "statements": models.Statement, "statement-lines": models.StatementLine, "import": models.Import,
    }  # fmt: skip
    return {word: list(table.objects.values_list("pk", flat=True)[:40]) for word, table in tables.items()}


class Fuzzer:
    """Makes requests, one after the other, and keeps those that broke."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.names, self.numbers = names(), numbers()
        self.seen: dict[str, list[str]] = {}
        self.table = {name: where for name, where in access.table().items() if name not in LEFT_OUT}
        self.client = self.logged_in()

    def logged_in(self) -> Client:
        models.User.objects.filter(username="owner").update(is_active=True, role="owner")
        client = company.as_role("owner")
        client.raise_request_exception = False
        return client

    def address(self, name: str) -> str:
        choose, converters = self.random.choice, self.table[name].pattern.converters
        rows = self.numbers.get(str(self.table[name].pattern).partition("/")[0]) or [1]
        path = reverse(name, kwargs={key: "x" if key in ("token", "uidb64") else 1 for key in converters})
        known = str(choose(rows)) if self.random.random() < 0.9 else choose([str(2**63), "9" * 5_000, "0"])
        return re.sub(r"/1(?=/|$)", f"/{known}", path)

    def value(self) -> str:
        return self.random.choice(HOSTILE)

    def sent(self, name: str) -> dict[str, object]:
        """Most of the fields that the page itself has, as it has them, some spoiled; or any names of any form."""
        own = self.seen.get(name) or self.names
        chosen = self.random.sample(own, min(len(own), self.random.randint(1, 12)))
        chosen += self.random.sample(self.names, self.random.randint(0, 3))
        return {field: [self.value() for _ in range(self.random.choice([1, 1, 1, 2]))] for field in chosen}

    def once(self) -> str | None:
        """Make one request; what it was, if it broke."""
        name = self.random.choice(list(self.table))
        address, sent = self.address(name), self.sent(name)
        how = self.random.random()
        headers = {"HTTP_HX_REQUEST": "true"} if self.random.random() < 0.2 else {}
        if how < 0.35:
            response = self.client.get(address, sent, **headers)
        elif how < 0.9:
            if self.random.random() < 0.1:
                sent[self.random.choice(["documents", "photos", "file"])] = SimpleUploadedFile(
                    "a.pdf", b"%PDF-1.7\n%%EOF"
                )
            response = self.client.post(address, sent, **headers)
        elif how < 0.95:
            kind = self.random.choice(["application/json", "text/plain", "multipart/form-data; boundary=b", "", "x"])
            body = self.value().encode("utf-8", "surrogatepass")
            response = self.client.generic("POST", address, body, content_type=kind, **headers)
        else:
            charset = self.random.choice(["utf-16", "latin-1", "punycode", "x"])
            kind = f"application/x-www-form-urlencoded; charset={charset}"
            method = self.random.choice(["GET", "POST", "PUT", "DELETE", "OPTIONS", "HEAD"])
            response = self.client.generic(method, address, b"a=%ff&b=%00", content_type=kind, **headers)
        if response.status_code == 200 and not response.streaming and name not in self.seen:
            fields = re.findall(rb'<(?:input|select|textarea)[^>]* name="([^"]+)"', response.content)
            self.seen[name] = sorted({field.decode() for field in fields} - {"csrfmiddlewaretoken"})
        if str(response.get("Location", "")).startswith("/login"):
            self.client = self.logged_in()
        if response.status_code < 500:
            return None
        why = getattr(response, "exc_info", None)
        short = {
            field: [str(one)[:40] for one in values] if isinstance(values, list) else values
            for field, values in sent.items()
        }
        return (
            f"{response.status_code} {name} {address[:60]} {short} {why[1]!r:.300}"
            if why
            else f"{response.status_code} {name}"
        )


def broken(count: int) -> list[str]:
    call_command("load_demo", stdout=StringIO())
    fuzzer = Fuzzer(int(os.environ.get("FUZZ_SEED", "1")))
    return [found for _ in range(count) if (found := fuzzer.once())]


def test_no_hostile_request_breaks_anything(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    assert broken(200) == []


@pytest.mark.slow
def test_nor_do_many(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    assert broken(int(os.environ.get("FUZZ_REQUESTS", "1500"))) == []
