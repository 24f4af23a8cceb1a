"""What is typed in a form is not lost: Back, a look-up in between, a reload, a login, two tabs, a refused save, another person."""

import io
import json
import re

import pytest
from django.contrib.sessions.models import Session
from PIL import Image
from playwright.sync_api import Page, expect

from fleet import models
from tests import company
from tests.browser.test_store import REFUSE
from tests.browser.waiting import until, when

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def picture(red: int) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (40, 30), (red, 120, 130)).save(file, "PNG")
    return file.getvalue()


BEGAN = "You began this on"
BACK = "Bring it back"


@pytest.fixture
def site(live) -> models.Site:
    company.on_file()
    unit = company.unit("SB-1002", room="Den", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return unit.system.site


@pytest.fixture
def contacts(desk: Page, site, log_in) -> Page:
    """The form of a contact at a desk, somebody of the office before it."""
    log_in(desk, "office")
    desk.goto(f"/sites/{site.pk}/contacts")
    return desk


def write(page: Page, name: str = "Ida Moss", reach: str = "knock loudly") -> None:
    page.locator("#id_name").press_sequentially(name)
    page.get_by_label("When and how to reach them").press_sequentially(reach)
    kept(page, reach)


def stored(page: Page) -> str:
    """All that the browser has of anybody's drafts of forms; the phone keeps what it draws beside them."""
    return page.evaluate(
        "async () => { const all = []; await Store.each('drafts', (it) => { if (it.rev) all.push(it); });"
        " return JSON.stringify(all); }"
    )


NONE_LEFT = "async () => !(await Store.keys('drafts')).some((key) => key.includes('|/'))"


def kept(page: Page, word: str) -> None:
    """Wait until a word is in the store."""
    until(
        page,
        """async (word) => { let there = false;
        await Store.each('drafts', (it) => { there ||= JSON.stringify(it).includes(word); }); return there; }""",
        word,
    )


def empty(page: Page) -> None:
    """Wait until the store has no drafts and no files of any."""
    until(page, NONE_LEFT)
    until(page, "async () => !(await Store.keys('photos', 'draft|')).length")


def bring_back(page: Page, name: str = "Ida Moss", reach: str = "knock loudly") -> None:
    expect(page.locator(".draft")).to_contain_text(BEGAN)
    expect(page.locator(".draft")).to_contain_text(f"and have not saved it: {name}, {reach}.")
    page.get_by_role("button", name=BACK).click()
    expect(page.locator("#id_name")).to_have_value(name)
    expect(page.get_by_label("When and how to reach them")).to_have_value(reach)
    expect(page.locator(".draft")).to_have_count(0)
    expect(page.locator("#told")).to_have_text("What you typed is back. It is not saved yet.")


def log_in_by_hand(page: Page, name: str = "office") -> None:
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill("quiet-ledger-9")
    page.get_by_role("button", name="Log in").click()


def test_a_look_up_in_between_a_reload_and_back_lose_nothing_and_a_save_ends_it(contacts: Page, site):
    write(contacts)
    here = contacts.url
    contacts.get_by_label("Look-up").fill("SB-1002")
    contacts.locator("#found a").first.click()
    expect(contacts).not_to_have_url(here)
    contacts.goto(here)
    bring_back(contacts)
    for again in (contacts.reload, lambda: (contacts.goto("/terms"), contacts.go_back())):
        again()
        until(contacts, "() => Boolean(document.querySelector('#id_name').value || document.querySelector('.draft'))")
        if contacts.locator("#id_name").input_value() == "":  # else the browser filled it again by itself
            bring_back(contacts)
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator(".people")).to_contain_text("Ida Moss")
    empty(contacts)
    contacts.reload()
    expect(contacts.locator(".draft")).to_have_count(0)
    assert models.Contact.objects.get().name == "Ida Moss"


