"""A write-up on a phone, with a signal and without: typed once, kept whatever happens, on file exactly once.

Each test is a line of the table of faults in DEVELOPERS.md; those that the database decides run on PostgreSQL too.
"""

import contextlib
import datetime as dt
import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Browser, BrowserContext, Error, Page, Route, expect

from fleet import clock, models
from fleet.care.actions import bookings
from fleet.care.views import phone as phone_views
from fleet.rules.dates import add_months
from tests import company, stops
from tests.browser.waiting import unfold

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ALL_SENT = "async () => (await Outbox.items()).every((item) => item.state === 'sent')"
WIDTH = {"width": 360, "height": 740}
# A photo of its own color, made in the browser, since a test needs no camera.
PHOTO = """async ([color, edge]) => {
    const canvas = document.createElement("canvas");
    canvas.width = edge; canvas.height = edge / 2;
    const pen = canvas.getContext("2d");
    pen.fillStyle = color; pen.fillRect(0, 0, edge, edge);
    const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
    return [...new Uint8Array(await blob.arrayBuffer())];
}"""


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def units(live) -> list[models.Unit]:
    today = clock.today()
    return stops.house(2, began=add_months(today, -12).isoformat(), on=today)


@pytest.fixture
def visit(units) -> models.Booking:
    return booked(units)


def booked(units, *, day: dt.date | None = None, **named) -> models.Booking:
    tech = models.User.objects.filter(username="technician").first() or company.person("technician", first_name="Wynn")
    tasks = [(unit.pk, "coil") for unit in units[:-1]]
    site = units[0].system.site_id
    return bookings.book(
        site,
        tasks,
        day=day or clock.today(),
        technician=tech.pk,
        why="As asked",
        by=None,
        on=clock.today(),
        **named,
    )


@pytest.fixture
def open_phone(chromium: Browser, live) -> Iterator[Callable[..., BrowserContext]]:
    """Make a phone; `worker=True` lets it keep the app for no signal."""
    made: list[BrowserContext] = []
    faults: list[str] = []

    def open_phone(*, worker: bool = False) -> BrowserContext:
        context = chromium.new_context(
            base_url=live.url, viewport=WIDTH, service_workers="allow" if worker else "block"
        )
        context.set_default_timeout(20_000)
        context.on("weberror", lambda error: faults.append(f"script error: {error.error}"))
        context.on("console", lambda line: faults.append(line.text) if "Content Security Policy" in line.text else None)
        made.append(context)
        return context

    yield open_phone
    for context in made:
        context.close()
    assert faults == []


@pytest.fixture
def phone(open_phone, log_in) -> Page:
    """A technician's phone, without the app for no signal."""
    page = open_phone().new_page()
    log_in(page, "technician")
    return page


@pytest.fixture
def app(open_phone, log_in, visit) -> Page:
    """A technician's phone that has opened today's stops once, and keeps them."""
    page = open_phone(worker=True).new_page()
    log_in(page, "technician")
    page.goto("/todays-stops")
    keeps(page)
    return page


def until(page: Page, asked: str) -> None:
    """Ask until the answer is yes; Playwright's own waiting takes a promise for a yes."""
    for _ in range(200):
        with contextlib.suppress(Error):  # the page is just being loaded anew
            if page.evaluate(asked):
                return
        page.wait_for_timeout(100)
    pytest.fail(f"never: {asked}")


def keeps(page: Page) -> None:
    """Wait until the app and the stops are kept."""
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    until(page, "async () => (await Store.get('kept', 'phone|kept|stops')) !== undefined")


def where(visit: models.Booking) -> str:
    return f"/sites/{visit.site_id}/write-up?booking={visit.pk}"


def write(page: Page, units: list[models.Unit], notes: str = "All ran well.") -> None:
    until(page, "async () => { await WriteUp.ready; return true; }")
    unfold(page, "Room 1").get_by_label("Clean the coil", exact=False).first.check()
    page.get_by_label("Notes on the visit").fill(notes)


