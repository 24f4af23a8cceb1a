"""Every page, list and file on the demo company's rows: asked of PostgreSQL, since most tests of screens are asked of SQLite alone."""

import collections
import io
import itertools
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from fleet import models
from fleet.elements.listing import List
from fleet.registry.actions import documents
from fleet.web import access
from fleet.web.lists import ListForm
from tests import company, sheets
from tests.hostile import LEFT_OUT, numbers
from tests.rows import undone

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

CHOICES_EACH = 2
# What wants more than a row of the demo company: a token, something named after the "?", what nobody sent or stored yet.
NOT_SHOWN = frozenset(
    [
        "agreement_bill_send", "agreement_template", "calendar_feed", "care_draft_file", "care_record", "company_logo", "job",
        "document_small", "import_problems", "label", "labels_ready", "labels_sheet", "refrigerant_entry", "registration_letter", "scan_crop", "scan_read",
        "unit_report", "write_up_photos",
    ]
)  # fmt: skip


def addresses() -> Iterator[tuple[str, str]]:
    """Every address by its name; one of a row, for the newest of its kind and one from among them."""
    rows = numbers()
    for name, where in access.table().items():
        if name in LEFT_OUT:
            continue
        converters = where.pattern.converters
        if not converters:
            yield name, reverse(name)
            continue
        kind = str(where.pattern).partition("/")[0]
        there = rows.get(kind) or [1]
        for number in {there[0], there[len(there) // 2]}:
            yield name, reverse(name, kwargs={key: "x" if key in ("token", "uidb64") else number for key in converters})


def asked_of(of: List) -> Iterator[dict[str, Any]]:
    """What a list may be asked for: each column's order, each filter by some values, a file, the next page."""
    yield from ({"sort": f"-{column.name}"} for column in of.columns if column.order)
    for one in of.filters:
        values = ["2026-03-05", "a"] if one.choices is None else [value for value, _ in one.pairs if value != ""]
        for value in itertools.islice([one.between[0]] if one.between else values, CHOICES_EACH):
            yield {one.name: value}
    yield from ({"as": "csv"}, {"page": 2})


def what_the_demo_company_has_not() -> None:
    """Somebody to reach, a paper and a sheet that is asked about."""
    site = models.Site.objects.get(pk=numbers()["sites"][0])
    models.Contact.objects.create(site=site, name="Ida Marsh")
    paper = io.BytesIO(b"%PDF-1.4\n1 0 obj\n<< >>\nendobj\ntrailer << >>\n%%EOF\n")
    documents.add(file=paper, name="paper.pdf", whose=site, by=models.User.objects.get(username="owner"))
    sheets.asking()


def asked(owner: Client, address: str, **headers: str) -> tuple[Any, str]:
    """The answer, read to its end, and what broke; undone, since after a query that failed PostgreSQL answers no other."""
    with undone():
        answer: Any = owner.get(address, headers=headers)
        collections.deque(answer if answer.streaming else (), maxlen=0)
    why = getattr(answer, "exc_info", None)
    return answer, f"{answer.status_code} {why[1]!r:.300}" if why else ""


def test_every_page_list_and_file_has_queries_that_postgresql_can_answer(settings, tmp_path, demo_company):
    if connection.vendor != "postgresql":
        pytest.skip("asks PostgreSQL, and this run is on another database")
    settings.MEDIA_ROOT = tmp_path
    demo_company.load()
    what_the_demo_company_has_not()
    owner = company.as_role("owner")
    owner.raise_request_exception = False
    broken: dict[str, str] = {}
    lists: dict[str, List] = {}
    shown: set[str] = set()
    for name, address in addresses():
        answer, broken[address] = asked(owner, address)
        if answer.status_code != 404:
            shown.add(name)
        form = answer.context.get("form") if answer.context else None
        if isinstance(form, ListForm):
            lists[address] = form.of
    for address, of in lists.items():
        for query in asked_of(of):
            narrowed = f"{address}?{urlencode(query)}"
            _, broken[narrowed] = asked(owner, narrowed, **{"HX-Request": "true"})
    assert [f"{address}: {why}" for address, why in broken.items() if why] == []
    assert sorted(access.table().keys() - shown - LEFT_OUT - NOT_SHOWN) == []
    assert len(lists) > 25