def test_a_refused_save_keeps_the_draft_and_the_next_one_that_goes_through_ends_it(contacts: Page, site):
    contacts.get_by_label("When and how to reach them").press_sequentially("knock loudly")
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator(".fault").first).to_be_visible()
    assert len(json.loads(stored(contacts))) == 1
    contacts.goto(f"/sites/{site.pk}/contacts")
    expect(contacts.locator(".draft")).to_contain_text("knock loudly")
    contacts.get_by_role("button", name=BACK).click()
    contacts.get_by_role("button", name="Add this contact").click()
    contacts.locator("#id_name").fill("Ida Moss")
    kept(contacts, "Ida Moss")
    assert len(json.loads(stored(contacts))) == 1
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator(".people")).to_contain_text("knock loudly")
    empty(contacts)


def test_after_a_session_that_ended_somebody_logs_in_and_goes_on(contacts: Page, site):
    here = contacts.url
    write(contacts)
    Session.objects.all().delete()
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts).to_have_url(re.compile("/login"))
    assert not models.Contact.objects.exists()
    log_in_by_hand(contacts)
    expect(contacts).to_have_url(here)
    bring_back(contacts)
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator(".people")).to_contain_text("Ida Moss")
    empty(contacts)


def test_after_a_refused_save_and_a_session_that_ended_the_way_leads_to_the_page_of_the_form(contacts: Page, site):
    here = contacts.url
    contacts.get_by_label("When and how to reach them").press_sequentially("knock loudly")
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts).to_have_url(re.compile("/contacts/add"))
    contacts.locator("#id_name").fill("Ida Moss")
    kept(contacts, "Ida Moss")
    Session.objects.all().delete()
    contacts.get_by_role("button", name="Add this contact").click()
    log_in_by_hand(contacts)
    expect(contacts).to_have_url(here)
    bring_back(contacts)


def test_a_form_from_before_a_new_login_leads_back_to_itself(contacts: Page, site):
    here = contacts.url
    write(contacts)
    Session.objects.all().delete()
    other = contacts.context.new_page()
    other.goto("/login")
    log_in_by_hand(other)
    expect(other).not_to_have_url(re.compile("/login"))
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator("h1")).to_have_text("Please send it again")
    contacts.get_by_role("link", name="go back to the form").click()
    expect(contacts).to_have_url(here)
    bring_back(contacts)


def test_two_tabs_write_drafts_of_their_own(contacts: Page, site):
    write(contacts)
    other = contacts.context.new_page()
    other.goto(contacts.url)
    expect(other.locator(".draft")).to_have_count(1)
    write(other, "Odd Berg", "ring twice")
    contacts.locator("#id_name").press("End")
    contacts.locator("#id_name").press_sequentially(" the elder")
    kept(contacts, "Ida Moss the elder")
    assert len(json.loads(stored(contacts))) == 2
    # The same draft in both: what differs is kept twice.
    other.get_by_role("button", name=BACK).click()
    expect(other.locator("#id_name")).to_have_value("Ida Moss the elder")
    expect(other.locator(".draft")).to_contain_text("Odd Berg")
    other.locator("#id_name").fill("Ida in the other tab")
    kept(other, "Ida in the other tab")
    contacts.locator("#id_name").fill("Ida in the first tab")
    kept(contacts, "Ida in the first tab")
    names = {dict(item["seen"])["name"] for item in json.loads(stored(contacts))}
    assert names == {"Odd Berg", "Ida in the other tab", "Ida in the first tab"}
    # A save in one leaves those of the other.
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator(".people")).to_contain_text("Ida in the first tab")
    until(contacts, "async () => (await Store.keys('drafts')).filter((key) => key.includes('|/')).length === 2")
    expect(contacts.locator(".draft")).to_have_count(2)


def test_nobody_is_shown_what_somebody_else_began(contacts: Page, site):
    here = contacts.url
    write(contacts)
    contacts.get_by_role("button", name="Log out").click()
    company.person("owner")
    log_in_by_hand(contacts, "owner")
    contacts.goto(here)
    expect(contacts.locator("#id_name")).to_have_value("")
    contacts.locator("#id_name").press_sequentially("Of the owner")
    kept(contacts, "Of the owner")
    expect(contacts.locator(".draft")).to_have_count(0)
    contacts.get_by_role("button", name="Add this contact").click()
    expect(contacts.locator(".people")).to_contain_text("Of the owner")
    contacts.get_by_role("button", name="Log out").click()
    expect(contacts.locator("main")).not_to_contain_text("Ida")
    log_in_by_hand(contacts)
    contacts.goto(here)
    bring_back(contacts)


