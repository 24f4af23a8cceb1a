"""Two customers who are one, each with a site of one name: the page asks whether the sites are one, and merges or renames them."""

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import lookup, recheck
from fleet.loading import agreements, installs
from fleet.refusals import Refused
from fleet.registry.actions import merges
from fleet.registry.actions.merges import SameName
from fleet.sheets import BadFile
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def two():
    """Odile Marsh's home in Tar Lane, and O. Marsh's in Elm Street, each with a head."""
    company.on_file()
    left = company.unit("SB-1002", room="Den", started_on="2021-03-10", installed_on="2021-03-09")
    right = company.unit(
        "SB-1003", customer="O. Marsh", room="Loft", started_on="2022-03-10", installed_on="2022-03-09"
    )
    site = right.system.site
    site.street, site.city = "2 Elm Street", "Brackwater"
    site.save()
    site.uses.create(use="rental")
    lookup.index(sites=[site])
    company.worked_out()
    return left.system.site, site


def merge(two, **named) -> models.Merge:
    left, right = two
    return merges.merge(
        "customer", left.customer_id, right.customer_id, chosen={"name": "kept"}, by=None, on=TODAY, **named
    )


def everything() -> list[object]:
    tables = (
        models.Customer, models.Site, models.SiteUse, models.System, models.Unit, models.Place, models.Contact,
    )  # fmt: skip
    index = models.LookupEntry.objects.order_by("kind", "object_id", "part").values_list(
        "kind", "object_id", "part", "text"
    )
    told = [list(table.objects.order_by("pk").values_list()) for table in tables]
    return [*told, list(index)]


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def address(two) -> str:
    return f"/customers/{two[0].customer_id}/merge?with={two[1].customer_id}"


def sent(two, **of_site: str) -> dict[str, str]:
    pk = two[1].pk
    return {"other": str(two[1].customer_id), "use_name": "kept"} | {
        f"site_{pk}{'' if name == 'is' else f'_{name}'}": value for name, value in of_site.items()
    }


def test_the_page_asks_whether_the_sites_are_one(two):
    page = words(company.as_role("office").get(address(two)))
    assert "Both have a site named Home" in page
    assert "They are one site: 7 Tar Lane" in page
    assert "They are two sites: give the one at 2 Elm Street, Brackwater another name" in page
    assert 'value="2 Elm Street"' in page  # offered as its name from now on


def test_nothing_is_merged_until_that_is_chosen(two):
    office = company.as_role("office")
    answer = office.post(address(two), sent(two))
    assert answer.status_code == 422
    assert "Choose whether they are one site or two." in words(answer)
    answer = office.post(address(two), sent(two, **{"is": "merge"}))
    assert answer.context["form"].errors[f"site_{two[1].pk}_street"] == ["Choose which is right."]
    answer = office.post(address(two), sent(two, **{"is": "rename", "name": " "}))
    assert answer.context["form"].errors[f"site_{two[1].pk}_name"] == ["Enter another name for this site."]
    answer = office.post(address(two), sent(two, **{"is": "rename", "name": "Home"}))
    assert "There already is a site named Home. Enter another name for the site Home." in words(answer)
    assert models.Customer.objects.count() == 2


def test_two_sites_stay_two_under_another_name_and_come_apart_again(two):
    before = everything()
    answer = company.as_role("office").post(address(two), sent(two, **{"is": "rename", "name": "Elm Street"}))
    assert answer["Location"] == f"/customers/{two[0].customer_id}"
    customer = models.Customer.objects.get()
    assert {(site.name, site.street) for site in customer.sites.all()} == {
        ("Home", "7 Tar Lane"),
        ("Elm Street", "2 Elm Street"),
    }
    change = models.Change.objects.get(table="site", field="name")
    assert (change.before, change.after, change.why) == ("Home", "Elm Street", "merged with O. Marsh")
    assert models.LookupEntry.objects.get(kind="site", object_id=two[1].pk, part="name").text == "Elm Street"
    assert clean()
    merges.undo(models.Merge.objects.get().pk, by=None, on=TODAY)
    assert everything() == before
    assert clean()