def save(page: Page) -> None:
    page.get_by_role("button", name="Record the write-up").click()


def photos(page: Page, *colors: str, edge: int = 40) -> None:
    files = [
        {"name": f"{color}.png", "mimeType": "image/png", "buffer": bytes(page.evaluate(PHOTO, [color, edge]))}
        for color in colors
    ]
    page.get_by_label("Photos", exact=True).set_input_files(files)
    expect(page.locator(".photos_chosen li")).to_have_count(len(colors), timeout=60_000)


def outbox(page: Page) -> list[dict[str, Any]]:
    return page.evaluate("() => Outbox.items()")


def states(page: Page) -> list[str]:
    return [item["state"] for item in outbox(page)]


def flush(page: Page) -> None:
    page.evaluate("() => Outbox.flush()")


def on_file(notes: str = "All ran well.") -> models.WriteUp:
    """The one write-up that is on file, with all that it said."""
    made = models.WriteUp.objects.get()
    assert (made.notes, made.on, made.by.username) == (notes, clock.today(), "technician")
    assert made.records.filter(task="coil", skipped=False).count() == 1
    return made


# ------------------------------------------------------------------------------------------------- the ordinary way


def test_sent_at_once_with_a_signal_and_its_photos_with_it(phone: Page, units, visit, clean):
    phone.goto(where(visit))
    write(phone, units)
    photos(phone, "red", edge=3000)
    of_head = phone.get_by_label("Photos of Room 1")
    of_head.set_input_files(
        {"name": "head.png", "mimeType": "image/png", "buffer": bytes(phone.evaluate(PHOTO, ["blue", 50]))}
    )
    expect(phone.locator(".photos_chosen li")).to_have_count(2)
    clean(phone)
    save(phone)
    expect(phone.locator(".lead")).to_have_text("1 task done.")
    expect(phone.get_by_text("2 of 2 photos arrived")).to_be_visible()
    made = on_file()
    assert made.booking == visit
    whole = models.Document.objects.get(name="red.jpg")
    assert (whole.site, whole.write_up) == (made.site, made)
    assert models.Document.objects.get(name="head.jpg").unit == units[0]
    until(phone, ALL_SENT)
    assert outbox(phone)[0]["fields"] == {}
    assert phone.evaluate("() => Store.keys('photos')") == []


# ------------------------------------------------------------------------------------------------- faults of the line


