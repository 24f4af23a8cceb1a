"""What a phone opens without a signal besides today's and tomorrow's stops, what it says of the rest, and one draft in two stores."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from fleet import clock, models
from tests.browser.test_phone import (  # noqa: F401 - fixtures
    _media,
    app,
    booked,
    flush,
    on_file,
    open_phone,
    outbox,
    phone,
    save,
    states,
    units,
    until,
    visit,
    where,
    write,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

IS_KEPT = "async () => (await Store.keys('kept', Outbox.SITES)).some((key) => key.endsWith('|{site}'))"


def ahead(units, days: int) -> models.Booking:  # noqa: F811
    return booked(units, day=clock.today() + dt.timedelta(days=days))


def without_signal(page: Page, site: int) -> None:
    until(page, IS_KEPT.format(site=site))
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.context.set_offline(True)


@pytest.mark.parametrize(
    ("who", "address"), [("owner", "/visits/{}"), ("technician", "/sites/{1}/write-up?booking={0}")]
)
def test_a_visit_of_a_later_day_opens_by_its_own_address(who, address, open_phone, log_in, units, clean):  # noqa: F811
    visit = ahead(units, 3)  # noqa: F811
    address = address.format(visit.pk, visit.site_id)
    page = open_phone(worker=True).new_page()
    log_in(page, who)
    page.goto(address)
    without_signal(page, visit.site_id)
    page.goto(address)
    if who == "owner":
        expect(page.locator("#told")).to_have_text(
            "The server cannot be reached. This is what this device keeps of the site."
        )
        expect(page.get_by_text("7 Tar Lane")).to_be_visible()
        clean(page)
        page.get_by_role("link", name="Write up this stop").click()
    expect(page.locator("[data-booked]")).to_contain_text("Booked for")
    write(page, units)
    save(page)
    expect(page.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.locator(".unsent")).to_be_hidden()
    assert models.WriteUp.objects.get().booking == visit


def test_a_visit_booked_since_is_written_up_at_its_site(open_phone, log_in, units):  # noqa: F811
    page = open_phone(worker=True).new_page()
    log_in(page, "technician")
    site = units[0].system.site_id
    page.goto(f"/sites/{site}")
    without_signal(page, site)
    visit = ahead(units, 2)  # noqa: F811
    page.goto(where(visit))
    expect(page.locator("#told")).to_contain_text("does not keep what is booked for this visit")
    write(page, units)
    save(page)
    expect(page.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.locator(".unsent")).to_be_hidden()
    assert on_file().booking == visit


def test_what_is_not_kept_says_what_is_and_what_to_do(app: Page, clean):  # noqa: F811
    app.context.set_offline(True)
    for address, what in (
        ("/visits/999999", "This visit cannot be opened without a signal"),
        ("/sites/999999/write-up?booking=999999", "This write-up cannot be opened without a signal"),
        ("/sites/999999", "The server cannot be reached, and this page needs it."),
        ("/calls", "The server cannot be reached, and this page needs it."),
    ):
        app.goto(address)
        told = app.locator("#told")
        expect(told).to_contain_text(what)
        expect(told).to_contain_text("This device keeps today’s and tomorrow’s stops")
        expect(told).to_contain_text("For anything else, come back here once there is a signal.")
        expect(app.get_by_text("7 Tar Lane")).to_be_visible()
    clean(app)


# ------------------------------------------------------------------------------------------------- one key in two stores


@pytest.mark.on_postgres
@pytest.mark.parametrize("changed", [False, True], ids=["as it was", "changed there"])
def test_the_same_draft_on_two_devices(changed, open_phone, log_in, units, visit):  # noqa: F811
    """As after a phone's backup was put on a new phone: one key in two stores."""
    first, second = (open_phone().new_page() for _ in range(2))
    log_in(first, "technician")
    first.goto(where(visit))
    write(first, units)
    first.context.set_offline(True)
    save(first)
    expect(first.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    (item,) = outbox(first)
    log_in(second, "technician")
    second.goto("/terms")
    if changed:
        item["fields"]["notes"] = "Other words."
    second.context.set_offline(True)  # or it might send its own before the first does
    second.evaluate("(item) => Store.put('outbox', item)", item)
    first.context.set_offline(False)
    expect(first.locator(".unsent")).to_be_hidden()
    second.context.set_offline(False)
    flush(second)
    assert states(second) == ["refused" if changed else "sent"]
    assert [one.notes for one in models.WriteUp.objects.all()] == ["All ran well."]
    if changed:  # nothing of it is lost
        (kept,) = outbox(second)
        assert kept["fields"]["notes"] == "Other words."
        assert kept["why"]
