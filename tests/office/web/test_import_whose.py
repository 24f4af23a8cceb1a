"""A file that names a customer on file at another street: asked who that is, taken as somebody says, and undone."""

import io

import pytest
import time_machine
from django.test import Client

from fleet import models, tasks
from fleet.derived import recheck
from fleet.office.actions import import_answers, import_undo, imports
from fleet.rules.spreadsheets.filling import Way
from tests import company, rows

pytestmark = pytest.mark.django_db(transaction=True)

COLUMNS = {
    "Name": "customer", "Phone": "phone", "Street": "street", "Kind": "role", "Make": "maker", "Model #": "model",
    "Serial #": "serial",
}  # fmt: skip


def brought(office, *lines: str) -> models.Import:
    """A sheet without sites and systems: each line says the name, the phone, the street and the serial."""
    told = [line.split(", ") for line in lines]
    body = "\n".join(f"{name},{phone},{street},head,Osmarik,OC-9,{serial}" for name, phone, street, serial in told)
    file = io.BytesIO(f"{','.join(COLUMNS)}\n{body}\n".encode())
    row = settled(
        imports.bring(
            file=file, name="units.csv", kind="installs", by=models.User.objects.get(role="office"), on=company.TODAY
        )
    )
    ways = {"site": Way.SITE_HOME, "system": Way.SYSTEM_DAY}
    import_answers.match(
        imported=row, columns=COLUMNS, ways=ways, by=models.User.objects.get(role="office"), on=company.TODAY
    )
    return settled(row)


def settled(row: models.Import) -> models.Import:
    tasks.drain()
    row.refresh_from_db()
    return row


def answered(client, row: models.Import, **said: str) -> models.Import:
    response = client.post(f"/import/{row.pk}/look-over", said)
    assert response.status_code == 302, response.content.decode()
    return settled(row)


def taken(row: models.Import) -> models.Import:
    imports.ask(imported=row, correcting=False, checking=False, by=row.by)
    return settled(row)


def where() -> list[tuple[int, str, str, list[str]]]:
    """Each Ada Quill's place in the order of their coming, site, street, and serials there."""
    customers = list(models.Customer.objects.filter(name="Ada Quill").order_by("pk"))
    return [
        (customers.index(site.customer), site.name, site.street, sorted(unit.serial for unit in site_units(site)))
        for site in models.Site.objects.filter(customer__in=customers).order_by("pk").select_related("customer")
    ]


def site_units(site: models.Site):
    return models.Unit.objects.filter(system__site=site)


@pytest.fixture
def media(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def office(media) -> Client:
    return company.as_role("office")


@pytest.fixture
def ada(media):
    """One Ada Quill on file, at 4 Alder Road."""
    rows.installed({"street": "4 Alder Road", "phone": "207-555-0101", "serial": "A-1"}, on=company.TODAY)
    return models.Customer.objects.get()


def test_a_street_that_is_none_of_hers_is_asked_about_and_may_be_another_customers(office, ada):
    row = brought(
        office, "Ada Quill, , 9 Birch Street, B-1", "Ada Quill, , 9 Birch Street, B-2", "Ada Quill, , 4 Alder Road, A-2"
    )
    assert (row.state, row.step) == ("asking", "confirm")
    page = office.get(f"/import/{row.pk}/look-over").content.decode()
    assert "Ada Quill at 9 Birch Street (row 2): who is it?" in page
    assert "Ada Quill: 4 Alder Road; 207-555-0101" in page
    assert "at 4 Alder Road (row" not in page
    refused = office.post(f"/import/{row.pk}/look-over", {})
    assert refused.status_code == 422
    assert "Choose one of these." in refused.content.decode()
    assert taken(answered(office, row, whose_0="new")).state == "taken"
    assert where() == [(0, "Home", "4 Alder Road", ["A-1", "A-2"]), (1, "Home", "9 Birch Street", ["B-1", "B-2"])]
    assert not list(recheck.differences(on=company.TODAY))


def test_it_may_be_another_house_of_hers(office, ada):
    row = brought(office, "Ada Quill, , 9 Birch Street, B-1")
    taken(answered(office, row, whose_0=str(ada.pk)))
    assert where() == [(0, "Home", "4 Alder Road", ["A-1"]), (0, "9 Birch Street", "9 Birch Street", ["B-1"])]
    again = taken(brought(office, "Ada Quill, , 9 Birch Street, B-1"))
    assert again.report["unchanged"] == 1, "the house is hers from now on"


def test_a_phone_that_differs_too_proposes_another_and_the_same_phone_the_one_on_file(office, ada):
    row = brought(office, "Ada Quill, 207-555-0102, 9 Birch Street, B-1", "Ada Quill, 207-555-0101, 1 Cedar Court, C-1")
    assert [one["answer"] for one in row.findings["confirm"]["whose"]] == ["new", str(ada.pk)]
    page = office.get(f"/import/{row.pk}/look-over").content.decode()
    assert "Rows that disagree about a house" not in page, "two customers have two phones"


def test_two_new_customers_of_one_name_in_one_file_are_proposed_by_their_phones(office, media):
    lines = ("Ada Quill, 207-555-0101, 4 Alder Road, A-1", "Ada Quill, 207-555-0102, 9 Birch Street, B-1")
    row = brought(office, *lines)
    page = office.get(f"/import/{row.pk}/look-over").content.decode()
    assert "Ada Quill is at 4 Alder Road and 9 Birch Street (first in row 2). Is that one customer?" in page
    assert taken(answered(office, row, whose_0="apart")).state == "taken"
    assert where() == [(0, "Home", "4 Alder Road", ["A-1"]), (1, "Home", "9 Birch Street", ["B-1"])]
    assert list(models.Customer.objects.order_by("pk").values_list("phone", "apart")) == [
        ("207-555-0101", "4 Alder Road"),
        ("207-555-0102", "9 Birch Street"),
    ]
    again = brought(office, *lines)
    assert again.state == "checked", "their streets say from now on who is who"
    assert taken(again).report["unchanged"] == 2


def test_where_nothing_tells_them_apart_a_new_name_is_one_customer(office, media):
    row = brought(office, "Ada Quill, , 4 Alder Road, A-1", "Ada Quill, , 9 Birch Street, B-1")
    assert row.state == "checked"
    assert taken(row).state == "taken"
    assert where() == [(0, "4 Alder Road", "4 Alder Road", ["A-1"]), (0, "9 Birch Street", "9 Birch Street", ["B-1"])]


def test_undoing_the_import_takes_the_second_customer_away(office, ada):
    row = brought(office, "Ada Quill, , 9 Birch Street, B-1")
    row = taken(answered(office, row, whose_0="new"))
    assert models.Customer.objects.exclude(apart="").count() == 2
    import_undo.ask(imported=row, why="the wrong list", by=models.User.objects.get(role="office"))
    assert settled(row).state == "undone"
    assert where() == [(0, "Home", "4 Alder Road", ["A-1"])]
    assert models.Customer.objects.get().apart == ""