def test_offline_while_saving_a_photo_is_made_smaller_and_all_of_it_waits(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    phone.context.set_offline(True)
    photos(phone, "red", edge=3000)
    size = phone.evaluate(
        """async () => {
            const [key] = await Store.keys("photos");
            const file = Store.fileOf(await Store.get("photos", key));
            const picture = await createImageBitmap(file);
            return [picture.width, picture.height, file.type];
        }"""
    )
    assert size == [2000, 1000, "image/jpeg"]
    phone.get_by_label("Photos", exact=True).set_input_files(
        {"name": "plate.heic", "mimeType": "image/heic", "buffer": b"no picture that is known here"}
    )
    expect(phone.get_by_text("Set the camera to JPEG")).to_be_visible()
    expect(phone.locator(".photos_chosen li")).to_have_count(1)
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    expect(phone.locator(".unsent")).to_contain_text("1 not sent (")
    assert states(phone) == ["waiting"]
    phone.context.set_offline(False)
    expect(phone.locator(".unsent")).to_be_hidden()
    on_file()
    assert models.Document.objects.count() == 1


@pytest.mark.on_postgres
@pytest.mark.parametrize("committed", [False, True], ids=["before the commit", "after the commit"])
def test_the_server_dies(committed, phone: Page, units, visit):
    """Before it was written nothing is on file; after it, the answer alone is lost. Sent again, it is there once."""
    phone.goto(where(visit))
    write(phone, units)

    def die(route: Route) -> None:
        if route.request.method == "POST" and committed:
            route.fetch()
        route.abort()

    phone.route("**/write-up*", die)
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    assert models.WriteUp.objects.count() == int(committed)
    phone.unroute("**/write-up*")
    # What may have arrived is not changed until it is known whether it did.
    phone.reload()
    flush(phone)
    assert states(phone) == ["sent"]
    on_file()


@pytest.mark.on_postgres
def test_a_break_among_the_photos_goes_on_where_it_stopped(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    photos(phone, "red", "green", "blue", "white")
    sent: list[str] = []

    def some(route: Route) -> None:
        if route.request.method == "POST":
            sent.append(route.request.url)
            if len(sent) == 3:
                route.fetch()  # it arrived, and the answer was lost
            if len(sent) >= 3:
                route.abort()
                return
        route.continue_()

    phone.route("**/phone/write-ups/**", some)
    save(phone)
    expect(phone.get_by_text("3 of 4 photos arrived")).to_be_visible()
    expect(phone.locator(".unsent")).to_contain_text("1 not sent")
    phone.unroute("**/phone/write-ups/**")
    counted: list[str] = []
    phone.on("request", lambda request: counted.append(request.url) if request.method == "POST" else None)
    flush(phone)
    assert len(counted) == 1
    assert models.Document.objects.count() == 4
    phone.reload()
    expect(phone.get_by_text("4 of 4 photos arrived")).to_be_visible()


# ------------------------------------------------------------------------------------------------- logins


@pytest.mark.on_postgres
def test_an_answer_that_is_no_answer_costs_nothing_and_the_session_is_gone(phone: Page, units, visit, log_in):
    """A page of a login or of a hotel's network, with status 200, is not taken for success."""
    phone.goto(where(visit))
    write(phone, units)
    page = "<!doctype html><title>Welcome</title>"
    phone.route("**/write-up*", lambda route: route.fulfill(status=200, content_type="text/html", body=page))
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    assert states(phone) == ["waiting"]
    phone.unroute("**/write-up*")
    Session.objects.all().delete()
    flush(phone)
    expect(phone.get_by_text("Log in to send what is waiting.").first).to_be_visible()
    assert states(phone) == ["waiting"]
    log_in(phone, "technician")
    flush(phone)
    on_file()


def test_the_token_was_rotated_and_with_nothing_unsent_a_logout_asks_nothing(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    phone.context.clear_cookies(name="csrftoken")
    save(phone)
    expect(phone.locator(".lead")).to_have_text("1 task done.")
    on_file()
    phone.get_by_role("button", name="Log out").click()
    expect(phone.get_by_label("Username")).to_be_visible()


@pytest.mark.on_postgres
def test_another_person_on_the_same_phone_neither_sees_nor_sends_it(phone: Page, units, visit, log_in):
    phone.goto(where(visit))
    write(phone, units, "Private words")
    phone.context.set_offline(True)
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    phone.context.set_offline(False)
    phone.context.clear_cookies()
    log_in(phone, "office")
    phone.goto(where(visit))
    expect(phone.locator(".unsent")).to_be_hidden()
    until(phone, "async () => { await WriteUp.ready; return true; }")
    expect(phone.get_by_label("Notes on the visit")).to_have_value("")
    phone.goto("/phone")
    expect(phone.get_by_text("1 more waits here from another login")).to_be_visible()
    assert "Private words" not in phone.content()
    assert "Odile" not in phone.locator("#unsent_items").inner_text()
    flush(phone)
    assert models.WriteUp.objects.count() == 0
    phone.context.clear_cookies()
    log_in(phone, "technician")
    phone.goto("/todays-stops")
    expect(phone.locator(".unsent")).to_be_hidden()
    until(phone, ALL_SENT)
    on_file("Private words")


def test_the_role_was_changed_meanwhile(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    models.User.objects.filter(username="technician").update(role="")
    save(phone)
    expect(
        phone.get_by_text("Saved on this device, not sent yet.").or_(phone.get_by_text("Not recorded."))
    ).to_be_visible()
    models.User.objects.filter(username="technician").update(role="technician")
    assert outbox(phone)[0]["fields"]["notes"] == "All ran well."
    phone.goto(where(visit))
    until(phone, "async () => { await WriteUp.ready; return true; }")
    if phone.get_by_role("button", name="Record the write-up").is_enabled():
        save(phone)
    flush(phone)
    until(phone, ALL_SENT)
    on_file()


# ------------------------------------------------------------------------------------------------- the page


@pytest.mark.on_postgres
def test_two_tabs_send_each_item_once(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    other = phone.context.new_page()
    other.goto("/terms")
    posted: list[str] = []
    phone.context.on(
        "request",
        lambda request: posted.append(request.url) if request.method == "POST" and "/write-up" in request.url else None,
    )
    phone.context.set_offline(True)
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    expect(other.locator(".unsent")).to_contain_text("1 not sent")
    posted.clear()
    phone.context.set_offline(False)
    for page in (phone, other):
        page.evaluate("() => { Outbox.flush(); }")
    expect(other.locator(".unsent")).to_be_hidden()
    flush(other)
    assert len(posted) == 1
    on_file()


def test_back_after_success_records_nothing_twice(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    save(phone)
    expect(phone.locator(".lead")).to_have_text("1 task done.")
    phone.go_back()
    expect(phone.get_by_text("You sent a write-up of this stop from this device")).to_be_visible()
    expect(phone.get_by_label("Notes on the visit")).to_have_value("")
    write(phone, units)
    save(phone)
    expect(phone.get_by_text("You already wrote up this visit on").first).to_be_visible()
    expect(phone.get_by_label("It is right as entered")).not_to_be_checked()
    on_file()


def test_the_page_is_discarded_while_a_photo_is_chosen(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    # No waiting for the pause after typing: what is there is kept before the camera opens.
    with phone.expect_file_chooser():
        phone.get_by_label("Photos", exact=True).click()
    context = phone.context
    phone.close()
    again = context.new_page()
    again.goto(where(visit))
    expect(again.get_by_text("What you wrote here until")).to_be_visible()
    expect(again.get_by_label("Notes on the visit")).to_have_value("All ran well.")
    save(again)
    expect(again.locator(".lead")).to_have_text("1 task done.")
    on_file()


def test_the_browser_was_restarted(chromium: Browser, chromium_program, live, log_in, units, visit, tmp_path):
    def start() -> BrowserContext:
        return chromium.browser_type.launch_persistent_context(
            tmp_path / "profile",
            executable_path=chromium_program,
            args=["--no-sandbox", "--disable-gpu"],
            base_url=live.url,
            viewport=WIDTH,
            service_workers="block",
        )

    context = start()
    page = context.new_page()
    log_in(page, "technician")
    page.goto(where(visit))
    write(page, units)
    photos(page, "red")
    context.set_offline(True)
    save(page)
    expect(page.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    context.close()
    context = start()
    page = context.new_page()
    log_in(page, "technician")
    page.goto("/terms")
    until(page, ALL_SENT)
    context.close()
    on_file()
    assert models.Document.objects.count() == 1


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (
            """IDBObjectStore.prototype.put = function () { throw new DOMException("full", "QuotaExceededError"); };""",
            "This device is full",
        ),
        (
            """IDBFactory.prototype.open = function () { throw new DOMException("no", "SecurityError"); };""",
            "This browser keeps nothing for this page",
        ),
    ],
    ids=["full", "refused"],
)
def test_the_store_is_refused_or_full(fault, told, open_phone, log_in, units, visit):
    page = open_phone().new_page()
    page.add_init_script(fault)
    log_in(page, "technician")
    page.goto(where(visit))
    write(page, units)
    expect(page.get_by_text(told)).to_be_visible()
    save(page)
    expect(page.locator(".lead")).to_have_text("1 task done.")
    on_file()


def test_sixty_photos_wait_and_arrive(phone: Page, units, visit):
    phone.goto(where(visit))
    write(phone, units)
    phone.context.set_offline(True)
    photos(phone, *(f"#{number:02x}{number * 3:02x}40" for number in range(1, 61)))
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    phone.context.set_offline(False)
    flush(phone)
    expect(phone.locator(".unsent")).to_be_hidden(timeout=120_000)
    made = on_file()
    assert models.Document.objects.filter(write_up=made).count() == 60


@pytest.mark.parametrize("days", [-1, 1])
def test_the_clock_is_a_day_off(days, open_phone, log_in, units, visit):
    page = open_phone().new_page()
    page.add_init_script(
        f"""const Right = Date;
        Date = class extends Right {{
            constructor(...said) {{ said.length ? super(...said) : super(Right.now() + {days} * 86400000); }}
            static now() {{ return Right.now() + {days} * 86400000; }}
        }};"""
    )
    log_in(page, "technician")
    page.goto(where(visit))
    write(page, units)
    save(page)
    expect(page.locator(".lead")).to_have_text("1 task done.")
    expect(page.get_by_text("24 h fast" if days > 0 else "24 h slow")).to_be_visible()
    made = on_file()
    assert abs(clock.now() - made.captured_at) < dt.timedelta(minutes=2)


def test_what_the_server_refuses_opens_again_at_the_fault(phone: Page, units, visit, clean):
    phone.goto(where(visit))
    write(phone, units)
    outdoor = units[-1]
    line = phone.locator(f"#unit-{outdoor.pk} details.line")
    line.locator("summary").first.click()
    line.get_by_label("Amps", exact=False).first.fill("900")
    phone.context.set_offline(True)
    save(phone)
    expect(phone.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    phone.context.set_offline(False)
    expect(phone.locator(".unsent")).to_contain_text("1 to look at")
    phone.get_by_role("link", name="See what is not sent").first.click()
    expect(phone.get_by_text("Not taken, to look at")).to_be_visible()
    with phone.expect_download() as file:
        phone.get_by_role("button", name="Save as a file").click()
    assert json.loads(file.value.path().read_text())["fields"]["notes"] == "All ran well."
    # Only what was saved as a file can be put away.
    expect(phone.get_by_role("button", name="Remove from this device, it is saved as a file")).to_be_visible()
    phone.get_by_role("link", name="Open and correct").click()
    field = line.get_by_label("Amps", exact=False).first
    expect(line).to_have_attribute("open", "")
    expect(field).to_be_focused()
    expect(field).to_have_accessible_description(re.compile("900"))
    expect(field).to_have_value("900")
    expect(field).to_have_attribute("aria-invalid", "true")
    clean(phone)
    field.fill("9")
    save(phone)
    expect(phone.locator(".lead")).to_have_text("1 task done.")
    on_file()


@pytest.mark.on_postgres
def test_one_stop_on_two_devices(open_phone, log_in, units, visit):
    pages = []
    for _ in range(2):
        page = open_phone().new_page()
        log_in(page, "technician")
        page.goto(where(visit))
        pages.append(page)
    first, second = pages
    write(first, units)
    save(first)
    expect(first.locator(".lead")).to_have_text("1 task done.")
    write(second, units, "More was done.")
    save(second)
    expect(second.get_by_text("You already wrote up this visit on").first).to_be_visible()
    assert models.WriteUp.objects.count() == 1
    second.get_by_label("It is right as entered").check()
    save(second)
    expect(second.locator(".lead")).to_have_text("1 task done.")
    assert models.WriteUp.objects.count() == 2


def test_something_of_a_later_release_is_left_alone(phone: Page, units, visit):
    phone.goto("/terms")
    phone.evaluate(
        """(person) => Store.put("outbox", { key: "write-up|x", schema: 99, id: "x", person, state: "waiting",
            begun: 1, photos: [], fields: {} })""",
        models.User.objects.get(username="technician").pk,
    )
    flush(phone)
    assert states(phone) == ["waiting"]


def test_a_store_of_an_earlier_release_is_carried_on(open_phone, log_in, units, visit):
    """A store without the place that came later: what waits in it is sent all the same."""
    page = open_phone().new_page()
    log_in(page, "technician")
    page.goto("/manifest.webmanifest")
    told = {
        "person": models.User.objects.get(username="technician").pk,
        "site": visit.site_id,
        "day": clock.today().isoformat(),
    }
    page.evaluate(
        """({ person, site, day }) => new Promise((done, failed) => {
            const request = indexedDB.open("fleet", 1);
            request.onupgradeneeded = () => {
                for (const place of ["drafts", "outbox", "photos"]) request.result.createObjectStore(place, { keyPath: "key" });
            };
            request.onsuccess = () => {
                const id = crypto.randomUUID();
                const fields = { key: id, booking: "", day, technician: "Wynn", notes: "Before the change" };
                const writing = request.result.transaction("outbox", "readwrite");
                writing.objectStore("outbox").put({ key: `write-up|${id}`, schema: 1, id, person, site, booking: "", title: "A stop",
                    state: "waiting", why: "", faults: {}, fields, photos: [], begun: 1, changed: 1, captured_at: "", tries: 0 });
                writing.oncomplete = () => { request.result.close(); done(); };
            };
            request.onerror = failed;
        })""",
        told,
    )
    page.goto("/terms")
    until(page, ALL_SENT)
    assert models.WriteUp.objects.get().notes == "Before the change"


def test_plain_http_says_that_it_cannot(open_phone, log_in, units, visit):
    page = open_phone().new_page()
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false });")
    log_in(page, "technician")
    page.goto(where(visit))
    expect(page.get_by_text("begins with http://")).to_be_visible()
    unfold(page, "Room 1").get_by_label("Clean the coil", exact=False).first.check()
    page.get_by_label("Notes on the visit").fill("All ran well.")
    save(page)
    expect(page.locator(".lead")).to_have_text("1 task done.")
    on_file()


# ------------------------------------------------------------------------------------------------- no signal


def test_offline_before_the_page_is_opened(app: Page, units, visit, clean):
    app.context.set_offline(True)
    app.goto("/todays-stops")
    expect(app.get_by_text("Stops of Wynn")).to_contain_text("1 stop today")
    expect(app.get_by_text("7 Tar Lane")).to_be_visible()
    expect(app.get_by_role("link", name="Map")).to_have_attribute("href", "geo:0,0?q=7%20Tar%20Lane")
    clean(app)
    app.get_by_role("link", name="Write up this stop").click()
    write(app, units)
    photos(app, "red")
    clean(app)
    assert app.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    save(app)
    expect(app.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    # Another page is opened, the tab is lost, and the phone comes back without a signal still.
    app.goto("/terms")
    expect(app.locator("#told")).to_contain_text("this page needs it")
    expect(app.get_by_role("heading", name="1 not sent")).to_be_visible()
    app.context.set_offline(False)
    expect(app.get_by_role("heading", name="Everything was sent")).to_be_visible()
    made = on_file()
    assert made.booking == visit
    assert models.Document.objects.count() == 1


def test_work_that_was_not_booked_without_a_signal_leaves_the_visit_alone(app: Page, units, visit):
    app.context.set_offline(True)
    app.goto("/phone")
    expect(app.locator("#stops")).to_contain_text("Any other site needs a signal.")
    app.get_by_role("link", name="Write up a stop at").click()
    expect(app.get_by_text("This stop was not booked.")).to_be_visible()
    write(app, units)
    save(app)
    expect(app.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    app.goto("/sites/999999/write-up")
    expect(app.locator("#told")).to_contain_text("its site is not among those kept on this device")
    app.context.set_offline(False)
    expect(app.get_by_role("heading", name="Everything was sent")).to_be_visible()
    assert on_file().booking is None
    visit.refresh_from_db()
    assert visit.state == "booked"


SITES_KEPT = "async () => (await Store.keys('kept', Outbox.SITES)).join()"


def test_a_site_that_was_opened_opens_again_without_a_signal(open_phone, log_in, units, clean):
    """Also from the page of one of its units, and for a write-up that nobody booked."""
    page = open_phone(worker=True).new_page()
    log_in(page, "technician")
    site = units[0].system.site_id
    page.goto(f"/units/{units[0].pk}")
    until(page, f"async () => (await Store.get('kept', `${{Outbox.SITES}}{site}`)) !== undefined")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.context.set_offline(True)
    for address in (f"/sites/{site}", f"/units/{units[1].pk}"):
        page.goto(address)
        expect(page.locator("#told")).to_have_text(
            "The server cannot be reached. This is what this device keeps of the site."
        )
        expect(page.get_by_text("7 Tar Lane")).to_be_visible()
    clean(page)
    page.get_by_role("link", name="All that this device keeps").click()
    expect(page.get_by_role("heading", name="Sites opened before")).to_be_visible()
    page.get_by_role("link", name="Write up a stop here").click()
    expect(page.get_by_text("This stop was not booked.")).to_be_visible()
    write(page, units)
    save(page)
    expect(page.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.locator(".unsent")).to_be_hidden()
    assert on_file().booking is None


def test_the_last_five_sites_are_kept_and_only_for_whoever_opened_them(phone: Page, units, log_in):
    site, me = units[0].system.site_id, models.User.objects.get(username="technician").pk
    phone.goto("/terms")
    phone.evaluate(
        """async (person) => {
            for (const at of [3, 1, 2, 5, 4]) await Store.put("kept", { key: `${Outbox.SITES}9${at}`, schema: 1, person, at, stops: [] });
        }""",
        me,
    )
    phone.goto(f"/sites/{site}/write-up")
    until(phone, f"async () => (await Store.keys('kept', Outbox.SITES)).some((key) => key.endsWith('|{site}'))")
    until(phone, "async () => (await Store.keys('kept', Outbox.SITES)).length === 5")
    assert "|91" not in phone.evaluate(SITES_KEPT)
    assert phone.evaluate("async (me) => (await Stops.kept(me)).sites.length", me) == 5
    assert phone.evaluate("async (me) => (await Stops.kept(me)).sites.length", me + 1) == 0
    # Packed, a site takes a tenth of what its card and form are.
    assert phone.evaluate(
        """async ([me, site]) => {
            const [whole] = (await Stops.kept(me)).sites[0].stops;
            return (await Store.get("kept", Outbox.SITES + site)).packed.byteLength * 5 < whole.form.length;
        }""",
        [me, site],
    )
    phone.context.clear_cookies()
    log_in(phone, "owner")
    phone.goto("/terms")
    until(phone, "async () => !(await Store.keys('kept', Outbox.SITES)).length")


def test_the_first_visit_keeps_the_app_and_nothing_of_a_customer_by_address(app: Page):
    kept = app.evaluate(
        """async () => {
            const told = [];
            for (const name of await caches.keys()) for (const request of await (await caches.open(name)).keys()) {
                told.push(await (await caches.match(request)).text());
            }
            return told.join();
        }"""
    )
    assert "Tenth Year" in kept
    assert not any(private in kept for private in ("Odile", "Tar Lane", "555-0100", "Wynn"))
    app.context.set_offline(True)
    app.goto("/phone")
    expect(app.get_by_text("Stops of Wynn")).to_be_visible()


def test_logging_out_removes_the_stops_and_keeps_what_is_not_sent(app: Page, units, visit, clean):
    app.goto(where(visit))
    until(app, "async () => (await Store.keys('kept', Outbox.SITES)).length === 1")
    write(app, units)
    app.route("**/write-up*", lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    save(app)
    expect(app.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    app.get_by_role("button", name="Log out").click()
    # Nothing is lost by it, but nobody is left to guess.
    said = app.get_by_role("region", name="Before you log out")
    expect(said).to_contain_text(
        "1 write-up is not sent yet. It stays on this device and goes when you log in here again."
    )
    expect(said).to_be_focused()
    clean(app)
    said.get_by_role("button", name="Stay logged in").click()
    expect(said).to_have_count(0)
    expect(app.get_by_role("button", name="Log out")).to_be_focused()
    app.get_by_role("button", name="Log out").click()
    app.get_by_role("button", name="Log out and keep it here").click()
    expect(app.get_by_label("Username")).to_be_visible()
    app.context.set_offline(True)
    app.goto("/todays-stops")
    expect(app.get_by_text("Nobody is logged in on this device.")).to_be_visible()
    expect(app.get_by_text("1 more waits here from another login")).to_be_visible()
    assert "Tar Lane" not in app.content()
    assert app.evaluate("() => Store.keys('kept')") == []
    assert states(app) == ["waiting"]


def test_what_was_begun_is_told_elsewhere_and_never_in_the_way(phone: Page, units, visit, clean):
    phone.goto(where(visit))
    write(phone, units)
    until(phone, "async () => (await Outbox.items()).some((item) => item.fields.notes === 'All ran well.')")
    # Whoever is writing it needs not be told; on every other page it is.
    expect(phone.locator(".unsent")).to_be_hidden()
    phone.goto("/terms")
    expect(phone.locator(".unsent")).to_contain_text(re.compile(r"^1 begun and not recorded, from \w+ \d+ at \d+:\d\d"))
    clean(phone)
    phone.get_by_role("link", name="See what was begun").click()
    expect(phone.get_by_role("heading", name="Everything was sent, 1 begun and not recorded")).to_be_visible()
    phone.goto("/terms")
    phone.get_by_role("button", name="Log out").click()
    said = phone.get_by_role("region", name="Before you log out")
    expect(said).to_contain_text("1 write-up is begun and not recorded. It stays on this device and opens again when")
    phone.goto(where(visit))
    until(phone, "async () => { await WriteUp.ready; return true; }")
    phone.context.set_offline(True)
    save(phone)
    expect(phone.locator(".unsent")).to_contain_text("1 not sent (")
    expect(phone.locator(".unsent")).not_to_contain_text("begun")
    phone.context.set_offline(False)
    expect(phone.locator(".unsent")).to_be_hidden()
    on_file()


def test_a_new_release_while_something_waits(app: Page, units, visit, monkeypatch):
    app.goto(where(visit))
    write(app, units)
    app.context.set_offline(True)
    save(app)
    expect(app.get_by_text("Saved on this device, not sent yet.")).to_be_visible()
    monkeypatch.setattr(phone_views, "_release", lambda: "another")
    app.route("**/write-up*", lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    app.context.set_offline(False)
    app.goto("/phone")
    expect(app.get_by_text("A new version of this app is ready.")).to_be_visible()
    assert app.evaluate("() => caches.keys()") != ["phone-another"]
    app.get_by_role("button", name="Use it now").click()
    until(app, "async () => (await caches.keys()).join() === 'phone-another'")
    expect(app.get_by_role("heading", name="1 not sent")).to_be_visible()
    app.unroute("**/write-up*")
    flush(app)
    on_file()


def test_a_bad_worker_can_be_switched_off(app: Page, units, visit, settings):
    settings.PHONE_WORKER = False
    app.evaluate("async () => { await (await navigator.serviceWorker.getRegistration()).update(); }")
    until(app, "async () => !(await navigator.serviceWorker.getRegistration())")
    assert app.evaluate("() => caches.keys()") == []