def test_thrown_away_or_taken_out_again_it_is_gone_unless_somebody_undoes_it(contacts: Page, site):
    contacts.locator("#id_name").press_sequentially("Ida")
    kept(contacts, "Ida")
    contacts.locator("#id_name").fill("")
    empty(contacts)
    write(contacts)
    contacts.reload()
    contacts.goto("/terms")
    contacts.goto(f"/sites/{site.pk}/contacts")
    contacts.get_by_role("button", name="Throw it away").click()
    expect(contacts.locator(".draft")).to_contain_text("Thrown away.")
    contacts.get_by_role("button", name="Undo").click()
    expect(contacts.locator(".draft")).to_contain_text("Ida Moss")
    contacts.get_by_role("button", name="Throw it away").click()
    expect(contacts.locator(".draft")).to_contain_text("Thrown away.")
    contacts.goto("/terms")
    contacts.goto(f"/sites/{site.pk}/contacts")
    expect(contacts.locator("#id_name")).to_have_value("")
    expect(contacts.locator(".draft")).to_have_count(0)


def test_old_drafts_are_given_up_whoever_wrote_them(contacts: Page, site):
    contacts.evaluate(
        """async () => {
            const ago = (days) => Date.now() - days * 86400000;
            const item = (id, at) => ({ key: `9|/x|${id}`, schema: 1, rev: 1, at, begun: at, page: "/x", words: "", seen: [], hidden: [] });
            await Store.put("drafts", item("old", ago(31)));
            await Store.put("drafts", item("new", ago(29)));
            await Store.put("photos", { key: "draft|old|photos|0000", schema: 1 });
            await Store.put("photos", { key: "draft|new|photos|0000", schema: 1 });
            await Store.put("photos", { key: "of something else", schema: 1 });
        }"""
    )
    contacts.reload()
    until(contacts, "async () => (await Store.keys('photos')).length === 2")
    assert contacts.evaluate("() => Store.keys('drafts', '9|')") == ["9|/x|new"]
    assert contacts.evaluate("() => Store.keys('photos')") == ["draft|new|photos|0000", "of something else"]


def test_no_password_is_ever_in_the_store(desk: Page, site, log_in):
    log_in(desk, "owner")
    for address in ("/password", "/backup"):
        desk.goto(address)
        for field in desk.locator("main input[type=password]").all():
            field.press_sequentially("hidden-word-9")
        field.press("Tab")
    desk.goto("/people/add")
    desk.get_by_label("Username").press_sequentially("wynn")
    kept(desk, "wynn")
    assert "hidden-word-9" not in stored(desk)
    assert "csrfmiddlewaretoken" not in stored(desk)


def test_chosen_files_of_a_refused_save_are_still_chosen(desk: Page, site, log_in):
    log_in(desk, "office")
    unit = models.Unit.objects.get()
    desk.goto(f"/units/{unit.pk}/failure")
    photos = [
        {"name": name, "mimeType": "image/png", "buffer": picture(red)}
        for name, red in (("coil.png", 9), ("plate.png", 99))
    ]
    desk.get_by_label("Photos").set_input_files(photos)
    until(desk, "async () => (await Store.keys('photos', 'draft|')).length === 2")
    desk.locator("#id_failed_on").fill("2999-01-01")
    desk.get_by_role("button", name="Record the failure").click()
    expect(desk.locator(".fault").first).to_be_visible()
    expect(desk.locator("form .draft")).to_have_text("Still chosen: coil.png, plate.png.")
    desk.goto("/terms")
    desk.goto(f"/units/{unit.pk}/failure")
    desk.get_by_role("button", name=BACK).click()
    expect(desk.locator("form .draft")).to_have_text("Still chosen: coil.png, plate.png.")
    desk.locator("#id_failed_on").fill("2022-01-01")
    desk.get_by_role("button", name="Record the failure").click()
    expect(desk.locator("h1")).to_contain_text("failed on January 1, 2022")
    assert models.Failure.objects.count() == 1
    assert models.Document.objects.count() == 2
    empty(desk)


