"""Two of one name, two heads mixed up, two sites of one name, a payer's own headings: settled in a browser, and shut to nobody."""

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from tests import claimed, company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MESSY = """Northrill Warranty Credits,,,
Printed 3/1/2026,,,
Credit Memo #,Posted,Branch,Credit Amt
NR-1,2/27/2026,Reading,"$120.00"
,,TOTAL,"$120.00"
"""


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def heads():
    company.on_file()
    made = [
        company.unit(f"SB-100{number}", room=room, started_on="2021-03-10", installed_on="2021-03-09")
        for number, room in ((2, "Den"), (3, "Loft"))
    ]
    company.unit("X-1", customer="O. Marsh", room="Hall")
    company.worked_out()
    return made


def test_each_question_is_asked_where_it_arises(desk: Page, heads, log_in, seen, tmp_path):
    log_in(desk, "office")
    den, loft = heads
    site = den.system.site

    # A buyer whose name is on file.
    desk.goto(f"/sites/{site.pk}/sold")
    desk.get_by_label("Sold on").fill("2026-02-20")
    desk.get_by_label("New owner").fill("O. Marsh")
    desk.get_by_role("button", name="Record the sale").click()
    expect(desk.get_by_text("O. Marsh is on file already. Choose who bought the house.")).to_be_visible()
    seen(desk, "sold")

    # The name of a customer on file, at another street.
    desk.goto("/new-install")
    desk.locator("#id_customer").fill("Odile Marsh")
    desk.locator("#id_street").fill("8 Tar Lane")
    desk.locator("#id_unit-0-maker").fill("Northrill")
    desk.locator("#id_unit-0-model").fill("NX-36")
    desk.locator("#id_unit-0-room").fill("Yard")
    desk.get_by_role("button", name="Save the install").click()
    expect(desk.get_by_text("Odile Marsh is on file already. Choose which customer this is.")).to_be_visible()
    seen(desk, "install")
    desk.get_by_label("Another customer named Odile Marsh").check()
    desk.get_by_role("button", name="Save the install").click()
    expect(desk.get_by_text("Saved: 1 unit added.")).to_be_visible()
    assert models.Customer.objects.filter(name="Odile Marsh").count() == 2

    # Two heads whose rooms were mixed up, swapped and swapped back.
    desk.goto(f"/units/{den.pk}")
    with desk.expect_navigation():
        desk.get_by_role("link", name="Swap with another head").click()
    seen(desk, "swap")
    desk.get_by_label("Loft, Northrill NH-9, SB-1003").check()
    desk.get_by_label("The rooms: each head hangs in the other’s room").check()
    desk.get_by_role("button", name="Swap these two heads").click()
    expect(desk.get_by_text("The rooms are swapped. You can undo it under Changes.")).to_be_visible()
    with desk.expect_navigation():
        desk.get_by_role("link", name="Changes").click()
    seen(desk, "changes")
    desk.get_by_role("button", name="Undo this swap").click()
    expect(desk.get_by_text("Undone: the two are as they were before the swap.")).to_be_visible()

    # Two customers who are one, each with a site named Home.
    other = models.Customer.objects.get(name="O. Marsh")
    desk.goto(f"/customers/{site.customer_id}/merge?with={other.pk}")
    expect(desk.get_by_text("Both have a site named Home")).to_be_visible()
    seen(desk, "merge")

    # A registration in a name that is another by now.
    models.Registration.objects.create(unit=den, registered_on="2021-03-20", in_name="Ida Moss", serial="SB-1002")
    desk.goto("/on-our-desk")
    expect(desk.get_by_role("heading", name="Registrations that differ from our records")).to_be_visible()
    with desk.expect_navigation():
        desk.get_by_role("link", name="All 1 of them").click()
    seen(desk, "differing")
    desk.goto(f"/systems/{den.system_id}/registration")
    seen(desk, "registration")
    desk.get_by_role("button", name="It is as it should be").click()
    expect(desk.get_by_text("1 registration: as it should be.")).to_be_visible()

    # A payer's list of credits with headings of its own.
    claimed.approved(claimed.failure(den), "120.00", "NR-1")
    file = tmp_path / "march.csv"
    file.write_text(MESSY)
    desk.goto("/statements")
    desk.get_by_label("The payer’s file of credits, CSV or XLSX").set_input_files(file)
    desk.get_by_role("button", name="Import the statement").click()
    expect(desk.get_by_role("heading", name="What do these columns mean?")).to_be_visible()
    expect(desk.get_by_label("Credit Memo #")).to_have_value("reference")
    seen(desk, "columns")
    desk.get_by_role("button", name="Import the statement").click()
    expect(desk.get_by_text("The credit is booked: $120.00.")).to_be_visible()