@pytest.mark.parametrize("street", ["kept", "gone"])
def test_two_sites_become_one_with_what_is_right_and_come_apart_again(two, street):
    before = everything()
    answer = company.as_role("office").post(address(two), sent(two, **{"is": "merge", "street": street}))
    assert answer.status_code == 302
    site = models.Site.objects.get()
    assert (site.street, site.city) == ("7 Tar Lane" if street == "kept" else "2 Elm Street", "Brackwater")
    assert (site.uses.get().use, models.System.objects.get().units.count()) == ("rental", 2)
    assert models.LookupEntry.objects.get(kind="site", part="street").text == site.street
    assert clean()
    merges.undo(models.Merge.objects.get().pk, by=None, on=TODAY)
    assert everything() == before
    assert clean()


def test_what_was_said_of_a_site_since_stands_in_the_way_of_taking_them_apart(two):
    made = merge(two, sites={two[1].pk: SameName(merge=False, chosen={}, name="Elm Street")})
    models.Site.objects.filter(pk=two[1].pk).update(name="Elm Street 2")
    with pytest.raises(Refused, match="Name of Elm Street 2 changed since the merge"):
        merges.undo(made.pk, by=None, on=TODAY)


def test_a_file_from_before_does_not_take_the_one_site_for_the_other(two):
    """O. Marsh's Home is called Elm Street by now, and Home is the other's."""
    merge(two, sites={two[1].pk: SameName(merge=False, chosen={}, name="Elm Street")})
    row = {
        "customer": "O. Marsh", "site": "Home", "system": "Whole house", "role": "head", "room": "Den", "maker": "Northrill",
        "model": "NH-9", "serial": "SB-9",
    }  # fmt: skip
    said = "the street of the site, or the name it has now: the Home of O. Marsh got another name in a merge"
    with pytest.raises(BadFile, match=said):
        installs.load_rows([row], on=TODAY)
    with pytest.raises(BadFile, match="'7 Tar Lane' as on file, not '2 Elm Street'"):
        installs.load_rows([row | {"street": "2 Elm Street"}], on=TODAY)
    agreement = {
        "customer": "O. Marsh", "site": "Home", "start_on": "2026-03-31", "months": "12", "visits_per_year": "2",
        "first_head": "120.00",
    }  # fmt: skip
    with pytest.raises(BadFile, match=said):
        agreements.load_rows([agreement], on=TODAY)
    installs.load_rows([row | {"site": "Elm Street"}], on=TODAY)
    assert models.Unit.objects.get(serial="SB-9").system.site == two[1]
    installs.load_rows([row | {"customer": "Odile Marsh", "serial": "SB-8", "room": "Hall"}], on=TODAY)
    assert models.Unit.objects.get(serial="SB-8").system.site == two[0]


def test_customers_of_one_name_are_told_apart_where_one_is_chosen(two):
    models.Customer.objects.filter(pk=two[1].customer_id).update(name="Odile Marsh")
    lookup.index(customers=models.Customer.objects.all())
    page = words(company.as_role("office").get(f"/customers/{two[0].customer_id}/merge?text=odile"))
    assert "555-0100, 2 Elm Street" in page


def test_more_matches_take_no_more_queries(two):
    office = company.as_role("office")
    ask = f"/customers/{two[0].customer_id}/merge?text=marsh"
    office.get(ask)
    with CaptureQueriesContext(connection) as few:
        office.get(ask)
    for number in range(5):
        company.unit(f"X-{number}", customer=f"Ann Marsh {number}", site=f"Home {number}")
    with CaptureQueriesContext(connection) as more:
        office.get(ask)
    assert len(more) == len(few) <= 30