def test_a_save_whose_answer_was_lost_is_recorded_once(desk: Page, site, log_in):
    log_in(desk, "office")
    desk.goto(f"/calls/new?site={site.pk}")
    desk.get_by_label("Who is calling").press_sequentially("Ida")
    desk.get_by_label("What is wrong").select_option("water")
    desk.get_by_label("In their words").press_sequentially("it drips")
    kept(desk, "it drips")

    lost = []

    def lose(route):
        if route.request.method == "POST":
            route.fetch(max_redirects=0)
            route.abort()
            lost.append(route)
        else:
            route.continue_()

    desk.route("**/calls/new**", lose)
    desk.get_by_role("button", name="Note this call").click()
    when(desk, lambda: lost)
    desk.unroute("**/calls/new**")
    desk.context.clear_cookies(name=re.compile("^saved-"))  # which the fetch above took for the browser
    assert models.Call.objects.count() == 1
    desk.goto(f"/calls/new?site={site.pk}")
    desk.get_by_role("button", name=BACK).click()
    desk.get_by_role("button", name="Note this call").click()
    expect(desk).to_have_url(re.compile(r"/calls/\d+$"))
    assert models.Call.objects.count() == 1
    empty(desk)


def test_a_correction_that_is_brought_back_does_not_write_over_another(desk: Page, site, log_in):
    log_in(desk, "office")
    unit = models.Unit.objects.get()
    desk.goto(f"/units/{unit.pk}/correct")
    desk.get_by_label("Room").fill("Library")
    kept(desk, "Library")
    desk.goto("/terms")
    models.Unit.objects.update(room="Loft")
    desk.goto(f"/units/{unit.pk}/correct")
    expect(desk.get_by_label("Room")).to_have_value("Loft")
    desk.get_by_role("button", name=BACK).click()
    expect(desk.get_by_label("Room")).to_have_value("Library")
    desk.get_by_role("button", name="Save", exact=True).click()
    expect(desk.locator("#id_room_error")).to_contain_text("Loft")
    assert models.Unit.objects.get().room == "Loft"


def test_a_form_in_a_list_that_htmx_brought_has_a_draft(desk: Page, site, log_in):
    models.Unit.objects.update(serial="")
    company.unit("", room="Den", customer="Brit Vale", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    log_in(desk, "office")
    desk.goto("/missing-information")
    with desk.expect_response(lambda response: "text=brit" in response.url):
        desk.get_by_label(re.compile("customer", re.I)).first.press_sequentially("brit")
    expect(desk.locator(".fill [name=value]")).not_to_have_count(0)
    here = desk.url
    field = desk.locator("form.fill input[name=value][type=text], form.fill input[name=value]:not([type])").first
    field.press_sequentially("XQ-77")
    kept(desk, "XQ-77")
    desk.goto(here)
    desk.get_by_role("button", name=BACK).click()
    expect(desk.locator("form.fill input[name=value]").first).to_have_value("XQ-77")


def test_where_nothing_is_kept_that_is_said_and_the_form_works(contacts: Page, site):
    for number, why in enumerate(sorted(REFUSE)):
        contacts.goto(f"/sites/{site.pk}/contacts")
        contacts.evaluate(REFUSE[why])
        expect(contacts.locator(".draft")).to_have_count(0)
        contacts.locator("#id_name").press_sequentially(f"Ida {number}")
        expect(contacts.locator(".draft.unkept")).to_contain_text("only on this page until you save it")
        contacts.get_by_role("button", name="Add this contact").click()
        expect(contacts.locator(".people")).to_contain_text(f"Ida {number}")


def test_nobody_is_shut_out(desk: Page, site, log_in, seen):
    page = desk
    log_in(page, "office")
    page.goto(f"/sites/{site.pk}/contacts")
    write(page)
    page.goto("/terms")
    page.goto(f"/sites/{site.pk}/contacts")
    expect(page.locator(".draft")).to_contain_text(BEGAN)
    seen(page, thumbs=".draft button")
    page.get_by_role("button", name="Throw it away").press("Enter")
    expect(page.get_by_role("button", name="Undo")).to_be_focused()
    page.keyboard.press("Enter")
    page.get_by_role("button", name=BACK).press("Enter")
    expect(page.locator("#id_name")).to_be_focused()
