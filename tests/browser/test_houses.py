"""A caller whose house is not on file, by keys alone: from the ring to a call that a visit can be booked for."""

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from tests import company
from tests.browser.test_new_install import Keys

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


def typed(text: str) -> list[str]:
    return [f"Shift+{key}" if key.isupper() else "Space" if key == " " else key for key in text]


def test_from_nobody_found_to_a_house_with_its_call_in_under_sixty_keys(desk: Page, live, log_in, clean):
    models.Company.objects.create(pk=1, name="Birch & Fell", address="3 Mill Rd\nQuill Harbor, ME 04791")
    log_in(desk, "office")
    desk.goto("/on-our-desk")
    keys = Keys(desk)
    keys.press("/", *typed("wilma trask"))
    expect(desk.get_by_role("link", name="Note a call with “wilma trask”")).to_be_visible()
    keys.press("ArrowDown")
    with desk.expect_navigation():
        keys.press("Enter")
    keys = Keys(desk)
    before = 13
    keys.press(*typed("555-0188"), "Tab", "w", "Tab")
    keys.write("It drips on the piano")
    keys.press("Tab")
    expect(desk.get_by_label("Street", exact=True)).to_be_focused()
    with desk.expect_navigation():
        keys.press(*typed("12 Cider Ln, Quill Harbor"), "Enter")
    expect(desk.get_by_text("Check the address: we split it")).to_be_visible()
    for label, value in (
        ("Street", "12 Cider Ln"),
        ("City", "Quill Harbor"),
        ("State", "Maine"),
        ("ZIP code", "04791"),
    ):
        expect(desk.get_by_label(label, exact=True)).to_have_value(value)
    expect(desk.get_by_label("Street", exact=True)).to_be_focused()
    clean(desk)
    count = keys.count + before
    with desk.expect_navigation():
        desk.keyboard.press("Enter")
    expect(desk.get_by_text("The call is noted.")).to_be_visible()
    assert count + 1 <= 60, count + 1
    call = models.Call.objects.select_related("site").get()
    assert (call.site.street, call.site.postcode, call.said) == ("12 Cider Ln", "04791", "It drips on the piano")
    expect(desk.get_by_role("link", name="Book a visit")).to_be_visible()
    clean(desk)


def test_the_address_fills_its_fields_as_it_is_left(phone: Page, live, log_in, seen):
    log_in(phone, "office")
    phone.goto("/calls/new")
    phone.get_by_label("Street", exact=True).fill("12 Cider Ln, Quill Harbor, ME 04791")
    phone.get_by_label("Street", exact=True).press("Tab")
    expect(phone.get_by_role("status").filter(has_text="City: Quill Harbor.")).to_be_visible()
    expect(phone.get_by_label("City", exact=True)).to_have_value("Quill Harbor")
    expect(phone.get_by_label("Street", exact=True)).to_have_value("12 Cider Ln")
    seen(phone)
